/** What people at Tarnwick Vale decided and did about their findings, each at its moment; nothing here is a conclusion. */
import type { KindOfWork, Role } from '@heatround/domain';
import type { Answer, AskedMove } from '../repairs/index.ts';
import { siteInstant, type Weekday } from './calendar.ts';
import { PEOPLE, type PersonKey } from './people.ts';
import { windowId } from './routes.ts';

type PersonIds = Readonly<Record<PersonKey, string>>;

/** An answer to the newest finding of a point, or a move of its order. */
export interface Said {
  readonly at: number;
  readonly by: PersonKey;
  readonly roles: readonly Role[];
  readonly place: string;
  /** When it counts as done, where that was earlier than it was said. */
  readonly doneAt: number;
  readonly answer?: (ids: PersonIds) => Answer;
  readonly move?: (ids: PersonIds) => AskedMove;
}

type When = readonly [week: number, weekday: Weekday, time: string];

const said = (when: When, by: PersonKey, place: string) => {
  const at = siteInstant(...when);
  return { at, by, roles: PEOPLE[by].roles, place, doneAt: at };
};
const answers = (when: When, by: PersonKey, place: string, answer: Said['answer'] & {}): Said => ({
  ...said(when, by, place),
  answer,
});
const moves = (when: When, by: PersonKey, place: string, move: AskedMove | (Said['move'] & {})): Said => ({
  ...said(when, by, place),
  move: typeof move === 'function' ? move : () => move,
});
const agrees = (when: When, place: string, owner: PersonKey): Said =>
  answers(when, 'jonas', place, (ids) => ({ kind: 'agree', ownerId: ids[owner] }));
const slots = (when: When, place: string, key: string): Said =>
  moves(when, 'jonas', place, { kind: 'slot', windowId: windowId(key) });
const slotsDay = (when: When, place: string, week: number, weekday: Weekday, from: string, to: string): Said => {
  const day = { from: siteInstant(week, weekday, from), to: siteInstant(week, weekday, to) };
  return moves(when, 'jonas', place, { kind: 'slot', windowId: null, ...day });
};
/** Finished a little before it was told. */
const finishes = (
  when: When,
  by: PersonKey,
  place: string,
  done: { readonly time: string; readonly work: KindOfWork; readonly found: string; readonly did: string },
): Said => {
  const { time, ...words } = done;
  const at = siteInstant(when[0], when[1], time);
  return { ...moves(when, by, place, { kind: 'finish', at, ...words }), doneAt: at };
};

/** End of Friday 17 April 2026: until then the busbar joint was lived with. */
export const LIVED_WITH_UNTIL = siteInstant(59, 'sat', '00:00') - 1;
const UNTIL_THE_SHUTDOWN = {
  until: LIVED_WITH_UNTIL,
  reason:
    'To tighten it the board has to be dead, and no switchboard day comes before spring. Straight and slow; read every four weeks.',
} as const;

export const SAID: readonly Said[] = [
  // Pump bearing: agreed, changed in the laundry shutdown, proved by the next round.
  agrees([28, 'wed', '09:05'], 'B-FWP-01-b', 'mara'),
  slots([28, 'wed', '09:10'], 'B-FWP-01-b', 'laundry 2025'),
  moves([33, 'sat', '07:30'], 'mara', 'B-FWP-01-b', { kind: 'start' }),
  finishes([33, 'sat', '11:45'], 'mara', 'B-FWP-01-b', {
    time: '11:30',
    work: 'replaced',
    found: 'Outer ring of the coupling-end bearing pitted over a third, cage loose.',
    did: 'Pump bearing replaced in the laundry shutdown; the old outer ring was pitted. Shaft aligned.',
  }),

  // Extract fan: the new bearing alone did not do it.
  agrees([31, 'thu', '16:10'], 'W-AHU-02-b', 'tomasz'),
  moves([31, 'fri', '15:00'], 'tomasz', 'W-AHU-02-b', {
    kind: 'stuck',
    cause: 'This bearing is not in store; ordered, to come on 20 October.',
    whoFrees: 'Jonas, when it has come',
  }),
  moves([34, 'mon', '09:15'], 'jonas', 'W-AHU-02-b', { kind: 'free' }),
  slots([34, 'mon', '09:20'], 'W-AHU-02-b', 'extract fan'),
  moves([34, 'sat', '06:20'], 'tomasz', 'W-AHU-02-b', { kind: 'start' }),
  finishes([34, 'sat', '11:40'], 'tomasz', 'W-AHU-02-b', {
    time: '11:20',
    work: 'replaced',
    found: 'Belt-side bearing dry and rough, inner ring blue.',
    did: 'Belt-side bearing and its seal replaced, greased, run in for an hour.',
  }),
  slotsDay([35, 'fri', '09:40'], 'W-AHU-02-b', 38, 'sat', '07:00', '10:00'),
  moves([38, 'sat', '07:05'], 'tomasz', 'W-AHU-02-b', { kind: 'start' }),
  finishes([38, 'sat', '09:30'], 'tomasz', 'W-AHU-02-b', {
    time: '09:10',
    work: 'adjusted',
    found: 'Pulleys 4 mm out of line; the belt rode on one flank and pulled at the shaft.',
    did: 'Pulleys aligned with a straight edge, belt tension set and marked.',
  }),

  // Busbar joint: lived with until the end date brought it back. Jonas had asked, so somebody else had to decide, and on that day
  // Ruth sat at the planner's desk.
  answers([42, 'thu', '11:20'], 'jonas', 'E-LVP-01-b', () => ({ kind: 'ask-to-live-with', ...UNTIL_THE_SHUTDOWN })),
  {
    ...answers([42, 'fri', '09:30'], 'ruth', 'E-LVP-01-b', () => ({ kind: 'live-with', ...UNTIL_THE_SHUTDOWN })),
    roles: ['manager', 'planner'],
  },

  // Return of the west wing: a valve.
  agrees([53, 'mon', '09:30'], 'W-DHW-02-b', 'tomasz'),
  slotsDay([53, 'mon', '09:35'], 'W-DHW-02-b', 54, 'thu', '14:00', '16:00'),
  moves([54, 'thu', '14:00'], 'tomasz', 'W-DHW-02-b', { kind: 'start' }),
  finishes([54, 'thu', '14:30'], 'tomasz', 'W-DHW-02-b', {
    time: '14:15',
    work: 'adjusted',
    found: 'West riser starved: balancing valve at 2.5 turns, the sheet says 4.',
    did: 'Balancing valve of the west riser opened from 2.5 to 4 turns, sealed and labelled.',
  }),

  // Way 4 of the main panel: seen by three people, one order; the first reading after the work came at too little load.
  agrees([50, 'fri', '09:15'], 'W-LVP-01-c', 'tomasz'),
  slotsDay([53, 'thu', '10:05'], 'W-LVP-01-c', 56, 'fri', '05:30', '09:00'),
  moves([56, 'fri', '05:40'], 'tomasz', 'W-LVP-01-c', { kind: 'start' }),
  finishes([56, 'fri', '08:20'], 'tomasz', 'W-LVP-01-c', {
    time: '08:00',
    work: 'tightened',
    found: 'Way isolated and proved dead. Middle lug a quarter turn loose, its insulation browned at the edge.',
    did: 'Lug cleaned, tightened to the torque of the sheet and marked; insulation renewed.',
  }),

  // Recooler: found at the spring test run, due by the end of March, and its part has not come.
  agrees([53, 'mon', '10:10'], 'E-RCL-02-a', 'jonas'),
  moves([54, 'thu', '11:00'], 'jonas', 'E-RCL-02-a', {
    kind: 'stuck',
    cause: 'The bearing set of the fan is on back order; the supplier has put it off twice and names no day.',
    whoFrees: 'Ruth, by paying for the set of another maker',
  }),
];
