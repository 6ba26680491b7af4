import { LEAST_LOAD_PERCENT, LOAD_EXPONENT } from '../electrical/index.ts';
import type { Basis, ConditionName, LoadFamily, Point, Quantity } from './types.ts';

type Default = Pick<
  Point,
  'unit' | 'decimals' | 'loadFamily' | 'basis' | 'minimumLoadPercent' | 'loadExponent' | 'emissivity' | 'infrared' | 'needs'
>;

const infrared = (over: Partial<Default> & { unit: string }): Default => ({
  decimals: 1,
  loadFamily: 'thermal-machine',
  basis: 'raw',
  minimumLoadPercent: 50,
  loadExponent: 1,
  emissivity: 0.93,
  infrared: true,
  needs: ['load', 'ambient'],
  ...over,
});
const contact = (unit: string, decimals: number): Default => ({
  unit,
  decimals,
  loadFamily: 'none',
  basis: 'raw',
  minimumLoadPercent: 0,
  loadExponent: 1,
  emissivity: null,
  infrared: false,
  needs: [],
});
const electrical = {
  loadFamily: 'electrical' as LoadFamily,
  basis: 'corrected' as Basis,
  minimumLoadPercent: LEAST_LOAD_PERCENT,
  loadExponent: LOAD_EXPONENT,
};

/**
 * What a point of a quantity starts with when nobody says otherwise; every figure can be set per point. Minimum loads 40 % for
 * electrical parts (survey practice of NFPA 70B) and 50 % for thermal machines, exponents 1.8 and 1 (common practice),
 * emissivity 0.93 of painted metal.
 */
export const POINT_DEFAULTS: Readonly<Record<Quantity, Default>> = {
  temperature: infrared({ unit: '°C' }),
  'rise-over-ambient': infrared({ unit: 'K', ...electrical, needs: ['load'] }),
  'like-part-difference': infrared({ unit: 'K', ...electrical, needs: ['load'] }),
  'above-base': infrared({ unit: 'K' }),
  approach: { ...contact('K', 1), loadFamily: 'none' },
  'vibration-velocity': { ...contact('mm/s', 2), loadFamily: 'none', needs: [] as readonly ConditionName[] },
  'sound-level': contact('dB', 0),
  pressure: contact('bar', 2),
  voltage: contact('V', 2),
};

/** A point as somebody sets it up: what is left out comes from POINT_DEFAULTS. */
export type PointDraft = Pick<Point, 'id' | 'letter' | 'name' | 'quantity'> & {
  readonly [K in Exclude<keyof Point, 'id' | 'letter' | 'name' | 'quantity' | 'unit'>]?: Point[K] | undefined;
};

/**
 * Completes a draft. The unit follows from the quantity and cannot be chosen: readings are entered in any unit that fits.
 * @example completePoint({ id, letter: 'a', name: 'Gearbox bearing', quantity: 'temperature' }).unit // '°C'
 */
export function completePoint(draft: PointDraft): Point {
  const usual = POINT_DEFAULTS[draft.quantity];
  const infraredPoint = draft.infrared ?? usual.infrared;
  return {
    id: draft.id,
    letter: draft.letter,
    name: draft.name,
    quantity: draft.quantity,
    unit: usual.unit,
    decimals: draft.decimals ?? usual.decimals,
    loadFamily: draft.loadFamily ?? usual.loadFamily,
    basis: draft.basis ?? usual.basis,
    referenceLoadPercent: draft.referenceLoadPercent ?? 100,
    minimumLoadPercent: draft.minimumLoadPercent ?? usual.minimumLoadPercent,
    loadExponent: draft.loadExponent ?? usual.loadExponent,
    ratedCurrentA: draft.ratedCurrentA ?? null,
    referenceAmbientC: draft.referenceAmbientC ?? null,
    emissivity: draft.emissivity === undefined ? (infraredPoint ? usual.emissivity : null) : draft.emissivity,
    infrared: infraredPoint,
    needs: draft.needs ?? (draft.loadFamily === 'none' ? usual.needs.filter((need) => need !== 'load') : usual.needs),
    parts: draft.parts ?? (draft.quantity === 'like-part-difference' ? ['L1', 'L2', 'L3'] : []),
    base: draft.base ?? null,
    lifeSafety: draft.lifeSafety ?? false,
    regreasingGateHours: draft.regreasingGateHours ?? 24,
    uncertainty: draft.uncertainty ?? null,
  };
}
