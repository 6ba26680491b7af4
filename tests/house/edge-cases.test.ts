/** The edge cases that a careful tester would try have numbers; each stands in the name of at least one test. */
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';

const tests = resolve(import.meta.dirname, '..');

/** Readings, limits and trends first; then time, concurrency and roles of rounds and repairs, offline access, proof and routes. Numbers are added as they are shown, never taken away. */
const SHOWN = [
  ...Array.from({ length: 30 }, (_, i) => i + 1),
  ...[31, 32, 33, 34, 35, 36, 37, 38],
  ...[40, 42, 43, 44, 45, 48, 49, 51, 53, 56, 57],
  73,
  ...[54, 58, 59, 60, 62, 63, 64],
  ...[79, 80, 81, 83, 84, 85, 87, 89, 90],
];

const numbered = (source: string): number[] =>
  [...source.matchAll(/(?:\b(?:it|test|describe)(?:\.\w+(?:\([^)]*\))?)*\(\s*|\]\)\(\s*)(['"`])((?:(?!\1).)*)\1/gs)].flatMap(
    ([, , name]) => [...name!.matchAll(/\bD(\d+)(?=[:,])/g)].map(([, number]) => Number(number)),
  );

test('every edge case has a test that carries its number', () => {
  const found = new Set(
    readdirSync(tests, { recursive: true, encoding: 'utf8' })
      .filter((path) => /\.test\.tsx?$/.test(path) && !path.startsWith('house'))
      .flatMap((path) => numbered(readFileSync(join(tests, path), 'utf8'))),
  );
  expect(SHOWN.filter((number) => !found.has(number))).toEqual([]);
});

test('a number in a comment is no test', () => {
  expect(numbered("// D31: later\nit('D32: a year of 53 weeks', () => {})")).toEqual([32]);
  expect(numbered("it.each([1])('D33, D34: %d', () => {})")).toEqual([33, 34]);
});
