import { loadCorrect, MOST_LOAD_RATIO } from '../../electrical/index.ts';
import type { Reading } from '../../facts/types.ts';
import { median } from '../../numbers/index.ts';
import { compareLike, LIKENESS } from '../../peers/index.ts';
import type { Point } from '../types.ts';
import {
  ambientOf,
  type FigureRule,
  field,
  found,
  type InputField,
  lacking,
  type Measure,
  type QuantityDefinition,
  riseOf,
  sayStandouts,
  seen,
} from './definition.ts';
import { electrical } from './temperatures.ts';

/** Prefix of the current of a like part. */
export const AMPS = 'amps:';
/** Currents of like parts count as equal below this difference; ANSI/NETA MTS compares under "similar load", 10 % is common practice. */
export const SIMILAR_CURRENT_PERCENT = 10;

interface LikePart {
  readonly name: string;
  readonly temperatureC: number;
  readonly amps: number | null;
}

function likeParts(point: Point, reading: Reading): { known: LikePart[]; missing: string[] } {
  const known: LikePart[] = [];
  const missing: string[] = [];
  for (const name of point.parts) {
    const temperatureC = reading.inputs[name];
    if (temperatureC === undefined) missing.push(name);
    else known.push({ name, temperatureC, amps: reading.inputs[`${AMPS}${name}`] ?? null });
  }
  return { known, missing };
}

/** The first of the hottest in the order of the parts, so that equal ones always give the same name. */
function hottestOf(parts: readonly LikePart[]): LikePart | null {
  let hottest: LikePart | null = null;
  for (const part of parts) if (hottest === null || part.temperatureC > hottest.temperatureC) hottest = part;
  return hottest;
}

const hottestPart: FigureRule = {
  unit: '°C',
  of: (point, reading) => {
    const { known, missing } = likeParts(point, reading);
    const hottest = hottestOf(known);
    return hottest === null
      ? lacking('°C', 'quantity-missing', missing)
      : found(hottest.temperatureC, '°C', { standout: hottest.name, missing });
  },
};

/** From so many parts on, with their currents, the scatter of the others says whether one stands out (common practice, no source). */
const LEAST_PEERS = 4;

/**
 * The hottest minus the median of the others. Two of three still give a difference and the third is named as missing; one alone
 * gives none. Of four and more whose currents are known, the one that is least like the others at its own current goes before the
 * hottest, and has to stand out from their scatter.
 */
function difference(point: Point, reading: Reading): Measure {
  const { known, missing } = likeParts(point, reading);
  const evened = evenCurrents(point, known, ambientOf(reading));
  if (evened === null) return lacking('K', 'ambient-missing', ['air']);
  const absent = [...missing, ...evened.dropped];
  const isMany = evened.parts.length >= LEAST_PEERS && known.every(({ amps }) => amps !== null);
  const unlike = isMany ? unlikeOnes(known, ambientOf(reading)) : [];
  const first = evened.parts.find(({ name }) => name === unlike[0]) ?? hottestOf(evened.parts);
  const others = evened.parts.filter((part) => part !== first).map((part) => part.temperatureC);
  const middle = median(others);
  if (first === null || middle === null) return lacking('K', 'quantity-missing', absent);
  return found(first.temperatureC - middle, 'K', {
    standout: sayStandouts(first.name, unlike.slice(1)),
    isUnremarkable: isMany && unlike.length === 0,
    missing: absent,
    evenedCurrents: evened.changed,
  });
}

/**
 * Like parts are alike only under like load. Where all currents are known and differ by 10 % or more, each rise over air is
 * brought to the greatest current: rise · (greatest/own)^n. A part without current, or with so little that the ratio passes
 * 2.5, carries no comparison and is left out. Null: the currents differ and the air is unknown.
 */
function evenCurrents(
  point: Point,
  parts: readonly LikePart[],
  ambientC: number | null,
): { parts: LikePart[]; dropped: string[]; changed: boolean } | null {
  const unchanged = { parts: [...parts], dropped: [], changed: false };
  const amps = parts.flatMap((part) => part.amps ?? []);
  if (amps.length < parts.length || amps.length < 2) return unchanged;
  const greatest = Math.max(...amps);
  if (greatest <= 0 || (greatest - Math.min(...amps)) / greatest < SIMILAR_CURRENT_PERCENT / 100) return unchanged;
  if (ambientC === null) return null;
  const kept: LikePart[] = [];
  const dropped: string[] = [];
  for (const part of parts) {
    const own = part.amps ?? 0;
    const riseK = loadCorrect(part.temperatureC - ambientC, own, greatest, point.loadExponent);
    if (riseK === null || greatest / own > MOST_LOAD_RATIO) dropped.push(part.name);
    else kept.push({ ...part, temperatureC: ambientC + riseK });
  }
  return { parts: kept, dropped, changed: true };
}

/** Parts that are hotter than their like would be at the same current, the surest first. */
function unlikeOnes(parts: readonly LikePart[], ambient: number | null): string[] {
  const greatest = Math.max(...parts.map(({ amps }) => amps ?? 0));
  const compared = compareLike(
    parts.map(({ name, temperatureC, amps }) => ({
      name,
      temperature: temperatureC,
      ambient,
      load: amps === null ? null : (amps * 100) / greatest,
    })),
    LIKENESS.devices,
  );
  const unlike = compared?.standings.filter(({ standsOut }) => standsOut === 'hotter') ?? [];
  return unlike.sort((a, b) => b.hotter - a.hotter || b.excess - a.excess).map(({ name }) => name);
}

const currents = (point: Point): InputField[] =>
  point.loadFamily === 'electrical'
    ? point.parts.map((part) => field(`${AMPS}${part}`, `Current ${part}`, { unit: 'A' }, { required: false }))
    : [];

export const likePartDifference: QuantityDefinition = {
  name: 'Difference of like parts',
  criterion: 'like-part-difference',
  unit: 'K',
  decimals: 1,
  start: electrical,
  inputs: (point) => [...point.parts.map((part) => seen(part, part)), ...currents(point)],
  plain: hottestPart,
  figures: {
    absolute: hottestPart,
    'rise-over-ambient': riseOf(hottestPart.of),
    'like-part-difference': { unit: 'K', of: difference },
  },
  ordinaryChange: 20,
  follows: 'own-zero',
  loadPercent: (point, reading) => {
    if (point.ratedCurrentA === null || point.ratedCurrentA <= 0) return null;
    const amps = point.parts.flatMap((part) => reading.inputs[`${AMPS}${part}`] ?? []);
    return amps.length === 0 ? null : (Math.max(...amps) * 100) / point.ratedCurrentA;
  },
};
