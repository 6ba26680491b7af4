import type { ExtraStopLine, RoundLine } from '@heatround/contract';
import { describe, expect, it } from 'vitest';
import { dueHref, queryOf, sayDue, sayRound } from '../../../apps/web/src/screens/due/words.ts';

const NOW = Date.parse('2026-04-23T09:00:00Z');
const times = { earliestAt: '2026-04-20T00:00:00Z', latestAt: '2026-04-24T22:59:00Z' };
const stop = (kind: ExtraStopLine['kind']) => ({ ...times, kind }) as ExtraStopLine;
const due = (counts: { overdue?: number; due?: number; coming?: number }, extraStops: ExtraStopLine[] = []) => ({
  counts: { overdue: 0, due: 0, coming: 0, ...counts },
  rounds: [] as RoundLine[],
  extraStops,
});
const everybody = { who: null, where: null };

describe('the due list', () => {
  it('says how much is overdue, due and coming, and calls a proof stop one', () => {
    expect(sayDue(due({ due: 1, coming: 4 }, [stop('proof')]), NOW, everybody)).toBe(
      '1 round and 1 proof stop due now, 4 rounds coming within 14 days.',
    );
    expect(sayDue(due({ overdue: 2, due: 1 }, [stop('proof'), stop('asked'), stop('read-again')]), NOW, everybody)).toBe(
      '2 rounds overdue, 1 round, 1 proof stop and 2 extra stops due now.',
    );
    expect(
      sayDue(
        due(
          {},
          Array.from({ length: 120 }, () => stop('proof')),
        ),
        NOW,
        everybody,
      ),
    ).toBe('100 or more extra and proof stops due now.');
  });

  it('names the person and the site it is about', () => {
    const one = due({ due: 1 });
    expect(sayDue(one, NOW, { who: 'me', where: null })).toBe('1 round due now.');
    expect(sayDue(one, NOW, { who: 'Maren Falk', where: null })).toBe('Maren Falk: 1 round due now.');
    expect(sayDue(one, NOW, { who: 'Maren Falk', where: 'Mill' })).toBe('Maren Falk at Mill: 1 round due now.');
    expect(sayDue(one, NOW, { who: 'me', where: 'Mill' })).toBe('At Mill: 1 round due now.');
  });

  it('says of whom and where nothing is due', () => {
    expect(sayDue(due({}), NOW, everybody)).toBe('Nothing is due within 14 days.');
    expect(sayDue(due({}), NOW, { who: 'me', where: null })).toBe('Nothing is due in your name within 14 days.');
    expect(sayDue(due({}), NOW, { who: 'Maren Falk', where: 'Mill' })).toBe(
      'Nothing is due in the name of Maren Falk at Mill within 14 days.',
    );
  });

  it('keeps a choice in the address, except what is usual, and asks for it', () => {
    expect(dueHref({ person: 'all', site: '' }, 'all')).toBe('/due');
    expect(dueHref({ person: 'all', site: '' }, 'p1')).toBe('/due?person=all');
    expect(dueHref({ person: 'p1', site: 's1' }, 'all')).toBe('/due?site=s1&person=p1');
    expect(queryOf({ person: 'all', site: '' })).toEqual({});
    expect(queryOf({ person: 'p1', site: 's1' })).toEqual({ walkerId: 'p1', siteId: 's1' });
  });
});

describe('the page of a round', () => {
  it('opens with who called it off and why', () => {
    const round = { code: 'RT1', name: 'Boiler house', calledOff: null, progressInWords: '0 of 6 stops answered.' };
    expect(sayRound(round)).toBe('RT1 Boiler house: 0 of 6 stops answered.');
    const calledOff = { at: times.earliestAt, by: 'Jun Okafor', reason: 'Boiler inspection' };
    expect(sayRound({ ...round, calledOff })).toBe('RT1 Boiler house. Called off by Jun Okafor: Boiler inspection.');
  });
});
