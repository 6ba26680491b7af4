/** When a point that is not well is read next: intervals of NAVAIR 00-25-403 over the usual times from sign to failure (common practice, no source). */
import { type Conclusion, concludePoint, type Grade, nextReadingOf } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { aPoint, DAY } from '../builders.ts';

const at = Date.UTC(2026, 3, 16, 9);
const conclusion = (
  grade: Grade,
  earliestInDays: number | null,
): Pick<Conclusion, 'latestComparable' | 'standing' | 'projections' | 'countsGrade'> => ({
  latestComparable: { readingId: 'r', takenAt: at, value: 60 },
  standing: { grade, since: at, readingId: 'r', isHeld: false },
  countsGrade: earliestInDays === null ? null : 'soon',
  projections:
    earliestInDays === null
      ? []
      : ([{ grade: 'soon', show: 'range', earliestAt: at + earliestInDays * DAY }] as unknown as Conclusion['projections']),
});
const vibration = aPoint({ quantity: 'vibration-velocity', loadFamily: 'none' });
const days = (point: typeof vibration, grade: Grade, earliest: number | null, recent: readonly Grade[] = [grade]) =>
  nextReadingOf({ point, criticality: 'B', conclusion: conclusion(grade, earliest), recent });

describe('the next reading of a point', () => {
  it('at Fine without a forecast is that of its round', () => {
    expect(days(vibration, 'fine', null)).toBeNull();
  });
  it('with a forecast comes after a third of the time to its earliest date', () => {
    // 30 days over the 4 readings that B asks for are 7.5, so a date in 12 days asks for 4.
    expect(days(vibration, 'fine', 12)).toMatchObject({ days: 4, because: 'forecast' });
    expect(days(vibration, 'fine', 300)).toMatchObject({ days: 7.5, because: 'interval' });
    expect(days(vibration, 'fine', -1)).toMatchObject({ days: 0, because: 'limit-may-be-reached' });
  });
  it('from Watch on comes twice as soon, until two clean readings in a row', () => {
    expect(days(vibration, 'watch', null)).toMatchObject({ days: 3.75, because: 'halved' });
    expect(days(vibration, 'fine', 300, ['fine', 'watch'])).toMatchObject({ days: 3.75, because: 'halved' });
    expect(days(vibration, 'fine', 300, ['fine', 'fine', 'watch'])).toMatchObject({ days: 7.5, because: 'interval' });
  });
  it('of an electrical joint is never beyond what NFPA 70B allows', () => {
    const joint = aPoint({ quantity: 'like-part-difference', loadFamily: 'electrical' });
    for (const grade of ['watch', 'plan', 'now'] as const) expect(days(joint, grade, null)!.days).toBeLessThanOrEqual(182);
  });
  it('that falls into a sleep waits until the point wakes', () => {
    const seasonal = { ...conclusion('watch', null), seasons: [{ fromMonth: 9, toMonth: 4 }] };
    const ask = (takenAt: number) =>
      nextReadingOf({
        point: vibration,
        criticality: 'B',
        conclusion: { ...seasonal, latestComparable: { readingId: 'r', takenAt, value: 60 } },
        recent: ['watch'],
        zone: 'Europe/Dublin',
      })!;
    expect(ask(at).at).toBe(at + 3.75 * DAY);
    const late = ask(Date.UTC(2026, 3, 29, 9));
    expect(late.at).toBe(Date.UTC(2026, 7, 31, 23));
    expect(late.sentence).toMatch(/It sleeps until then\.$/);
  });
  it('of a level that no fault is known for, or that was never compared, is not proposed', () => {
    expect(days(aPoint({ quantity: 'filling-level', loadFamily: 'none' }), 'plan', null)).toBeNull();
    const unread = concludePoint({ point: vibration, limitSets: [], readings: [], work: [] });
    expect(nextReadingOf({ point: vibration, criticality: 'A', conclusion: unread, recent: [] })).toBeNull();
  });
});
