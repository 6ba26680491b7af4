/** Readings and cases from the golden folder, as the estimator takes them. */
import { readFileSync } from 'node:fs';
import type { ProjectionInput, ProjectionReading } from '@heatround/domain';

export const GOLDEN = new URL('../../../golden/', import.meta.url);

export function readGolden(path: string): string {
  return readFileSync(new URL(path, GOLDEN), 'utf8');
}

export function dayOf(date: string): number {
  return Date.parse(`${date.slice(0, 10)}T00:00:00Z`) / 86_400_000;
}

/** A series without load and ambient, asked on the day of its last reading unless said otherwise. */
export function plainInput(
  samples: readonly (readonly [day: number, value: number])[],
  limit: number,
  overrides: Partial<ProjectionInput> = {},
): ProjectionInput {
  return {
    readings: samples.map(([day, value]): ProjectionReading => ({ day, value, loadPercent: null, ambientC: null })),
    cutDay: Math.max(...samples.map(([day]) => day)),
    repairDay: null,
    limit,
    direction: 'up',
    referenceLoadPercent: null,
    referenceAmbientC: null,
    ...overrides,
  };
}

/** A small noise that is the same in every run. */
export function wobble(i: number): number {
  return Math.sin(i * 12.9898) * 0.6 + Math.sin(i * 78.233 + 1) * 0.4;
}

/** Uniform and normal numbers that are the same in every run. Park and Miller, Communications of the ACM 31 (1988) 1192. */
export function randomFrom(seed: number) {
  let state = seed;
  const uniform = () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  const normal = () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}
