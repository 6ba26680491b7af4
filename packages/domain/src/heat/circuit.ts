/** Heating circuits and what they feed: water, balance between circuits of one manifold, radiators and warm ceilings. */
import type { Grade } from '../limits/types.ts';
import { median } from '../numbers/index.ts';

/** Heat capacity of water, J/(kg·K), at heating temperatures (textbook). */
export const WATER_CAPACITY = 4186;

/**
 * Water that carries a heat at a spread: m = Q/(c·ΔT).
 * @param kilowatts not below 0. @param spread K, above 0.
 * @returns kg/h, or null outside the range.
 * @example waterFlow(10, 10) // 860
 */
export function waterFlow(kilowatts: number, spread: number): number | null {
  const flow = (kilowatts * 1000 * 3600) / (WATER_CAPACITY * spread);
  return kilowatts >= 0 && spread > 0 && Number.isFinite(flow) ? flow : null;
}

/**
 * Flow of a circuit against its like at equal heat: their spread over its own (common practice, no source).
 * @param spread and @param usualSpread K, above 0.
 * @returns a share, or null outside the range.
 * @example flowRatio(16, 10) // 0.625
 */
export function flowRatio(spread: number, usualSpread: number): number | null {
  const ratio = usualSpread / spread;
  return spread > 0 && usualSpread > 0 && Number.isFinite(ratio) ? ratio : null;
}

/** A circuit at its manifold, °C, after half an hour of one state of the pump. */
export interface CircuitReading {
  readonly flow: number;
  readonly return: number;
  readonly room: number;
}

/** How a circuit stands among those of its manifold. */
export interface CircuitBalance {
  readonly state: 'balanced' | 'unbalanced' | 'over-supplied' | 'no-flow';
  readonly grade: Grade;
  /** Its spread over the median of all, less one. */
  readonly deviation: number;
}

/** A flow lies at least so far over its room before its spread says anything, K. This and the figures below: common practice, no source. */
export const LEAST_OVER_ROOM_K = 15;
/** A return nearer to its room than this has no flow, K. */
export const NO_FLOW_K = 3;
const SHORT_CIRCUIT = { spreadK: 2, aboveFlowC: 40 } as const;
const UNBALANCED = { watch: 0.25, plan: 0.5 } as const;

/**
 * Balance between the circuits of one manifold by their spreads (common practice, no source).
 * @param circuits at least three that carry heat.
 * @returns one answer for each, null for one whose flow is not 15 K over its room; all null where fewer than three carry heat.
 * @example judgeBalance([{ flow: 60, return: 50, room: 21 }, { flow: 60, return: 51, room: 21 }, { flow: 60, return: 44, room: 21 }])[2]?.state // 'unbalanced'
 */
export function judgeBalance(circuits: readonly CircuitReading[]): (CircuitBalance | null)[] {
  const isWarm = (one: CircuitReading): boolean => one.flow - one.room >= LEAST_OVER_ROOM_K && Number.isFinite(one.return);
  const spreads = circuits.filter(isWarm).map((one) => one.flow - one.return);
  const usual = median(spreads);
  if (usual === null || spreads.length < 3 || !(usual > 0)) return circuits.map(() => null);
  return circuits.map((one) => {
    if (!isWarm(one)) return null;
    const spread = one.flow - one.return;
    const deviation = spread / usual - 1;
    if (one.return - one.room < NO_FLOW_K) return { state: 'no-flow', grade: 'soon', deviation };
    if (spread < SHORT_CIRCUIT.spreadK && one.flow > SHORT_CIRCUIT.aboveFlowC)
      return { state: 'over-supplied', grade: 'plan', deviation };
    const far = Math.abs(deviation);
    const grade = far > UNBALANCED.plan ? 'plan' : far > UNBALANCED.watch ? 'watch' : 'fine';
    return { state: grade === 'fine' ? 'balanced' : 'unbalanced', grade, deviation };
  });
}

/** Exponents of emitters: radiators EN 442, ceiling panels EN 14037 (their middle; from memory). */
export const EMITTER_EXPONENT = { radiator: 1.3, 'ceiling-panel': 1.15 } as const;

/**
 * Output of an emitter as a share of its nominal one: (ΔT/ΔT_n)^n, the characteristic equation of EN 442.
 * @param over mean of its water over the room, K, not below 0. @param nominalOver the same at nominal output, K, above 0.
 * @returns a share, or null outside the range.
 * @example emitterOutput(30, 49.83) // 0.517
 */
export function emitterOutput(over: number, nominalOver: number, exponent: number = EMITTER_EXPONENT.radiator): number | null {
  const share = (over / nominalOver) ** exponent;
  return over >= 0 && nominalOver > 0 && exponent > 0 && Number.isFinite(share) ? share : null;
}

/** ISO 7730 knows the equation up to this asymmetry, K. */
const MOST_ASYMMETRY_K = 23;

/**
 * People dissatisfied with a warm ceiling: 100/(1 + e^(2.84 − 0.174·Δ)) − 5.5, ISO 7730.
 * @param asymmetry of the radiant temperature, K, 0 to 23.
 * @returns %, not below 0, or null outside the range.
 * @example dissatisfiedWithWarmCeiling(7) // 10.99
 */
export function dissatisfiedWithWarmCeiling(asymmetry: number): number | null {
  if (!(asymmetry >= 0 && asymmetry <= MOST_ASYMMETRY_K)) return null;
  return Math.max(0, 100 / (1 + Math.exp(2.84 - 0.174 * asymmetry)) - 5.5);
}
