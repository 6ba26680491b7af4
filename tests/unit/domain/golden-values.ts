/** Check values from published tables, worked examples and rules; each carries its source. */
import { readFileSync } from 'node:fs';
import { expect } from 'vitest';

export interface GoldenValue {
  readonly id: string;
  readonly calc: string;
  readonly inputs: Readonly<Record<string, { readonly value: unknown; readonly unit: string }>>;
  readonly expected: unknown;
  readonly unit: string;
  readonly tolerance: { readonly abs?: number; readonly rel?: number; readonly exact?: boolean };
  readonly source: string;
}

const all = JSON.parse(readFileSync(new URL('../../golden/values.json', import.meta.url), 'utf8')) as GoldenValue[];

/** Name, with the source, and entry of every value of a calculation; throws when there is none. */
export function goldenValues(calc: string): [string, GoldenValue][] {
  const found = all.filter((value) => value.calc === calc);
  if (found.length === 0) throw new Error(`no golden value for ${calc}`);
  return found.map((value) => [`${value.id} (${value.source})`, value]);
}

/** An input of a value; the caller knows its type from the file. */
export function inputOf<T>(value: GoldenValue, name: string): T {
  return value.inputs[name]?.value as T;
}

export function isWithin(
  actual: number | null | undefined,
  expected: number,
  { abs = 0, rel = 0 }: GoldenValue['tolerance'],
): boolean {
  return typeof actual === 'number' && Math.abs(actual - expected) <= Math.max(abs, rel * Math.abs(expected));
}

/** The figure is the expected one within its tolerance. */
export function holds(actual: unknown, value: GoldenValue): void {
  const right = isWithin(typeof actual === 'number' ? actual : null, value.expected as number, value.tolerance);
  expect(right, `${String(actual)} for ${String(value.expected)}`).toBe(true);
}
