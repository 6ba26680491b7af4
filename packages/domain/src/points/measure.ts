import { loadCorrect, MOST_LOAD_RATIO } from '../electrical/index.ts';
import type { Reading } from '../facts/types.ts';
import type { CriterionKind } from '../limits/types.ts';
import { median } from '../numbers/index.ts';
import type { Gate } from '../verdict/types.ts';
import { AMPS, CRITERION_OF } from './inputs.ts';
import type { Point } from './types.ts';

/** A figure computed from the inputs of one reading, before any correction to the reference load. */
export interface Measure {
  /** Null when it cannot be computed; gate then says why. */
  readonly value: number | null;
  readonly unit: string;
  readonly gate: Gate | null;
  /** Like parts: the hottest one; null otherwise. */
  readonly hottest: string | null;
  /** Inputs that are missing, also where the figure could be computed without them. */
  readonly missing: readonly string[];
  /** Like parts under unequal currents: the rises were brought to the greatest current first. */
  readonly evenedCurrents: boolean;
}

/** Currents of like parts count as equal below this difference; ANSI/NETA MTS compares under "similar load", 10 % is common practice. */
export const SIMILAR_CURRENT_PERCENT = 10;

/** Load in % of rated: as entered, else from current and rated current, else from the greatest current of the like parts. */
export function loadPercentOf(point: Point, reading: Reading): number | null {
  const { load, current } = reading.conditions;
  if (load !== undefined) return load;
  if (point.ratedCurrentA === null || point.ratedCurrentA <= 0) return null;
  // Multiplied first, so that 77 A of 70 A are 110 % and not a hair more.
  if (current !== undefined) return (current * 100) / point.ratedCurrentA;
  const amps = point.parts.flatMap((part) => reading.inputs[`${AMPS}${part}`] ?? []);
  return amps.length === 0 ? null : (Math.max(...amps) * 100) / point.ratedCurrentA;
}

/** Air temperature: the input where there is one, else the condition. */
export function ambientOf(reading: Reading): number | null {
  return reading.inputs.air ?? reading.conditions.ambient ?? null;
}

/**
 * The main figure of the point's quantity.
 * Like parts: the hottest minus the median of the others. Two of three still give a difference and the third is named as
 * missing; one alone gives none.
 * @example measure(phases, reading) // { value: 11, unit: 'K', hottest: 'L2', missing: [], … }
 */
export function measure(point: Point, reading: Reading): Measure {
  return figureOf(point, reading, CRITERION_OF[point.quantity]);
}

const found = (value: number, unit: string, more: Partial<Measure> = {}): Measure => ({
  value,
  unit,
  gate: null,
  hottest: null,
  missing: [],
  evenedCurrents: false,
  ...more,
});
const lacking = (unit: string, gate: Gate, missing: readonly string[]): Measure => ({
  value: null,
  unit,
  gate,
  hottest: null,
  missing,
  evenedCurrents: false,
});

/** The figure that the limits of one criterion are compared with; a criterion that does not fit the quantity has none. */
export function figureOf(point: Point, reading: Reading, criterion: CriterionKind): Measure {
  switch (criterion) {
    case 'absolute':
      return absoluteFigure(point, reading);
    case 'rise-over-ambient': {
      const part = temperatureOf(point, reading);
      if (part.value === null) return { ...part, unit: 'K' };
      const ambient = ambientOf(reading);
      return ambient === null ? lacking('K', 'ambient-missing', ['air']) : { ...part, value: part.value - ambient, unit: 'K' };
    }
    case 'like-part-difference':
      return likePartDifference(point, reading);
    case 'above-base': {
      const raw = point.quantity === 'above-base' ? temperatureOf(point, reading) : absoluteFigure(point, reading);
      if (raw.value === null) return raw;
      const unit = raw.unit === '°C' ? 'K' : raw.unit;
      return point.base === null ? lacking(unit, 'base-missing', []) : { ...raw, value: raw.value - point.base.value, unit };
    }
  }
}

function absoluteFigure(point: Point, reading: Reading): Measure {
  const { warm, cold, value } = reading.inputs;
  switch (point.quantity) {
    case 'approach': {
      if (warm !== undefined && cold !== undefined) return found(warm - cold, 'K');
      return lacking('K', 'quantity-missing', [...(warm === undefined ? ['warm'] : []), ...(cold === undefined ? ['cold'] : [])]);
    }
    case 'temperature':
    case 'above-base':
    case 'rise-over-ambient':
    case 'like-part-difference':
      return temperatureOf(point, reading);
    default:
      return value === undefined ? lacking(point.unit, 'quantity-missing', ['value']) : found(value, point.unit);
  }
}

/** The temperature that matters at the point: the value, the part, or the hottest like part. */
function temperatureOf(point: Point, reading: Reading): Measure {
  if (point.quantity === 'like-part-difference') {
    const { known, missing } = likeParts(point, reading);
    const hottest = hottestOf(known);
    return hottest === null
      ? lacking('°C', 'quantity-missing', missing)
      : found(hottest.temperatureC, '°C', { hottest: hottest.name, missing });
  }
  const name = point.quantity === 'rise-over-ambient' ? 'part' : 'value';
  const celsius = point.quantity === 'temperature' || point.quantity === 'above-base' || name === 'part';
  const value = reading.inputs[name];
  if (!celsius || value === undefined) return lacking('°C', 'quantity-missing', [name]);
  return found(value, '°C');
}

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

function likePartDifference(point: Point, reading: Reading): Measure {
  if (point.quantity !== 'like-part-difference') return lacking('K', 'quantity-missing', ['like part']);
  const { known, missing } = likeParts(point, reading);
  const evened = evenCurrents(point, known, ambientOf(reading));
  if (evened === null) return lacking('K', 'ambient-missing', ['air']);
  const absent = [...missing, ...evened.dropped];
  const hottest = hottestOf(evened.parts);
  const others = evened.parts.filter((part) => part !== hottest).map((part) => part.temperatureC);
  const middle = median(others);
  if (hottest === null || middle === null) return lacking('K', 'quantity-missing', absent);
  return found(hottest.temperatureC - middle, 'K', {
    hottest: hottest.name,
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
