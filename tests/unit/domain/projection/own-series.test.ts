import { projectTimeToLimit } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { nothingMoves, type OwnCase, pointsReadWeekly, runToLimit } from './own-series.ts';
import { type Scores, score } from './scorer.ts';
import { shapeAverage } from './shape-average.ts';

// Bounds: own acceptance figures on series of our own, no outside source. Four other seeds keep them as well.

function compare(cases: readonly OwnCase[]): { ours: Scores; plain: Scores } {
  const scoreOf = (method: typeof shapeAverage) =>
    score(cases.map(({ input, truth, spanDays }) => ({ truth, spanDays, projection: method(input) })));
  return { ours: scoreOf(projectTimeToLimit), plain: scoreOf(shapeAverage) };
}

function expectCloserThanPlain({ ours, plain }: { ours: Scores; plain: Scores }): void {
  expect(ours.pinball).toBeLessThan(plain.pinball);
  expect(ours.relativeError).toBeLessThan(plain.relativeError);
  expect(Math.abs(ours.cover80 - 0.8)).toBeLessThan(Math.abs(plain.cover80 - 0.8));
}

describe('points read weekly under changing conditions', () => {
  const scores = compare(pointsReadWeekly(4101, 1000));

  it('cost less, are closer and hold closer to 80 % than with a plain average of shapes', () => expectCloserThanPlain(scores));

  it('hold about 8 times in 10', () => {
    expect(scores.ours.cover80).toBeGreaterThanOrEqual(0.75);
    expect(scores.ours.cover80).toBeLessThanOrEqual(0.9);
  });

  it('are answered as often, and left alone as often when nothing moves', () => {
    expect(scores.ours.answered).toBeGreaterThanOrEqual(scores.plain.answered);
    expect(scores.ours.quietRight).toBeGreaterThanOrEqual(scores.plain.quietRight);
    expect(scores.ours.quietRight).toBeGreaterThanOrEqual(0.95);
  });
});

describe('a few clean readings of parts run to their limit', () => {
  const cases = runToLimit(4102, 600);
  const scores = compare(cases);

  it('cost less, are closer and hold closer to 80 % than with a plain average of shapes', () => expectCloserThanPlain(scores));

  it('are answered 49 times in 50, a growth that slows as well although it looks as if it might level off', () => {
    expect(scores.ours.answered).toBeGreaterThanOrEqual(0.98);
    expect(compare(cases.filter(({ kind }) => kind === 'slowing')).ours.answered).toBeGreaterThanOrEqual(0.98);
  });
});

it('series in which nothing moves are left alone as often as with a plain average of shapes, and 19 times in 20', () => {
  const { ours, plain } = compare(nothingMoves(4104, 1500));
  expect(ours.quietRight).toBeGreaterThanOrEqual(plain.quietRight);
  expect(ours.quietRight).toBeGreaterThanOrEqual(0.95);
});
