/** The life of an order as a line of stations: what is reached, what comes next, where it stands still. Pure. */
import type { OrderState } from '@heatround/domain';
import type { Answer } from '../../client/index.ts';
import { clockTime, fullDate, plainDate } from '../../ui/format.ts';
import { ORDER_STATE_WORDS, sayStuck, stopped } from '../../ui/planning/words.ts';

export type OrderPage = Answer<'getOrder'>;
type Move = OrderPage['moves'][number];

/** tick: reached; ring: next; ahead: not yet; plate: proved; empty: closed unproved; bar: turned down, or the end of living with it. */
export type StationMark = 'tick' | 'ring' | 'ahead' | 'plate' | 'empty' | 'bar' | 'back';
export interface Station {
  readonly word: string;
  readonly mark: StationMark;
  /** The line to the next station of this row. */
  readonly line: 'walked' | 'to-walk' | 'gap' | 'none';
  readonly notes: readonly string[];
  /** Column, 0 to 5. */
  readonly column: number;
  /** Where it stands still, under the station it was last at. */
  readonly stuck: string | null;
}

const COLUMN: Readonly<Record<string, number>> = { reported: 0, agreed: 1, slotted: 2, 'under-way': 3, done: 4, proved: 5 };
const ROUTE: readonly (keyof typeof COLUMN & string)[] = ['reported', 'agreed', 'slotted', 'under-way', 'done', 'proved'];
const WORD = (key: string): string => (key === 'reported' ? 'Reported' : ORDER_STATE_WORDS[key as OrderState]);

interface Reached {
  readonly key: string;
  readonly notes: readonly string[];
}

const firstName = (name: string | null | undefined): string => name ?? 'the service';

/** Rows of stations; every proof that failed ends one row and begins the next at Agreed. */
export function stationsOf(page: OrderPage, zone: string, now: number): Station[][] {
  const { order } = page;
  const day = (at: string | number): string => fullDate(at, zone, now);
  const when = (move: Move): string => `${day(move.at)}, ${clockTime(move.at, zone)}`;
  const agreedBy = page.findingMoves.findLast(
    (move) => move.move === 'agree' && Date.parse(move.at) <= Date.parse(page.createdAt) + 60_000,
  );
  const rows: { reached: Reached[]; ends: Station | null }[] = [
    {
      reached: [
        { key: 'reported', notes: [day(page.reportedAt), page.reportedBy] },
        {
          key: 'agreed',
          notes: [agreedBy === undefined ? day(page.createdAt) : `${day(agreedBy.at)}, ${firstName(agreedBy.by?.name)}`],
        },
      ],
      ends: null,
    },
  ];
  for (const move of [...page.moves].sort((a, b) => Date.parse(a.at) - Date.parse(b.at))) {
    const row = rows.at(-1)!;
    const upTo = (key: string): Reached[] => row.reached.filter((one) => COLUMN[one.key]! < COLUMN[key]!);
    if (move.move === 'slot') {
      const given = move.given as { from?: number; to?: number };
      const from = given.from ?? order.slot?.from ?? null;
      row.reached = [
        ...upTo('slotted'),
        { key: 'slotted', notes: [...(from === null ? [] : [`for ${day(from)}`]), firstName(move.by?.name)] },
      ];
    } else if (move.move === 'start')
      row.reached = [...upTo('under-way'), { key: 'under-way', notes: [when(move), firstName(move.by?.name)] }];
    else if (move.move === 'finish')
      row.reached = [...upTo('done'), { key: 'done', notes: [when(move), firstName(move.by?.name)] }];
    else if (move.move === 'back-to-agreed' || (move.move === 'come-back' && move.to === 'agreed')) row.reached = upTo('slotted');
    else if (move.move === 'prove' && move.to === 'proved')
      row.ends = {
        word: 'Proved',
        mark: 'plate',
        line: 'none',
        notes: [when(move), ...(page.after === null ? [] : [page.after.by])],
        column: 5,
        stuck: null,
      };
    else if (move.move === 'prove') {
      row.ends = {
        word: 'Not proved',
        mark: 'back',
        line: 'none',
        notes: [when(move), 'back to Agreed'],
        column: 5,
        stuck: null,
      };
      rows.push({ reached: [{ key: 'agreed', notes: [day(move.at), 'the same number'] }], ends: null });
    }
  }
  return rows.map((row, index) => {
    const isLast = index === rows.length - 1;
    return row.ends === null && isLast ? lastRow(page, row.reached, zone, now) : closedRow(row.reached, row.ends);
  });
}

function closedRow(reached: readonly Reached[], ends: Station | null): Station[] {
  const stations = reached.map((one, index): Station => {
    const isEnd = index === reached.length - 1 && ends === null;
    return {
      word: WORD(one.key),
      mark: 'tick',
      line: isEnd ? 'none' : 'walked',
      notes: one.notes,
      column: COLUMN[one.key]!,
      stuck: null,
    };
  });
  return ends === null ? stations : [...stations, ends];
}

/** The row that is being walked: what is reached, what comes next, and how it ends otherwise. */
function lastRow(page: OrderPage, reached: readonly Reached[], zone: string, now: number): Station[] {
  const { order, state } = page;
  const place = COLUMN[reached.at(-1)!.key]!;
  const tail = (mark: StationMark, word: string, notes: readonly string[], column = place + 1): Station => ({
    word,
    mark,
    line: 'none',
    notes,
    column: Math.min(5, column),
    stuck: null,
  });
  const begun = (line: Station['line'], stuck: string | null = null): Station[] =>
    reached.map((one, index): Station => {
      const isEnd = index === reached.length - 1;
      return {
        word: WORD(one.key),
        mark: 'tick',
        line: isEnd ? line : 'walked',
        notes: one.notes,
        column: COLUMN[one.key]!,
        stuck: isEnd ? stuck : null,
      };
    });
  const ended = page.endedAt === null ? [] : [fullDate(page.endedAt, zone, now)];
  const reason = order.lastMove !== null && 'reason' in order.lastMove ? (order.lastMove.reason ?? null) : null;
  const why = reason === null ? [] : [reason];
  if (state === 'turned-down') return [...begun('walked'), tail('bar', 'Turned down', [...ended, ...why])];
  if (state === 'closed-unproved') return [...begun('walked'), tail('empty', 'Closed unproved', [...ended, ...why], 5)];
  if (state === 'merged') return [...begun('walked'), tail('bar', 'Same as another', ended)];
  if (state === 'proved') return [...begun('walked'), tail('plate', 'Proved', ended, 5)];
  if (state === 'living-with' && order.livingWith !== null) {
    const { since, until, reason: carried } = order.livingWith;
    return [
      ...begun('to-walk'),
      {
        word: 'Living with it',
        mark: 'ahead',
        line: 'to-walk',
        notes: [`since ${plainDate(since, zone, now)}`, carried],
        column: place + 1,
        stuck: null,
      },
      tail('bar', 'Opens again', [fullDate(until, zone, now)], 5),
    ];
  }
  const stuck =
    state === 'stuck' && order.stuck !== null
      ? `Stuck since ${plainDate(order.stuck.since, zone, now)}: ${sayStuck(order.stuck)}`
      : null;
  const ahead = ROUTE.filter((key) => COLUMN[key]! > place).map((key, index): Station => {
    const notes: string[] = [];
    if (key === 'slotted' && index === 0 && page.dueAt !== null) notes.push(`due ${fullDate(page.dueAt, zone, now)}`);
    if (key === 'under-way' && index === 0 && order.slot !== null)
      notes.push(`${fullDate(order.slot.from, zone, now)}, ${clockTime(order.slot.from, zone)}`);
    if (key === 'proved' && page.proofStop !== null)
      notes.push(`${page.proofStop.roundCode ?? 'extra stop'}, by ${plainDate(page.proofStop.latestAt, zone, now)}`);
    else if (key === 'proved' && page.proofDueAt !== null && state === 'done')
      notes.push(`by ${fullDate(page.proofDueAt, zone, now)}`);
    return {
      word: WORD(key),
      mark: index === 0 && stuck === null ? 'ring' : 'ahead',
      line: key === 'proved' ? 'none' : 'to-walk',
      notes,
      column: COLUMN[key]!,
      stuck: null,
    };
  });
  return [...begun(stuck === null ? 'to-walk' : 'gap', stuck), ...ahead];
}

/** The sentence that opens the page of an order. */
export function sayOrder(page: OrderPage, zone: string, now: number): string {
  const { order, state } = page;
  const late =
    page.overdueDays > 0 && page.endedAt === null && state !== 'done'
      ? ` ${page.overdueDays === 1 ? '1 day' : `${page.overdueDays} days`} overdue.`
      : '';
  const reason = order.lastMove !== null && 'reason' in order.lastMove ? (order.lastMove.reason ?? null) : null;
  switch (state) {
    case 'agreed': {
      const last = page.lastWindow.window;
      const slot = last === null ? 'It has no slot yet.' : `${fullDate(last.from, zone, now)} is the last window that fits.`;
      return `${order.failedProofs > 0 ? 'Not proved, so it is agreed again.' : 'Agreed.'} ${slot}${late}`;
    }
    case 'slotted':
      return order.slot === null ? `Slotted.${late}` : `Slotted for ${fullDate(order.slot.from, zone, now)}.${late}`;
    case 'under-way':
      return `The work is under way.${late}`;
    case 'done':
      return page.proofDueAt === null
        ? 'Done. A reading has to prove it.'
        : `Done. A reading has to prove it by ${fullDate(page.proofDueAt, zone, now)}.`;
    case 'stuck':
      return order.stuck === null ? `Stuck.${late}` : `Stuck: ${sayStuck(order.stuck)}${late}`;
    case 'living-with':
      return order.livingWith === null
        ? 'Living with it.'
        : `Living with it until ${fullDate(order.livingWith.until, zone, now)}.`;
    case 'proved':
      return `Proved. ${sayDifference(page)}`.trim();
    case 'closed-unproved':
      return reason === null ? 'Closed unproved.' : `Closed unproved: ${stopped(reason)}`;
    case 'turned-down':
      return reason === null ? 'Turned down.' : `Turned down: ${stopped(reason)}`;
    case 'merged':
      return 'The same as another order, which goes on.';
  }
}

function sayDifference({ before, after, pointName, unit, decimals }: OrderPage): string {
  const was = before?.verdict?.because?.value ?? before?.value ?? null;
  const is = after?.verdict?.because?.value ?? after?.value ?? null;
  if (was === null || is === null) return '';
  const figure = (value: number): string => value.toFixed(decimals).replace('-', '−');
  const asDifference = unit === '°C' ? 'K' : unit;
  const change = Math.abs(was - is);
  const word =
    is < was ? (unit === 'K' || unit === '°C' ? 'cooler' : 'lower') : unit === 'K' || unit === '°C' ? 'warmer' : 'higher';
  const corrected = after?.verdict?.because?.band != null ? ' at full load' : '';
  return `${pointName}: ${figure(change)} ${asDifference} ${word}${corrected} than before.`;
}
