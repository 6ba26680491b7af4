import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { normalCdf } from '../numbers/index.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { ambientOf } from '../points/measure.ts';
import { COMPARING, DEFINITION_OF, unitOfCriterion } from '../points/quantities/index.ts';
import type { Point } from '../points/types.ts';

/** Half-width of a usual imager or thermometer: ±2 K or ±2 % of the reading in °C, the larger; rectangular (GUM, JCGM 100, 4.3.7). */
const INSTRUMENT_K = 2;
const INSTRUMENT_SHARE = 0.02;
/** Focus, position and repeat of one temperature (common practice, no source). */
const REPEAT_K = 0.5;
/** Thermometer of the air (common practice, no source). */
const AIR_K = 0.5;
/** Two spots of one picture share most of the instrument's error (common practice, no source). */
const SHARED = 0.9;
/** Emissivity taken from a table (common practice, no source). */
const EMISSIVITY = 0.05;

function temperatureUncertainty(valueC: number): number {
  const instrument = Math.max(INSTRUMENT_K, INSTRUMENT_SHARE * Math.abs(valueC)) / Math.sqrt(3);
  return Math.hypot(instrument, REPEAT_K);
}

/** u² = 2·u_inst²·(1−r) + 2·u_rep² (GUM, JCGM 100, 5.2.2 with correlation r). At moderate temperatures 0.88 K. */
function differenceUncertainty(): number {
  const instrument = INSTRUMENT_K / Math.sqrt(3);
  return Math.sqrt(2 * instrument ** 2 * (1 - SHARED) + 2 * REPEAT_K ** 2);
}

/**
 * Standard uncertainty of the figure of a criterion before load correction, in the unit of the figure. The point's own figure
 * goes first, then that of its quantity; temperatures and differences follow the budget above. An emissivity between 0.5 and 0.8 adds (T − T_reflected)·0.05/ε.
 */
export function uncertaintyOf(
  point: Point,
  reading: Reading,
  criterion: CriterionKind,
  figure: number,
  emissivityReduced: number | null,
): number {
  if (point.uncertainty !== null && criterion === CRITERION_OF[point.quantity]) return Math.max(0, point.uncertainty);
  const definition = DEFINITION_OF[point.quantity];
  const own = definition.uncertainty?.(point, reading, criterion, figure) ?? null;
  if (own !== null) return COMPARING.includes(criterion) ? own * Math.SQRT2 : own;
  const ambientC = ambientOf(reading);
  if (criterion !== 'rise-over-ambient' && unitOfCriterion(point.quantity, criterion) === 'K') {
    return differenceUncertainty();
  }
  const valueC = criterion === 'rise-over-ambient' ? figure + (ambientC ?? 20) : figure;
  const reflectedC = reading.conditions.reflected ?? ambientC ?? 20;
  const emissivity = emissivityReduced === null ? 0 : (Math.abs(valueC - reflectedC) * EMISSIVITY) / emissivityReduced;
  const air = criterion === 'rise-over-ambient' ? AIR_K : 0;
  return Math.hypot(temperatureUncertainty(valueC), emissivity, air);
}

/**
 * Probability that the true figure is beyond the limit, for a normally distributed error (JCGM 106, 7.2).
 * @param uncertainty standard uncertainty; 0 gives 0 or 1, and 1 exactly on the limit.
 * @example probabilityReached(88, 90, 2, 'high') // 0.1587
 */
export function probabilityReached(value: number, limit: number, uncertainty: number, direction: 'high' | 'low'): number {
  const beyond = direction === 'high' ? value - limit : limit - value;
  if (!(uncertainty > 0)) return beyond >= 0 ? 1 : 0;
  return normalCdf(beyond / uncertainty);
}
