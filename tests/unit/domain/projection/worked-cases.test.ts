import { type ProjectionInput, projectTimeToLimit, type ShapeProbabilities } from '@heatround/domain';
import { describe, expect, it, vi } from 'vitest';
import { dayOf, readGolden } from './cases.ts';

/**
 * Where our figures depart from the reference (reasons in setting.ts), its own stand in here: everything else is checked to a millionth.
 */
vi.mock('../../../../packages/domain/src/projection/setting.ts', async (ours) => ({
  ...(await ours<object>()),
  SLOWING: { powers: [], riseSds: [], share: 0 },
  FUTURE_PACE_SD: 0.12,
}));

interface Example {
  readonly name: string;
  readonly input: {
    readonly limit: number;
    readonly direction: 'up' | 'down';
    readonly cut_date: string;
    readonly repair_date: string | null;
    readonly reference: { readonly load_pct: number | null; readonly ambient_c: number | null } | null;
    readonly readings: readonly { date: string; value: number; load_pct: number | null; ambient_c: number | null }[];
  };
  readonly output: {
    readonly status: 'projection' | 'no_projection';
    readonly reason?: string;
    readonly p10?: number | null;
    readonly p50?: number | null;
    readonly p90?: number | null;
    readonly detail?: {
      readonly n: number;
      readonly span: number;
      readonly base: number;
      readonly sigma: number;
      readonly up: number;
      readonly shapes: Readonly<Record<string, number>>;
    };
  };
}

// Source: the method's reference implementation in Python with NumPy, an independent program; tolerance 1e-6 relative.
const examples = JSON.parse(readGolden('estimator_examples.json')) as { worked: Example[]; further: Example[] };
const NAMES_IN_FILE: Readonly<Record<string, keyof ShapeProbabilities>> = {
  stepramp: 'step-then-rise',
  linestep: 'line-with-step',
};

function toInput({ input }: Example): ProjectionInput {
  return {
    readings: input.readings.map((reading) => ({
      day: dayOf(reading.date),
      value: reading.value,
      loadPercent: reading.load_pct,
      ambientC: reading.ambient_c,
    })),
    cutDay: dayOf(input.cut_date),
    repairDay: input.repair_date === null ? null : dayOf(input.repair_date),
    limit: input.limit,
    direction: input.direction,
    referenceLoadPercent: input.reference?.load_pct ?? null,
    referenceAmbientC: input.reference?.ambient_c ?? null,
  };
}

function expectNear(actual: number | null, expected: number | null | undefined): void {
  if (expected === null || expected === undefined) expect(actual).toBeNull();
  else expect(Math.abs((actual ?? Number.NaN) - expected)).toBeLessThanOrEqual(1e-6 * Math.abs(expected) + 1e-12);
}

describe('the projection agrees with the reference to a millionth', () => {
  it.each([...examples.worked, ...examples.further].map((example) => [example.name, example] as const))('%s', (_, example) => {
    const projection = projectTimeToLimit(toInput(example));
    const { output } = example;
    if (projection.status === 'no-projection') {
      expect(output.status).toBe('no_projection');
      expect(projection.reason).toBe(output.reason);
    } else {
      expect(output.status).toBe('projection');
      expectNear(projection.p10Days, output.p10);
      expectNear(projection.p50Days, output.p50);
      expectNear(projection.p90Days, output.p90);
    }
  });

  it.each(examples.worked.map((example) => [example.name, example] as const))('inside: %s', (_, example) => {
    const projection = projectTimeToLimit(toInput(example));
    const detail = example.output.detail;
    if (detail === undefined) throw new Error('a worked example tells its figures');
    expect(projection.readingCount).toBe(detail.n);
    expect(projection.spanDays).toBe(detail.span);
    expectNear(projection.probabilityMoving, detail.up);
    for (const [name, probability] of Object.entries(detail.shapes)) {
      const shape = NAMES_IN_FILE[name] ?? (name as keyof ShapeProbabilities);
      expectNear(projection.shapeProbabilities?.[shape] ?? null, probability);
    }
    if (projection.status === 'no-projection') return;
    expectNear(projection.baseline, detail.base);
    expectNear(projection.noise, detail.sigma);
  });

  it('looks at all 23 examples', () => {
    expect(examples.worked.length + examples.further.length).toBe(23);
  });
});
