import { REGREASING_GATE_HOURS } from '../rotating/index.ts';
import { DEFINITION_OF, WITH_PARTS } from './quantities/index.ts';
import type { Point, Quantity } from './types.ts';

/** What a point of a quantity starts with; the general figures stand in its definition. */
export const POINT_DEFAULTS = Object.fromEntries(
  Object.entries(DEFINITION_OF).map(([quantity, { unit, decimals, start }]) => [quantity, { unit, decimals, ...start }]),
) as Readonly<Record<Quantity, Pick<Point, 'unit' | 'decimals' | keyof (typeof DEFINITION_OF)[Quantity]['start']>>>;

/** A point as somebody sets it up: what is left out comes from POINT_DEFAULTS. */
export type PointDraft = Pick<Point, 'id' | 'letter' | 'name' | 'quantity'> & {
  readonly [K in Exclude<keyof Point, 'id' | 'letter' | 'name' | 'quantity' | 'unit'>]?: Point[K] | undefined;
};

/** Phases are named as everywhere; components of an array are numbered from 1. */
const usualParts = (quantity: Quantity): readonly string[] => {
  if (quantity === 'neighbour-difference') return ['1', '2', '3', '4', '5', '6'];
  return WITH_PARTS.includes(quantity) ? ['L1', 'L2', 'L3'] : [];
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
    parts: draft.parts ?? usualParts(draft.quantity),
    twins: draft.twins ?? [],
    targetMm: draft.targetMm ?? null,
    ratedRangeK: draft.ratedRangeK ?? null,
    gasExponent: draft.gasExponent ?? null,
    orificeMm: draft.orificeMm ?? null,
    steamPricePerTonne: draft.steamPricePerTonne ?? null,
    curve: draft.curve ?? [],
    base: draft.base ?? null,
    lifeSafety: draft.lifeSafety ?? false,
    regreasingGateHours: draft.regreasingGateHours ?? REGREASING_GATE_HOURS.usual,
    uncertainty: draft.uncertainty ?? null,
  };
}
