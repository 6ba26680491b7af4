/**
 * The phone runs the computation as its bundler builds it for browsers, the service runs the sources. Both judge the same cases,
 * to the last letter of the sentence.
 */
import { join, resolve } from 'node:path';
import { createContext, runInContext } from 'node:vm';
import * as sources from '@heatround/domain';
import fc from 'fast-check';
import { build } from 'vite';
import { beforeAll, expect, it } from 'vitest';
import { aCase, type Case } from './cases.ts';

type Domain = Pick<typeof sources, 'parseReading' | 'assessReading' | 'contextAt' | 'measure' | 'questionUnlikely'>;

const CASES = 10_000;
let browser: Domain;

beforeAll(async () => {
  const root = resolve(import.meta.dirname, '../../../..');
  const built = await build({
    configFile: false,
    logLevel: 'silent',
    root: join(root, 'packages/domain'),
    build: {
      write: false,
      target: 'es2022',
      lib: { entry: join(root, 'packages/domain/src/index.ts'), formats: ['iife'], name: 'domain' },
    },
  });
  const [{ output }] = [built].flat() as unknown as [{ output: { code: string }[] }];
  const world = createContext({});
  runInContext(`${output[0]!.code};globalThis.domain = domain;`, world);
  browser = (world as { domain: Domain }).domain;
});

/** Parses and judges a case with one build of the computation, from nothing but what was typed and what is known. */
function judged(domain: Domain, { point, limitSets, fact, work, before, twins }: Case): string {
  const parsed = domain.parseReading(fact, point);
  if ('errors' in parsed) return JSON.stringify(parsed.errors);
  const read = (one: sources.ReadingTaken, at: sources.Point): sources.Reading[] => {
    const understood = domain.parseReading(one, at);
    return 'reading' in understood ? [understood.reading] : [];
  };
  const earlier = before.flatMap((one) =>
    read(one, point).map((reading) => ({ reading, judgement: domain.assessReading(point, reading, limitSets) })),
  );
  const around = {
    work,
    earlier,
    twins: twins.flatMap((twin) => read(twin.fact, twin.point).map((reading) => ({ point: twin.point, reading }))),
  };
  const verdict = domain.assessReading(point, parsed.reading, limitSets, domain.contextAt(point, parsed.reading, around));
  return JSON.stringify([parsed.reading, verdict, domain.measure(point, parsed.reading)]);
}

it(`${CASES} cases are judged alike by the build of the phone and by the service`, () => {
  const cases = fc.sample(aCase, { numRuns: CASES, seed: 20_260_423 });
  const grades = new Map<string | null, number>();
  const different: unknown[] = [];
  for (const one of cases) {
    const [service, phone] = [judged(sources, one), judged(browser, one)];
    if (service !== phone) different.push({ one, service, phone });
    if (service.includes('NaN') || service.includes('Infinity')) different.push({ one, service });
    const verdict = service.startsWith('[{"pointer"') ? undefined : (JSON.parse(service) as [unknown, sources.Verdict])[1];
    if (verdict) grades.set(verdict.grade, (grades.get(verdict.grade) ?? 0) + 1);
  }
  expect(different.slice(0, 1)).toEqual([]);
  // The cases are worth something: every grade and Not judged occur many times.
  for (const grade of [null, ...sources.GRADES]) expect(grades.get(grade) ?? 0, String(grade)).toBeGreaterThan(50);
}, 120_000);
