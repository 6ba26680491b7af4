import { type Finding, lookAgain, looksAllowed, type Mover, reportFinding } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const planner: Mover = { by: 'jonas', roles: ['planner'], at: 1000 };
const answered: Finding = {
  ...reportFinding({ id: 'f', pointId: 'p', mode: 'absolute', episode: 1, criterion: 'absolute', grade: 'plan', reportedAt: 10 }),
  state: 'agreed',
  version: 4,
};
const ended: Finding = { ...answered, ended: { at: 500, outcome: 'proved' } };

describe('a second look at a finding that was answered', () => {
  it('one that goes on has its own moves: only that its answer stands can be said; an ended one can be taken up anew', () => {
    expect(looksAllowed(answered, planner)).toEqual(['it-stands']);
    expect(looksAllowed(ended, planner)).toEqual(['it-stands', 'take-up']);
    expect(lookAgain(answered, { kind: 'take-up' }, planner)).toMatchObject({
      refused: 'move-not-allowed',
      allowed: ['it-stands'],
    });
  });

  it('leaves one trace and the finding as it stands, one version on', () => {
    const looked = lookAgain(ended, { kind: 'take-up', reason: ' was hot all along ' }, planner);
    expect(looked).toEqual({
      finding: { ...ended, version: 5 },
      record: {
        move: 'take-up',
        from: 'agreed',
        to: 'agreed',
        by: 'jonas',
        at: 1000,
        why: 'was hot all along',
        given: { kind: 'take-up', reason: ' was hot all along ' },
      },
    });
    expect(lookAgain(ended, { kind: 'it-stands' }, planner)).toMatchObject({ record: { why: null } });
  });

  it('belongs to whoever answers findings, and to nobody who has seen an older state', () => {
    fc.assert(
      fc.property(fc.subarray(['technician', 'trainee', 'contractor', 'guest-reader', 'administrator']), (roles) => {
        expect(looksAllowed(ended, { by: 'x', roles })).toEqual([]);
        expect(lookAgain(ended, { kind: 'it-stands' }, { by: 'x', roles, at: 1 })).toMatchObject({ refused: 'not-allowed' });
      }),
    );
    expect(lookAgain(ended, { kind: 'it-stands' }, { by: null, roles: [], at: 1 })).toMatchObject({ refused: 'not-allowed' });
    expect(lookAgain(ended, { kind: 'it-stands' }, { ...planner, seenVersion: 3 })).toMatchObject({ refused: 'stale-version' });
    expect(lookAgain(ended, { kind: 'it-stands' }, { ...planner, seenVersion: 4 })).not.toHaveProperty('refused');
  });
});
