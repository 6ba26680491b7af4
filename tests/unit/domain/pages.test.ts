/** The pages beside the calculations: every `expression // → value` in a ts block of a README below packages/domain/src is true. */
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as domain from '@heatround/domain';
import { describe, expect, it } from 'vitest';

const SOURCE = fileURLToPath(new URL('../../../packages/domain/src', import.meta.url));
const ARROW = /^(.*?)\s*\/\/ → (.+)$/;

interface Example {
  readonly line: number;
  readonly given: readonly string[];
  readonly expression: string;
  readonly shown: string;
}

/** Examples of a page; a block that shows no value, and a line that is neither `const` nor an example, are mistakes. */
function examplesOf(page: string): Example[] {
  const examples: Example[] = [];
  let given: string[] | null = null;
  let shownInBlock = 0;
  page.split('\n').forEach((text, index) => {
    const at = index + 1;
    if (given === null) {
      if (text.trim() === '```ts') [given, shownInBlock] = [[], 0];
      return;
    }
    const line = text.trim();
    if (line === '```') {
      if (shownInBlock === 0) throw new Error(`line ${at}: the block shows no value`);
      given = null;
      return;
    }
    if (line === '') return;
    const [, expression, shown] = ARROW.exec(line) ?? [];
    if (expression !== undefined && shown !== undefined) {
      examples.push({ line: at, given: [...given], expression: expression.replace(/;$/, ''), shown });
      shownInBlock += 1;
    } else if (line.startsWith('const ')) given.push(line);
    else throw new Error(`line ${at}: expected "const …" or "expression // → value", found "${line}"`);
  });
  if (given !== null) throw new Error('a block is not closed');
  return examples;
}

/** Evaluated with everything the domain exports in scope. */
function evaluate(given: readonly string[], expression: string): unknown {
  const names = Object.keys(domain);
  const run = new Function(...names, `'use strict';\n${given.join('\n')}\nreturn (${expression});`);
  return run(...names.map((name) => (domain as Record<string, unknown>)[name]));
}

/** Numbers to the digits shown, everything else exactly. */
function agrees(actual: unknown, shown: unknown, digits?: number): boolean {
  if (typeof shown === 'number') {
    if (typeof actual !== 'number') return false;
    const decimals = digits ?? decimalsOf(String(shown));
    return Math.abs(actual - shown) <= 0.5 * 10 ** -decimals + 1e-9 * Math.abs(shown);
  }
  if (typeof shown !== 'object' || shown === null) return Object.is(actual, shown);
  if (typeof actual !== 'object' || actual === null || Array.isArray(actual) !== Array.isArray(shown)) return false;
  const keys = Object.keys(shown);
  return (
    keys.length === Object.keys(actual).length &&
    keys.every(
      (key) => key in actual && agrees((actual as Record<string, unknown>)[key], (shown as Record<string, unknown>)[key]),
    )
  );
}

/** Places after the point: "0.50" 2, "1.2e-3" 4. */
function decimalsOf(text: string): number {
  const [mantissa = '', exponent = '0'] = text.toLowerCase().split('e');
  return (mantissa.split('.')[1] ?? '').length - Number(exponent);
}

function check({ given, expression, shown }: Example): { readonly actual: unknown; readonly agrees: boolean } {
  const actual = evaluate(given, expression);
  const plain = /^-?[\d.]+(e[+-]?\d+)?$/i.test(shown);
  return { actual, agrees: agrees(actual, evaluate(given, shown), plain ? decimalsOf(shown) : undefined) };
}

const pages = readdirSync(SOURCE, { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('README.md'))
  .sort();

it('finds pages', () => {
  expect(pages).not.toEqual([]);
});

describe.each(pages)('%s', (path) => {
  const examples = examplesOf(readFileSync(join(SOURCE, path), 'utf8'));

  it('shows worked examples', () => {
    expect(examples, relative(SOURCE, path)).not.toEqual([]);
  });

  it.each(examples.map((example) => [`line ${example.line}: ${example.expression} → ${example.shown}`, example] as const))(
    '%s',
    (_, example) => {
      const { actual, agrees: right } = check(example);
      expect(right, `is ${JSON.stringify(actual)}, shown ${example.shown}`).toBe(true);
    },
  );
});

describe('the check of the pages itself', () => {
  const holds = (...lines: string[]) =>
    examplesOf(['```ts', ...lines, '```'].join('\n')).every((example) => check(example).agrees);

  it.each([
    ['a number to the digits shown', ['2 / 3 // → 0.67'], true],
    ['a number that is off in the last digit shown', ['2 / 3 // → 0.66'], false],
    ['zeros shown are digits shown', ['0.504 // → 0.50'], true],
    ['zeros shown bind', ['0.506 // → 0.50'], false],
    ['null is no number', ['null // → 0'], false],
    ['text exactly', ["gradeSimilar(10) // → 'similar-2'"], true],
    ['objects by their members', ['({ a: 1.004, b: [true] }) // → { a: 1, b: [true] }'], true],
    ['a member too few is no match', ['({ a: 1, b: 2 }) // → { a: 1 }'], false],
    ['what was named before', ['const load = 50', 'loadCorrect(10, load, 100, 2) // → 40'], true],
  ])('%s', (_, lines, expected) => {
    expect(holds(...lines)).toBe(expected);
  });

  it('refuses blocks without a value and lines that are no example', () => {
    expect(() => holds('const a = 1')).toThrow('shows no value');
    expect(() => holds('1 + 1')).toThrow('expected "const …"');
  });
});
