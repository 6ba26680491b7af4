/** Steam traps by the temperatures before and behind them, and what these cannot prove. All figures are common practice, no source, unless said. */
import type { Grade } from '../limits/types.ts';
import { AIR_BAR, steamTemperatureAtGauge } from './saturation.ts';

/** An inlet this near to saturation is at line temperature, and an outlet so far over the return is not flash steam: bare pipe reads some kelvin below its steam, K. */
export const AT_LINE_K = 15;
/** From so far below saturation on no steam comes, K. */
export const NO_STEAM_K = 60;

/** Surface temperatures of a trap, °C, at true emissivity, and the gauges of its line and return, bar above the air. */
export interface TrapReading {
  readonly inlet: number;
  readonly outlet: number;
  readonly lineGaugeBar: number;
  /** Left out: an open return. */
  readonly returnGaugeBar?: number | undefined;
  /** Air pressure of the site, bar. */
  readonly airBar?: number | undefined;
}

/**
 * How far an inlet lies below the saturation of its line.
 * @returns K, or null where the pressure is none of steam.
 * @example belowLine(165, 7) // 5.5
 */
export function belowLine(inlet: number, lineGaugeBar: number, airBar: number = AIR_BAR): number | null {
  const line = steamTemperatureAtGauge(lineGaugeBar, airBar);
  return line === null || !Number.isFinite(inlet) ? null : line - inlet;
}

/**
 * How far an outlet lies over the saturation of the return, while the inlet is at line temperature: behind a tight trap only
 * flash steam of the return is left.
 * @returns K, or null where nothing can be told: no steam at the inlet, no such pressures, or a return that itself stands near
 *   the pressure of the line.
 * @example overReturn({ inlet: 166, outlet: 150, lineGaugeBar: 7, returnGaugeBar: 0.1 }) // 47.4
 */
export function overReturn({ inlet, outlet, lineGaugeBar, returnGaugeBar = 0, airBar = AIR_BAR }: TrapReading): number | null {
  const line = steamTemperatureAtGauge(lineGaugeBar, airBar);
  const back = steamTemperatureAtGauge(returnGaugeBar, airBar);
  if (line === null || back === null || !Number.isFinite(outlet) || line - back < 2 * AT_LINE_K) return null;
  return line - inlet < AT_LINE_K ? outlet - back : null;
}

/** What the two temperatures say. */
export const TRAP_STATES = ['no-steam', 'waterlogged', 'suspect-blow-through', 'not-proven-tight'] as const;
export type TrapState = (typeof TRAP_STATES)[number];

/** When somebody must act, and what it may be. */
export const TRAP_MEANING: Readonly<Record<TrapState, { readonly grade: Grade; readonly words: string }>> = {
  'no-steam': { grade: 'soon', words: 'Cold: blocked, shut off, or no steam comes. In frost or with water hammer at once.' },
  waterlogged: {
    grade: 'plan',
    words: 'Water stands before it: too small, or a trap that holds water back on purpose, which may be healthy.',
  },
  'suspect-blow-through': {
    grade: 'plan',
    words:
      'Suspect passing steam, confirm by ultrasound. A return under pressure, or a neighbour that blows through, looks the same.',
  },
  'not-proven-tight': { grade: 'fine', words: 'It works; that it is tight is not proven.' },
};

/** To be said wherever a trap was judged by temperature. */
export const TEMPERATURE_PROVES_NO_TRAP_TIGHT =
  'Temperature alone cannot prove a trap tight: behind a good one and behind a leaking one the pipe stands near the saturation of the return. Ultrasound, conductivity or a sight glass can.';

/**
 * The state of a trap by its two temperatures; a limit counts when reached.
 * @returns null where the pressures are none of steam or a temperature is none.
 * @example judgeTrap({ inlet: 166, outlet: 150, lineGaugeBar: 7, returnGaugeBar: 0.1 }) // 'suspect-blow-through'
 */
export function judgeTrap(reading: TrapReading): TrapState | null {
  const below = belowLine(reading.inlet, reading.lineGaugeBar, reading.airBar);
  if (below === null || !Number.isFinite(reading.outlet)) return null;
  if (below >= NO_STEAM_K) return 'no-steam';
  if (below >= AT_LINE_K) return 'waterlogged';
  return (overReturn(reading) ?? 0) >= AT_LINE_K ? 'suspect-blow-through' : 'not-proven-tight';
}

/** How often a trap is tested, days: US DOE, steam tip sheet 1 (150 and 30 psig; lower pressures annually). */
const TEST_INTERVALS = [
  { fromGaugeBar: 10.34, days: { shortest: 7, longest: 31 } },
  { fromGaugeBar: 2.07, days: { shortest: 31, longest: 92 } },
  { fromGaugeBar: 0, days: { shortest: 365, longest: 365 } },
] as const;

/**
 * How often a trap of a line is tested. US DOE, steam tip sheet 1.
 * @param lineGaugeBar bar above the air, 0 and more.
 * @returns days, or null outside the range.
 * @example trapTestInterval(7)?.longest // 92
 */
export function trapTestInterval(lineGaugeBar: number): { readonly shortest: number; readonly longest: number } | null {
  return TEST_INTERVALS.find(({ fromGaugeBar }) => lineGaugeBar >= fromGaugeBar)?.days ?? null;
}
