import { describe, expect, it } from 'vitest';
import { aheadOf, type Carry, sayListed } from '../../../apps/web/src/screens/carry/words.ts';

const WEEK = 7 * 86_400_000;
const NOW = Date.parse('2026-04-23T09:00:00Z');
const trend = (weeks: number | null) =>
  ({
    conclusion: {
      countsGrade: 'soon',
      projections: [
        {
          grade: 'soon',
          show: 'range',
          earliestAt: NOW + WEEK,
          likelyAt: NOW + 2 * WEEK,
          latestAt: weeks === null ? null : NOW + weeks * WEEK,
        },
      ],
    },
  }) as unknown as Carry['trends']['lines'][number];

describe('the plots of the worst trends', () => {
  it('look ahead as far as the last date that one of them names, within bounds', () => {
    expect(aheadOf([], NOW)).toBe(9 * WEEK);
    expect(aheadOf([trend(2), trend(15)], NOW)).toBe(16 * WEEK);
    expect(aheadOf([trend(60)], NOW)).toBe(26 * WEEK);
    expect(aheadOf([trend(null)], NOW)).toBe(9 * WEEK);
  });
});

describe('the list of open risks', () => {
  const carry = (listed: number, counts: Partial<Carry['counts']>): Carry =>
    ({
      decisions: [],
      risks: Array.from({ length: listed }, (_, index) => ({ kind: 'order', id: String(index) })),
      counts: { toRepair: 0, toProve: 0, unanswered: 0, readAgain: 0, livedWithAsFinding: 0, livedWithAsOrder: 0, ...counts },
    }) as unknown as Carry;

  it('says how many of how many it holds and where the others are', () => {
    expect(sayListed(carry(1, { toRepair: 1, livedWithAsFinding: 1, readAgain: 1 }))).toEqual({
      head: 'One of three open risks, highest first',
      elsewhere: 'Not in this list: 1 lived with, below; 1 to be read again.',
    });
    expect(sayListed(carry(2, { toRepair: 2 }))).toEqual({ head: 'Open risk, highest first', elsewhere: null });
    expect(sayListed(carry(6, { toRepair: 9 }))).toEqual({
      head: 'Six of nine open risks, highest first',
      elsewhere: 'Not in this list: 3 further by risk.',
    });
  });
});
