import {
  addEvidence,
  answersAllowed,
  askToLiveWith,
  comesBack,
  endFinding,
  FINDING_MOVES,
  type Finding,
  type FindingMove,
  findingFor,
  GRADES,
  type Grade,
  headOf,
  type Mover,
  moveFinding,
  reportFinding,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aVerdict } from '../work-orders/builders.ts';

const DAY = 86_400_000;
const planner: Mover = { by: 'planner', roles: ['planner'], at: 1000 };
const manager: Mover = { by: 'manager', roles: ['manager'], at: 1000 };
const technician: Mover = { by: 'technician', roles: ['technician'], at: 1000 };
const service: Mover = { by: null, roles: [], at: 1000 };

const aFinding = (overrides: Partial<Finding> = {}): Finding => ({
  ...reportFinding({ id: 'f', pointId: 'p', mode: 'absolute', episode: 1, criterion: 'absolute', grade: 'plan', reportedAt: 10 }),
  ...overrides,
});
const moved = (finding: Finding, move: FindingMove, mover = planner, all: readonly Finding[] = []): Finding => {
  const result = moveFinding(finding, move, mover, (id) => all.find((one) => one.id === id));
  if ('refused' in result) throw new Error(result.detail);
  return result.finding;
};
const ask = (grade: Grade | null, findings: readonly Finding[], takenAt = 100, isImported = false) =>
  findingFor({ pointId: 'p', verdict: aVerdict(grade), takenAt, isImported }, findings);

describe('a verdict and its finding', () => {
  it('Plan or worse makes one by itself, anything milder and imported history none', () => {
    expect(ask('plan', [])).toEqual({
      kind: 'create',
      key: { pointId: 'p', mode: 'absolute', episode: 1 },
      criterion: 'absolute',
      grade: 'plan',
      repeats: null,
    });
    expect(ask('watch', [])).toEqual({ kind: 'none', because: 'below-plan' });
    expect(ask(null, [])).toEqual({ kind: 'none', because: 'not-judged' });
    expect(ask('now', [], 100, true)).toEqual({ kind: 'none', because: 'imported' });
  });

  it('joins the open one on the same point and mode, whatever answer it has and whatever its mode is called now', () => {
    expect(ask('soon', [aFinding()])).toEqual({ kind: 'join', findingId: 'f', isWorse: true, asksPlanner: false });
    expect(ask('plan', [aFinding({ state: 'agreed', mode: 'loose joint' })])).toMatchObject({ kind: 'join', isWorse: false });
    expect(ask('plan', [aFinding({ pointId: 'other' })]).kind).toBe('create');
    expect(ask('plan', [aFinding({ criterion: 'above-base', mode: 'above-base' })]).kind).toBe('create');
  });

  it('after the end a new episode begins, a repeat where the last one was proved', () => {
    const proved = aFinding({ ended: { at: 90, outcome: 'proved' } });
    expect(ask('plan', [proved])).toMatchObject({ kind: 'create', key: { episode: 2 }, repeats: 'f' });
    const turnedDown = aFinding({ id: 'g', episode: 2, ended: { at: 95, outcome: 'turned-down' } });
    expect(ask('plan', [turnedDown, proved])).toMatchObject({ kind: 'create', key: { episode: 3 }, repeats: null });
  });

  it('a reading taken before the end and arriving later is evidence to that episode, and a planner is asked', () => {
    const ended = aFinding({ ended: { at: 90, outcome: 'proved' } });
    const open = aFinding({ id: 'g', episode: 2, reportedAt: 95 });
    expect(ask('now', [open, ended], 80)).toEqual({ kind: 'join', findingId: 'f', isWorse: true, asksPlanner: true });
    expect(ask('now', [open, ended], 100)).toMatchObject({ findingId: 'g', asksPlanner: false });
  });

  it('D45: evidence to a merged finding reaches the one that stands for it', () => {
    const head = aFinding({ id: 'h', pointId: 'other', reportedAt: 5 });
    const merged = moved(aFinding(), { kind: 'same-as', findingId: 'h' }, planner, [head]);
    expect(ask('soon', [merged, head])).toMatchObject({ kind: 'join', findingId: 'h' });
    expect(ask('soon', [merged, endFinding(head, 'proved', 50)])).toMatchObject({ kind: 'create', repeats: 'h' });
  });

  it('the order of the findings plays no part, and one open finding per point and mode is enough', () => {
    const finding = fc.record({
      id: fc.constantFrom('a', 'b', 'c', 'd', 'e', 'f'),
      reportedAt: fc.integer({ min: 0, max: 3 }),
      ended: fc.option(
        fc.record({ at: fc.integer({ min: 0, max: 200 }), outcome: fc.constantFrom('proved' as const, 'turned-down' as const) }),
      ),
    });
    const lists = fc
      .uniqueArray(finding, { selector: ({ id }) => id })
      .map((list) => list.map((one, index) => aFinding({ ...one, episode: index + 1 })));
    fc.assert(
      fc.property(lists, fc.integer({ min: 0, max: 250 }), (list, takenAt) => {
        const step = ask('plan', list, takenAt);
        const ties = new Set(list.map((one) => one.ended?.at)).size < list.length;
        if (!ties) expect(ask('plan', list.toReversed(), takenAt)).toEqual(step);
        if (list.some(({ ended }) => ended === null)) expect(step.kind).toBe('join');
      }),
    );
  });

  it('the worst grade of an episode is kept, and an ended one stays as it is', () => {
    const worse = addEvidence(aFinding(), 'soon', 100).finding;
    expect(worse).toMatchObject({ grade: 'soon', state: 'reported', version: 2 });
    expect(addEvidence(worse, 'plan', 110)).toEqual({ finding: worse, record: null });
    const ended = endFinding(worse, 'closed-unproved', 120);
    expect(addEvidence(ended, 'now', 130).finding).toBe(ended);
    expect(endFinding(ended, 'proved', 140)).toBe(ended);
  });
});

describe('answers', () => {
  it('are owed by planner and manager; living with it by grade', () => {
    const all = ['agree', 'read-again', 'same-as', 'turn-down', 'live-with'];
    expect(answersAllowed(aFinding(), planner)).toEqual(all);
    expect(answersAllowed(aFinding(), manager)).toEqual(all.slice(0, 4));
    expect(answersAllowed(aFinding({ grade: 'soon' }), planner)).toEqual(all.slice(0, 4));
    expect(answersAllowed(aFinding({ grade: 'now' }), manager)).toEqual(all);
    expect(answersAllowed(aFinding(), technician)).toEqual([]);
    expect(answersAllowed(moved(aFinding(), { kind: 'agree' }), planner)).toEqual([]);
  });

  it('D57: nobody answers their own request to live with it', () => {
    const until = 1000 + 30 * DAY;
    const asked = askToLiveWith(aFinding(), { until, reason: 'hall is refitted in autumn' }, planner);
    if ('refused' in asked) throw new Error(asked.detail);
    const move: FindingMove = { kind: 'live-with', until, reason: 'hall is refitted in autumn' };
    expect(answersAllowed(asked.subject, planner)).not.toContain('live-with');
    expect(moveFinding(asked.subject, move, planner)).toMatchObject({
      refused: 'own-request',
      allowed: ['agree', 'read-again', 'same-as', 'turn-down'],
    });
    const other = moved(asked.subject, move, { ...planner, by: 'second planner' });
    expect(other).toMatchObject({
      state: 'living-with',
      livingAsked: null,
      livingWith: { by: 'second planner', grade: 'plan', until },
    });
    expect(askToLiveWith(aFinding(), { until, reason: 'x' }, { ...manager, roles: ['guest-reader'] })).toMatchObject({
      refused: 'not-allowed',
    });
    expect(askToLiveWith(aFinding(), { until, reason: '' }, technician)).toMatchObject({ refused: 'reason-needed' });
  });

  it('living with it needs a reason and an end date ahead within twelve months', () => {
    const at = Date.UTC(2027, 5, 1, 8);
    const live = (until: number, reason = 'refit') =>
      moveFinding(aFinding(), { kind: 'live-with', until, reason }, { ...planner, at });
    expect(live(at)).toMatchObject({ refused: 'until-needed' });
    expect(live(Number.NaN)).toMatchObject({ refused: 'until-needed' });
    expect(live(Date.UTC(2028, 5, 2, 9))).toMatchObject({ refused: 'until-needed' });
    expect(live(Date.UTC(2028, 5, 1), ' ')).toMatchObject({ refused: 'reason-needed' });
    expect(live(Date.UTC(2028, 5, 1))).toMatchObject({ finding: { state: 'living-with' } });
  });

  it('living with it ends at its date or at a worse grade, and the finding is Reported again', () => {
    const living = moved(aFinding(), { kind: 'live-with', until: 2000, reason: 'refit' });
    expect(comesBack(living.livingWith, 'plan', 1999)).toBeNull();
    expect(comesBack(living.livingWith, 'plan', 2000)).toBe('until-ended');
    expect(comesBack(living.livingWith, 'soon', 1999)).toBe('grade-worse');
    const worse = addEvidence(living, 'soon', 1500);
    expect(worse).toMatchObject({
      finding: { state: 'reported', grade: 'soon', livingWith: null },
      record: { move: 'come-back', by: null },
    });
    expect(addEvidence(living, 'plan', 1500).finding).toBe(living);
    expect(moved(living, { kind: 'come-back', cause: 'until-ended' }, service).state).toBe('reported');
  });

  it('read again comes back as Reported and may be asked for again', () => {
    const again = moved(aFinding(), { kind: 'read-again', reason: 'low load' });
    const back = moved(again, { kind: 'come-back', cause: 'read-again' }, service);
    expect(back.state).toBe('reported');
    expect(moved(back, { kind: 'read-again', reason: 'low load' }).version).toBe(back.version + 1);
  });

  it('turned down needs a reason and ends the episode', () => {
    expect(moveFinding(aFinding(), { kind: 'turn-down', reason: '' }, planner)).toMatchObject({ refused: 'reason-needed' });
    const down = moved(aFinding(), { kind: 'turn-down', reason: 'painted lug read as bare metal' });
    expect(down).toMatchObject({ state: 'turned-down', ended: { at: 1000, outcome: 'turned-down' } });
    expect(moveFinding(down, { kind: 'agree' }, planner)).toMatchObject({ refused: 'move-not-allowed', allowed: [] });
  });
});

describe('merging', () => {
  const three = ['a', 'b', 'c'].map((id) => aFinding({ id }));

  it('D53: A into B into A is refused, and so is A into A', () => {
    const [a, b] = three as [Finding, Finding];
    const merged = moved(a, { kind: 'same-as', findingId: 'b' }, planner, three);
    expect(moveFinding(b, { kind: 'same-as', findingId: 'a' }, planner, (id) => (id === 'a' ? merged : b))).toMatchObject({
      refused: 'circle',
    });
    expect(moveFinding(a, { kind: 'same-as', findingId: 'a' }, planner)).toMatchObject({ refused: 'circle' });
  });

  it('merging into a merged one leads to the one that stands for it', () => {
    const [a, b, c] = three as [Finding, Finding, Finding];
    const merged = moved(b, { kind: 'same-as', findingId: 'c' }, planner, three);
    expect(moved(a, { kind: 'same-as', findingId: 'b' }, planner, [a, merged, c]).sameAs).toBe('c');
    const ended = endFinding(c, 'proved', 50);
    expect(moveFinding(a, { kind: 'same-as', findingId: 'b' }, planner, (id) => ({ a, b: merged, c: ended })[id])).toMatchObject({
      refused: 'ended-already',
    });
  });

  it('D53: no sequence of merges makes a circle', () => {
    const ids = ['a', 'b', 'c', 'd', 'e'];
    const pair = fc.tuple(fc.constantFrom(...ids), fc.constantFrom(...ids));
    fc.assert(
      fc.property(fc.array(pair, { maxLength: 25 }), (pairs) => {
        const all = new Map(ids.map((id) => [id, aFinding({ id })]));
        for (const [from, to] of pairs) {
          const result = moveFinding(all.get(from)!, { kind: 'same-as', findingId: to }, planner, (id) => all.get(id));
          if (!('refused' in result)) all.set(from, result.finding);
        }
        for (const id of ids) expect(all.get(headOf(id, (one) => all.get(one)))?.sameAs).toBeNull();
      }),
    );
  });

  it('D53: a circle in old data has one head from wherever it is entered', () => {
    const circle = new Map(
      [
        ['a', 'b'],
        ['b', 'c'],
        ['c', 'a'],
        ['x', 'b'],
      ].map(([id, sameAs]) => [id!, { id: id!, sameAs: sameAs! }]),
    );
    expect(['a', 'b', 'c', 'x'].map((id) => headOf(id, (one) => circle.get(one)))).toEqual(['a', 'a', 'a', 'a']);
  });
});

describe('every path', () => {
  const move: fc.Arbitrary<FindingMove> = fc.constantFrom<FindingMove>(
    { kind: 'agree' },
    { kind: 'read-again' },
    { kind: 'same-as', findingId: 'other' },
    { kind: 'turn-down', reason: 'no fault' },
    { kind: 'live-with', until: 5000, reason: 'refit' },
    { kind: 'come-back', cause: 'until-ended' },
    { kind: 'come-back', cause: 'read-again' },
  );
  const mover = fc.constantFrom(planner, manager, technician, service);

  it('an accepted move leaves one record, a refused one changes nothing and names the open ones, a repeated one neither', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(move, mover), { maxLength: 20 }), fc.constantFrom(...GRADES), (steps, grade) => {
        let finding = aFinding({ grade });
        for (const [given, who] of steps) {
          const before = JSON.stringify(finding);
          const result = moveFinding(finding, given, who);
          expect(JSON.stringify(finding)).toBe(before);
          if ('refused' in result) {
            expect(result.detail).toMatch(/\.$/);
            for (const kind of result.allowed) expect(FINDING_MOVES[finding.state]).toContain(kind);
            continue;
          }
          if (result.record === null) {
            expect(result.finding).toBe(finding);
            continue;
          }
          expect(FINDING_MOVES[finding.state]).toContain(given.kind);
          expect(result.record).toMatchObject({
            move: given.kind,
            from: finding.state,
            to: result.finding.state,
            by: who.by,
            at: 1000,
          });
          expect(result.finding.version).toBe(finding.version + 1);
          finding = result.finding;
          expect(moveFinding(finding, given, who)).toEqual({ finding, record: null });
        }
      }),
    );
  });

  it('of two answers from one version the first wins and the second is told', () => {
    const seen = { ...planner, seenVersion: 1 };
    const first = moved(aFinding(), { kind: 'agree' }, seen);
    expect(moveFinding(first, { kind: 'read-again' }, seen)).toMatchObject({ refused: 'stale-version' });
    expect(moveFinding(first, { kind: 'agree' }, seen)).toEqual({ finding: first, record: null });
  });
});
