import { noiseOfLikePoints, projectTimeToLimit } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { plainInput, wobble } from './cases.ts';

// Rules: own, as published at noiseOfLikePoints and in the setting of the estimator.

const drifting = (count: number) =>
  Array.from({ length: count }, (_, i): [number, number] => [14 * i, 50 + 1.2 * i + 0.2 * wobble(i)]);

describe('what like points tell', () => {
  it('is the median of at least five', () => {
    expect(noiseOfLikePoints([1, 2, 3, 4])).toBeNull();
    expect(noiseOfLikePoints([1, 9, 3, 2, 4])).toBe(3);
    expect(noiseOfLikePoints([1, 2, Number.NaN, 0, -1, 3, 4])).toBeNull();
  });

  it('makes a range wider where like points scatter more than this one happened to do', () => {
    const alone = projectTimeToLimit(plainInput(drifting(5), 70));
    const leaning = projectTimeToLimit(plainInput(drifting(5), 70, { likePointNoise: 2 }));
    if (alone.status !== 'projection') throw new Error('five readings on a line are projected');
    expect(leaning.noise).toBeGreaterThan(alone.noise);
    if (leaning.status !== 'projection') return;
    const width = (p10: number, p90: number | null) => (p90 ?? Number.POSITIVE_INFINITY) - p10;
    expect(width(leaning.p10Days, leaning.p90Days)).toBeGreaterThan(width(alone.p10Days, alone.p90Days));
  });

  it('says nothing to a point with thirteen readings of its own, or one with a history before its repair', () => {
    expect(projectTimeToLimit(plainInput(drifting(13), 80, { likePointNoise: 3 }))).toEqual(
      projectTimeToLimit(plainInput(drifting(13), 80)),
    );
    const repaired = { repairDay: 14 * 12 + 1 };
    expect(projectTimeToLimit(plainInput(drifting(18), 90, { ...repaired, likePointNoise: 3 }))).toEqual(
      projectTimeToLimit(plainInput(drifting(18), 90, repaired)),
    );
  });

  it('no figure of it leads to NaN or infinity', () => {
    fc.assert(
      fc.property(
        fc.double(),
        fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 3, maxLength: 12 }),
        (likePointNoise, values) => {
          const projection = projectTimeToLimit(
            plainInput(
              values.map((value, i) => [7 * i, value]),
              2e6,
              { likePointNoise },
            ),
          );
          const figures =
            projection.status === 'projection'
              ? [projection.p10Days, projection.p50Days ?? 0, projection.p90Days ?? 0, projection.noise]
              : [projection.noise ?? 0, projection.probabilityMoving ?? 0];
          for (const figure of figures) expect(Number.isFinite(figure)).toBe(true);
        },
      ),
    );
  });
});
