/**
 * Every quantity with all that belongs to it: entry form, figures by criterion, what a new point starts with, uncertainty.
 * Hides how a figure comes from raw inputs. Always holds: a missing input is named and never guessed; a figure is finite or null.
 */
import type { CriterionKind } from '../../limits/types.ts';
import type { UnitCode } from '../../units/index.ts';
import type { Quantity } from '../types.ts';
import { belowCurve } from './below-curve.ts';
import { overCoolingAir, overWetBulb } from './coolers.ts';
import type { QuantityDefinition } from './definition.ts';
import { dischargeOverCalculated } from './discharge.ts';
import { effectiveness } from './effectiveness.ts';
import { insulationResistance } from './insulation.ts';
import { likePartDifference } from './like-parts.ts';
import { overDewPoint, surfaceHumidity } from './moist-air.ts';
import { neighbourDifference } from './neighbours.ts';
import { currentOfRated, fillingLevel, pressure, pressureLoss, soundLevel, vibrationVelocity, voltage } from './plain.ts';
import { steamTrap } from './steam-trap.ts';
import { aboveBase, riseOverAmbient, temperature } from './temperatures.ts';
import { approach, spread } from './two-sides.ts';
import { currentUnbalance, voltageUnbalance } from './unbalance.ts';

export const DEFINITION_OF: Readonly<Record<Quantity, QuantityDefinition>> = {
  temperature,
  'rise-over-ambient': riseOverAmbient,
  'like-part-difference': likePartDifference,
  'above-base': aboveBase,
  approach,
  'vibration-velocity': vibrationVelocity,
  'sound-level': soundLevel,
  pressure,
  voltage,
  spread,
  effectiveness,
  'steam-trap': steamTrap,
  'over-cooling-air': overCoolingAir,
  'over-wet-bulb': overWetBulb,
  'discharge-over-calculated': dischargeOverCalculated,
  'over-dew-point': overDewPoint,
  'surface-humidity': surfaceHumidity,
  'voltage-unbalance': voltageUnbalance,
  'current-unbalance': currentUnbalance,
  'current-of-rated': currentOfRated,
  'insulation-resistance': insulationResistance,
  'below-curve': belowCurve,
  'neighbour-difference': neighbourDifference,
  'pressure-loss': pressureLoss,
  'filling-level': fillingLevel,
};

/** Criteria that compare a figure with another reading; they fit whatever is measured. */
export const COMPARING: readonly CriterionKind[] = ['over-twin', 'change-since-last'];

/** May limits of this criterion stand at a point of this quantity? @example criterionFits('absolute', 'temperature') // true */
export const criterionFits = (criterion: CriterionKind, quantity: Quantity): boolean =>
  COMPARING.includes(criterion) || DEFINITION_OF[quantity].figures[criterion] !== undefined;

/** Unit of the figure of a criterion, and so of its limits. @example unitOfCriterion('temperature', 'rise-over-ambient') // 'K' */
export function unitOfCriterion(quantity: Quantity, criterion: CriterionKind): UnitCode {
  const { figures, plain, unit } = DEFINITION_OF[quantity];
  if (COMPARING.includes(criterion)) return plain.unit === '°C' ? 'K' : plain.unit;
  return figures[criterion]?.unit ?? unit;
}

/** Quantities and criteria that a base is learned for. */
export const restsOnBase = (criterion: CriterionKind): boolean =>
  criterion === 'above-base' || criterion === 'above-base-percent';

/** Unit of the figure as it stands by itself, and so of its base. @example plainUnitOf('above-base') // '°C' */
export const plainUnitOf = (quantity: Quantity): UnitCode => DEFINITION_OF[quantity].plain.unit;

/** Quantities that are read at several named parts. */
export const WITH_PARTS: readonly Quantity[] = [
  'like-part-difference',
  'voltage-unbalance',
  'current-unbalance',
  'neighbour-difference',
];
