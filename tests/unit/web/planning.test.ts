import type { FindingLine, OrderLine, WindowView } from '@heatround/contract';
import { agreeOrder, type LimitProjection, lastSensibleWindow, moveOrder, type OrderMove } from '@heatround/domain';
import { describe, expect, it } from 'vitest';
import { withWindows } from '../../../apps/web/src/screens/asset/repairs.ts';
import { type OrderPage, sayOrder, stationsOf } from '../../../apps/web/src/screens/orders/stations.ts';
import { checkTyped, isAtOnce, slotBody, type Typed, untilOf } from '../../../apps/web/src/ui/planning/form.tsx';
import { sayIn } from '../../../apps/web/src/ui/planning/say-in.ts';
import { orderContent, sayOverdue } from '../../../apps/web/src/ui/planning/situation.ts';
import { sayAnswersDue, sayLastWindow, sayOrders, sayTooLate, slotsOf } from '../../../apps/web/src/ui/planning/view.ts';
import { sayMade } from '../../../apps/web/src/ui/planning/words.ts';

const ZONE = 'Europe/Dublin';
const NOW = Date.parse('2026-04-23T09:00:00Z');
const place = { siteId: 's', site: 'Mill', zone: ZONE, buildingId: 'b', building: 'Laundry', roomId: 'r', room: 'Hall' };

const windowView = (id: string, name: string, fromAt: string, toAt: string, over: Partial<WindowView> = {}): WindowView => ({
  id,
  siteId: 's',
  name,
  place: 'Mill',
  buildingId: null,
  assetId: null,
  fromAt,
  toAt,
  cancelledAt: null,
  version: 1,
  ...over,
});
const WINDOWS = [
  windowView('half', 'Half day', '2026-05-02T05:00:00Z', '2026-05-02T12:00:00Z'),
  windowView('outage', 'Ironer outage', '2026-05-11T05:00:00Z', '2026-05-15T17:00:00Z'),
  windowView('elsewhere', 'Energy Centre dark', '2026-04-25T05:00:00Z', '2026-04-25T12:00:00Z', { buildingId: 'other' }),
  windowView('off', 'Called off', '2026-04-30T05:00:00Z', '2026-04-30T12:00:00Z', { cancelledAt: '2026-04-20T12:00:00Z' }),
];
const projection = (grade: 'soon' | 'now', limit: number, earliest: string): LimitProjection =>
  ({ grade, limit, show: 'range', earliestAt: Date.parse(earliest) }) as LimitProjection;

function line(over: Partial<FindingLine> = {}, projections = [projection('now', 100, '2026-05-06T00:00:00Z')]): FindingLine {
  return {
    id: 'f',
    assetId: 'a',
    assetName: 'Ironer main drive',
    place,
    unit: '°C',
    conclusion: null,
    reportedAt: '2026-04-23T08:14:00Z',
    lastWindow: lastSensibleWindow({
      windows: WINDOWS.slice(0, 2).map(({ id, fromAt, toAt, name }) => ({
        id,
        from: Date.parse(fromAt),
        to: Date.parse(toAt),
        words: name,
      })),
      projections,
      jobMs: 0,
      now: NOW,
      zone: ZONE,
    }),
    ...over,
  } as FindingLine;
}

describe('what a row of Answers due says', () => {
  it('names the only window that fits and the one that comes too late; others do not concern it', () => {
    const slots = slotsOf(line(), WINDOWS, NOW);
    expect(slots.map(({ id, kind, daysTooLate }) => [id, kind, daysTooLate])).toEqual([
      ['half', 'last', 0],
      ['outage', 'late', 9],
    ]);
    expect(sayLastWindow(line(), slots, NOW)).toEqual({
      title: 'Sat 2 May',
      note: 'Half day, the only one before Now, earliest 6 May. None lies before Soon.',
    });
  });

  it('opens with how many want an answer and what is urgent about the first', () => {
    expect(sayAnswersDue([], WINDOWS, NOW, false)).toEqual(['Nothing wants your answer.']);
    expect(sayAnswersDue([], WINDOWS, NOW, false, 2)).toEqual(['Two things want a second look.']);
    expect(sayAnswersDue([line(), line(), line()], WINDOWS, NOW, false)).toEqual([
      'Three things want your answer.',
      'Ironer main drive first: only Sat 2 May fits.',
    ]);
    expect(sayAnswersDue([line({}, [])], WINDOWS, NOW, false)).toEqual([
      'One thing wants your answer.',
      'Ironer main drive: it has waited since 09:14 today.',
    ]);
    expect(sayAnswersDue([line({ reportedAt: '2026-04-16T08:14:00Z' }, [])], WINDOWS, NOW, false)[1]).toBe(
      'Ironer main drive: it has waited since Thu 16 April.',
    );
    const soon = line({}, [projection('now', 100, '2026-04-30T00:00:00Z')]);
    expect(sayAnswersDue([soon, line()], WINDOWS, NOW, true)[1]).toBe('Ironer main drive first: no window lies before 30 April.');
  });

  it('counts how late a window is to its end, and says so of one that lasts for days', () => {
    const slots = slotsOf(line({}, [projection('now', 100, '2026-05-12T00:00:00Z')]), WINDOWS, NOW);
    const outage = slots.find(({ id }) => id === 'outage')!;
    expect(sayTooLate(outage, ZONE)).toBe('ends 3 days too late');
    const half = { ...slots.find(({ id }) => id === 'half')!, daysTooLate: 1 };
    expect(sayTooLate(half, ZONE)).toBe('1 day too late');
  });

  it('says once that nothing is forecast', () => {
    const conclusion = { comparableCount: 15, projections: [], countsGrade: null } as unknown as FindingLine['conclusion'];
    const bare = line({ conclusion }, []);
    expect(sayLastWindow(bare, slotsOf(bare, WINDOWS, NOW), NOW)).toEqual({
      title: 'No date yet',
      note: 'No forecast from 15 readings.',
    });
  });

  it('puts windows among the dates of the timetable, and always says the first that is too late', () => {
    const rows = [{ at: Date.parse('2026-05-06T00:00:00Z'), date: 'Wed 6 May', title: 'earliest at 100 °C', detail: '' }];
    const all = withWindows(rows, slotsOf(line(), WINDOWS, NOW), Date.parse('2026-05-08T00:00:00Z'), ZONE, NOW);
    expect(all.map(({ date, detail, kind }) => [date, detail, kind])).toEqual([
      ['Sat 2 May', 'last window that fits', 'last'],
      ['Wed 6 May', '', 'forecast'],
      ['11–15 May', 'ends 9 days too late', 'late'],
    ]);
  });
});

/** An order after these moves, as its page holds it. */
function page(moves: readonly (readonly [OrderMove, string])[], over: Partial<OrderPage> = {}): OrderPage {
  let order = agreeOrder({
    id: 'o',
    grade: 'plan',
    ownerId: null,
    originalDueAt: Date.parse('2026-03-31T22:59:59Z'),
    needsSecondProof: false,
  });
  const records = moves.map(([move, when]) => {
    const moved = moveOrder(order, move, { by: 'p', roles: ['planner', 'manager'], isOwner: true, at: Date.parse(when) });
    if ('refused' in moved || moved.record === null) throw new Error(`not moved: ${JSON.stringify(moved)}`);
    order = moved.order;
    return { ...moved.record, by: { id: 'p', name: 'Jun' }, at: when };
  });
  return {
    order,
    state: order.state,
    place,
    dueAt: '2026-03-31T22:59:59Z',
    overdueDays: order.endedAt === null ? 23 : 0,
    createdAt: '2026-03-01T10:00:00Z',
    endedAt: order.endedAt === null ? null : new Date(order.endedAt).toISOString(),
    reportedAt: '2026-02-28T10:00:00Z',
    reportedBy: 'Maren',
    proofDueAt: order.proofDueAt === null ? null : new Date(order.proofDueAt).toISOString(),
    moves: records,
    findingMoves: [],
    before: null,
    after: null,
    proofStop: null,
    lastWindow: { window: null, before: null, earliestAt: null, tooLate: [], tooShort: [], sentence: '' },
    ...over,
  } as unknown as OrderPage;
}
const SLOT = {
  kind: 'slot',
  windowId: null,
  from: Date.parse('2026-03-05T08:00:00Z'),
  to: Date.parse('2026-03-05T12:00:00Z'),
} as const;
const FINISH = { kind: 'finish', found: 'dry bearing', did: 'greased' } as const;
const proof = (result: 'proved' | 'not-proved') =>
  ({ kind: 'prove', readingId: 'x', judgement: { result, sentence: 'so it was.' } }) as OrderMove;
const said = (rows: ReturnType<typeof stationsOf>): string[] =>
  rows.map((row) => row.map(({ word, mark, line }) => `${word} ${mark} ${line}`).join(' | '));

describe('the line of stations', () => {
  it('is solid as far as it was reached, then a ring, then dotted', () => {
    expect(said(stationsOf(page([[SLOT, '2026-03-02T10:00:00Z']]), ZONE, NOW))).toEqual([
      'Reported tick walked | Agreed tick walked | Slotted tick to-walk | Under way ring to-walk | Done, prove it ahead to-walk | Proved ahead none',
    ]);
  });

  it('ends in the only filled plate when it is proved', () => {
    const moves = [
      [SLOT, '2026-03-02T10:00:00Z'],
      [{ kind: 'start' }, '2026-03-05T08:10:00Z'],
      [FINISH, '2026-03-05T11:00:00Z'],
      [proof('proved'), '2026-03-12T09:00:00Z'],
    ] as const;
    const [row] = stationsOf(page(moves), ZONE, NOW);
    expect(row!.map(({ mark }) => mark)).toEqual(['tick', 'tick', 'tick', 'tick', 'tick', 'plate']);
  });

  it('steps back to Agreed on a second row when the proof fails', () => {
    const moves = [
      [SLOT, '2026-03-02T10:00:00Z'],
      [{ kind: 'start' }, '2026-03-05T08:10:00Z'],
      [FINISH, '2026-03-05T11:00:00Z'],
      [proof('not-proved'), '2026-03-12T09:00:00Z'],
    ] as const;
    const rows = stationsOf(page(moves), ZONE, NOW);
    expect(rows[0]!.at(-1)).toMatchObject({ word: 'Not proved', mark: 'back' });
    expect(rows[1]![0]).toMatchObject({ word: 'Agreed', column: 1, mark: 'tick' });
    expect(rows[1]![1]).toMatchObject({ word: 'Slotted', mark: 'ring' });
    expect(sayOrder(page(moves), ZONE, NOW)).toBe('Not proved, so it is agreed again. It has no slot yet. 23 days overdue.');
  });

  it('has a gap where it is stuck, with the cause and who can free it', () => {
    const moves = [[{ kind: 'stuck', cause: 'part not ordered', whoFrees: 'Ruth' }, '2026-03-20T10:00:00Z']] as const;
    const [row] = stationsOf(page(moves), ZONE, NOW);
    expect(row![1]).toMatchObject({ line: 'gap', stuck: 'Stuck since 20 March: part not ordered. Who can free it: Ruth.' });
    expect(row!.slice(2).every(({ mark }) => mark === 'ahead')).toBe(true);
  });

  it('runs dotted to the end date of living with it', () => {
    const until = Date.parse('2026-09-30T22:59:59Z');
    const moves = [[{ kind: 'live-with', until, reason: 'hall refit' }, '2026-03-20T10:00:00Z']] as const;
    const [row] = stationsOf(page(moves), ZONE, NOW);
    expect(row!.at(-1)).toMatchObject({ word: 'Opens again', mark: 'bar', notes: ['Wed 30 September'] });
    expect(row!.at(-2)).toMatchObject({ word: 'Living with it', line: 'to-walk' });
  });
});

describe('overdue', () => {
  it('counts from the due date to today, and for what is done from the date of its proof', () => {
    const open = page([]) as unknown as OrderLine;
    expect(sayOverdue(open, ZONE, NOW)).toBe('23 days overdue, was due 31 March.');
    expect(orderContent(open, NOW).overdue).toMatchObject({ days: 23 });
    const moves = [
      [SLOT, '2026-03-02T10:00:00Z'],
      [{ kind: 'start' }, '2026-03-05T08:10:00Z'],
      [FINISH, '2026-03-05T11:00:00Z'],
    ] as const;
    const done = page(moves) as unknown as OrderLine;
    expect(sayOverdue(done, ZONE, NOW)).toBe('Its proof is 14 days overdue.');
    expect(sayOrders('open', [], { open: 1000, overdue: 0 }, true)).toBe('1,000 or more orders are open, none overdue.');
    expect(sayOrders('open', [{ ...open, assetName: 'Recooler 2' }], { open: 1, overdue: 1 }, false)).toBe(
      'One order is open and overdue: Recooler 2, 23 days.',
    );
  });
});

describe('words in a strip', () => {
  const slot = { left: 40, right: 50, top: 0, bottom: 48 };
  const spots = [
    { x: 30, y: 24, anchor: 'start' },
    { x: 60, y: 24, anchor: 'start' },
  ] as const;

  it('stand at the first free spot, and never across a bar or other words', () => {
    const say = sayIn(300, [slot]);
    expect(say(['2 days overdue'], spots)).toMatchObject({ x: 60, text: '2 days overdue' });
    expect(say(['Sat 2 May'], spots)).toBeNull();
    expect(say(['Sat 2 May'], [...spots, { x: 60, y: 42, anchor: 'start' }])).toMatchObject({ y: 42 });
  });

  it('are shortened where the whole of them has no room, and left out where nothing has', () => {
    const say = sayIn(120, [slot]);
    expect(say(['ironer outage, ends 3 days too late', 'too late'], spots)?.text).toBe('too late');
    expect(say(['ends 3 days too late'], spots)).toBeNull();
  });
});

describe('every change', () => {
  const made = (move: string, given: object): string =>
    sayMade({ move, to: 'agreed', given }, (id) => (id === 'mara' ? 'Mara Lindqvist' : null));

  it('says to whom an order was given', () => {
    expect(made('give', { kind: 'give', ownerId: 'mara' })).toBe('Given to Mara Lindqvist');
    expect(made('give', { kind: 'give', ownerId: 'gone' })).toBe('Given to somebody no longer here');
    expect(made('give', { kind: 'give', ownerId: null })).toBe('Given back, nobody has it');
    expect(made('start', { kind: 'start' })).toBe('Started');
  });

  it('is made at once where its move asks for nothing', () => {
    expect((['start', 'free', 'come-back', 'slot', 'stuck', 'give'] as const).map(isAtOnce)).toEqual([
      true,
      true,
      true,
      false,
      false,
      false,
    ]);
  });
});

describe('what is typed into a move', () => {
  const typed: Typed = {
    slot: 'day',
    day: '2026-04-28',
    fromTime: '08:00',
    toTime: '12:00',
    found: '',
    did: '',
    work: 'repaired',
    cause: '',
    whoFrees: '',
    reason: '',
    until: '2026-09-30',
    other: '',
    owner: '',
    latest: '',
    target: '',
  };
  const context = { zone: ZONE, now: NOW, slots: [], others: [] };

  it('is read in the zone of the site', () => {
    expect(slotBody(typed, context)).toEqual({
      kind: 'slot',
      windowId: null,
      from: '2026-04-28T07:00:00.000Z',
      to: '2026-04-28T11:00:00.000Z',
    });
    expect(untilOf(typed, ZONE)).toBe('2026-09-30T22:59:59.999Z');
  });

  it('is refused where words, an end ahead or an order of times is missing', () => {
    expect(Object.keys(checkTyped('turn-down', typed, context))).toEqual(['reason']);
    expect(Object.keys(checkTyped('finish', typed, context))).toEqual(['found', 'did']);
    expect(checkTyped('live-with', { ...typed, reason: 'refit', until: '2027-09-30' }, context).until).toMatch(/twelve months/);
    expect(checkTyped('live-with', { ...typed, reason: 'refit', until: '2026-04-22' }, context).until).toBe('A day ahead.');
    expect(checkTyped('slot', { ...typed, toTime: '07:00' }, context).day).toMatch(/after the beginning/);
    expect(checkTyped('slot', typed, context)).toEqual({});
    expect(checkTyped('target', { ...typed, target: '2,5' }, context)).toEqual({});
    expect(checkTyped('target', { ...typed, target: 'cool' }, context).target).toMatch(/A figure/);
  });
});
