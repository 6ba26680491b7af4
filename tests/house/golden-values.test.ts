/** Every calculation that the golden values name is run by a test, or is excused with a reason. */
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseSync, Visitor } from 'oxc-parser';
import { expect, test } from 'vitest';

const root = resolve(import.meta.dirname, '..');

const REPLACED =
  'a figure of the earlier estimator, a straight line with a prior of three components, which domain/projection has replaced';
/** Calculations that no test runs, and why. */
const EXCUSED: Readonly<Record<string, string>> = {
  'prognosis.defaultComponents': REPLACED,
  'prognosis.probDegrading': REPLACED,
  'prognosis.probRising': REPLACED,
  'prognosis.probWithin': REPLACED,
  'prognosis.quantiles': REPLACED,
};

/** Names that a test file asks for: the argument of each call of goldenValues, written out. */
function askedFor(path: string, text: string): string[] {
  const names: string[] = [];
  const { program } = parseSync(path, text);
  new Visitor({
    CallExpression({ callee, arguments: [name] }) {
      if (callee.type !== 'Identifier' || callee.name !== 'goldenValues') return;
      if (name?.type !== 'Literal' || typeof name.value !== 'string') throw new Error(`${path}: a name is written out`);
      names.push(name.value);
    },
  }).visit(program);
  return names;
}

const named = new Set(
  (JSON.parse(readFileSync(join(root, 'golden/values.json'), 'utf8')) as { calc: string }[]).map(({ calc }) => calc),
);
const asked = new Set(
  readdirSync(join(root, 'unit'), { recursive: true, encoding: 'utf8' })
    .filter((path) => path.endsWith('.test.ts'))
    .flatMap((path) => askedFor(path, readFileSync(join(root, 'unit', path), 'utf8'))),
);

test('every calculation of the golden values is run by a test or excused', () => {
  expect(named.size).toBeGreaterThan(100);
  expect([...named].filter((calc) => !asked.has(calc) && EXCUSED[calc] === undefined).sort()).toEqual([]);
});

test('nothing is excused that is run, or that nobody names', () => {
  expect(Object.keys(EXCUSED).filter((calc) => asked.has(calc) || !named.has(calc))).toEqual([]);
});

test('a name in a comment or in another call is not asked for', () => {
  const text = "// goldenValues('a')\nit.each(goldenValues('b'))('c', () => other('d'));";
  expect(askedFor('x.test.ts', text)).toEqual(['b']);
  expect(() => askedFor('x.test.ts', 'goldenValues(`e.f`)')).toThrow('written out');
});
