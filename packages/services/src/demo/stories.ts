/** What happened at Tarnwick Vale beyond the ordinary: courses of faults, figures that were read exactly so, work, stops without a reading. */
import type { CouldNotRead, KindOfWork, LimitGrade } from '@heatround/domain';
import type { Weekday } from './calendar.ts';
import type { PersonKey } from './people.ts';

/** Level in a week, at reference load and air, in the unit of the point's limits. Points without a course stay at their usual level. */
export const COURSES: Readonly<Record<string, (week: number) => number>> = {
  // Pump bearing: doubles every nine weeks until it is replaced in week 33.
  'B-FWP-01-b': (week) => (week > 33 ? 1.2 : 1.3 * 2 ** (Math.max(0, week - 18) / 9)),
  // Busbar joint: a loosening bolt, straight up.
  'E-LVP-01-b': (week) => 2 + 0.28 * Math.max(0, week - 20),
  // Gearbox bearing: the rise doubles every 5.2 weeks.
  'B-IRO-01-a': (week) => 58 + 2 * 2 ** ((week - 40) / 5.2),
  // Return of the west wing: slowly cooler until the balancing valve is set in week 54.
  'W-DHW-02-b': (week) => (week > 54 ? 58 : 58 - 0.075 * Math.max(0, week - 12)),
  // Fan bearing: rough within four weeks; what was left after the bearing came from the belt.
  'W-AHU-02-b': (week) => (week > 38 ? 1.1 : 1.3),
  // Way 4 of the main panel: a lug that came loose in winter, tightened in week 56.
  'W-LVP-01-c': (week) => (week < 49 || week > 56 ? 1.3 : 9.6),
  // Fan of the recooler: worse towards the end of its season.
  'E-RCL-02-a': (week) => (week < 27 ? 1.4 : 2.3),
};

/** Figures as they were read: in the unit of the limits, before any correction to another load. */
export const EXACTLY: Readonly<Record<string, Readonly<Record<number, number>>>> = {
  'B-FWP-01-b': { 22: 1.77, 23: 1.91, 27: 2.6, 28: 2.81, 30: 3.28, 33: 4.1, 34: 1.2 },
  'E-LVP-01-b': { 42: 8.2, 58: 12.6 },
  'B-IRO-01-a': { 58: 79.6, 59: 83.2 },
  'W-DHW-02-b': { 12: 58, 24: 57.1, 28: 56.8, 48: 55.3, 52: 55, 55: 58.1 },
  'W-LVP-02-b': { 30: 2.1, 31: 1.1 },
  'W-AHU-02-b': { 29: 2.6, 31: 5.2, 33: 5.6, 35: 4.9, 37: 5, 39: 1.1 },
  'E-RCL-02-a': { 27: 1.7, 29: 2.3, 31: 2.4, 52: 3.2 },
};

/** Load and air of a visit where a figure depends on them. */
export const VISITS: Readonly<Record<string, Readonly<Record<number, { load?: number; airC?: number }>>>> = {
  'B-IRO-01': { 58: { load: 78, airC: 25 }, 59: { load: 78, airC: 25 } },
  'E-LVP-01': { 42: { load: 100 }, 58: { load: 100 } },
  'W-LVP-01': { 50: { load: 62 }, 58: { load: 31 } },
  'W-LVP-02': { 30: { load: 14 }, 31: { load: 62 } },
};

export interface ExtraStop {
  readonly week: number;
  readonly weekday: Weekday;
  readonly time: string;
  readonly by: PersonKey;
  readonly tag: string;
  readonly letters: string;
  /** Day and time of the same week at which Jonas asked for it. */
  readonly asked: readonly [Weekday, string];
  readonly note: string;
}

/** Stops that were asked for outside the routes. */
export const EXTRA_STOPS: readonly ExtraStop[] = [
  {
    ...{ week: 31, weekday: 'wed', time: '11:10', by: 'mara', tag: 'W-LVP-02', letters: 'b' },
    asked: ['tue', '15:10'],
    note: 'Was not judged at 14 % load: read again with both theatres running, at 40 % or more.',
  },
  {
    ...{ week: 52, weekday: 'sun', time: '11:00', by: 'tomasz', tag: 'E-RCL-02', letters: 'a' },
    asked: ['fri', '13:20'],
    note: 'Spring test run on Sunday: how does the fan sound after the winter?',
  },
  {
    ...{ week: 55, weekday: 'fri', time: '10:20', by: 'tomasz', tag: 'W-DHW-02', letters: 'b' },
    asked: ['thu', '15:30'],
    note: 'A week after the valve was set: is the return warm again?',
  },
  {
    ...{ week: 56, weekday: 'thu', time: '09:40', by: 'mara', tag: 'B-IRO-01', letters: 'a' },
    asked: ['wed', '16:05'],
    note: 'Watch since last week: once between the rounds.',
  },
  {
    ...{ week: 58, weekday: 'thu', time: '09:35', by: 'mara', tag: 'B-IRO-01', letters: 'a' },
    asked: ['wed', '15:40'],
    note: 'Close below Plan: once between the rounds.',
  },
];

/** What people wrote beside a reading. */
export const WORDS: Readonly<Record<string, Readonly<Record<number, string>>>> = {
  'B-FWP-01-b': {
    28: 'Rougher than last week at the coupling end, and it sings when the other pump stands.',
    33: 'Last reading before the laundry shutdown. New bearing is on the shelf.',
    34: 'Runs quiet after the new bearing.',
  },
  'E-LVP-01-b': { 42: 'Middle bar, right half of the joint. The other two are even.' },
  'W-LVP-01-c': {
    50: 'L2 of way 4 stands out at once; the cable is cooler than the lug.',
    58: 'Half the wards were at the garden feast, hardly any load.',
  },
  'W-LVP-02-b': {
    30: 'Theatres closed for cleaning, panel nearly idle. L2 a little warmer.',
    31: 'Read again with both theatres running.',
  },
  'B-IRO-01-a': { 59: 'Cap too hot for the hand, no noise. Grease at the seal is dark.' },
  'W-DHW-02-b': { 52: 'Fifty-five on the dot, twice read.', 55: 'Extra stop after the valve was set.' },
  'W-AHU-02-b': {
    31: 'Growls, and the guard shakes. Belt looks sound.',
    35: 'Hardly better than before the bearing.',
    39: 'Smooth since the pulleys are in line.',
  },
  'E-RCL-02-a': { 52: 'Rumbles at every turn; it did not in autumn.' },
};

export interface DemoWork {
  readonly week: number;
  readonly weekday: Weekday;
  readonly time: string;
  readonly by: PersonKey;
  readonly tag: string;
  readonly letter: string;
  readonly work: KindOfWork;
  readonly words: string;
}

/** Work that no finding led to. */
export const WORK: readonly DemoWork[] = [
  {
    week: 12,
    weekday: 'wed',
    time: '06:40',
    by: 'tomasz',
    tag: 'B-IRO-01',
    letter: 'a',
    work: 'regreased',
    words: 'Gearbox oil changed and the output bearing greased, before the shift.',
  },
  {
    week: 30,
    weekday: 'mon',
    time: '13:00',
    by: 'tomasz',
    tag: 'W-DHW-01',
    letter: 'c',
    work: 'cleaned',
    words: 'Plates of the east wing descaled in place, yearly.',
  },
];

export interface DemoReport {
  readonly week: number;
  readonly weekday: Weekday;
  readonly time: string;
  readonly by: PersonKey;
  readonly tag: string;
  readonly letter: string;
  readonly grade: LimitGrade;
  readonly words: string;
}

/** Seen and told in words: the same lug, by two more people. */
export const REPORTS: readonly DemoReport[] = [
  {
    ...{ week: 51, weekday: 'thu', time: '13:25', by: 'dev', tag: 'W-LVP-01', letter: 'c' },
    grade: 'plan',
    words: 'Yearly survey: middle lug of way 4 warmer than its neighbours, insulation still sound.',
  },
  {
    ...{ week: 53, weekday: 'wed', time: '22:40', by: 'tomasz', tag: 'W-LVP-01', letter: 'c' },
    grade: 'watch',
    words: 'Smells faintly of warm plastic near way 4 when the kitchens start.',
  },
];

export interface NoReading {
  readonly answer: CouldNotRead;
  readonly words: string;
}

/** Stops of a machine that could not be read, by tag and week; all its points alike. */
const NOT_READ: Readonly<Record<string, Readonly<Record<number, NoReading>>>> = {
  'B-IRO-01': { 33: { answer: 'not-running', words: 'Laundry shutdown.' } },
  'W-LVP-01': { 54: { answer: 'unsafe', words: 'Painters have the room, ladders before the panel.' } },
  'W-LVP-03': { 38: { answer: 'no-way-in', words: 'Lift inspector has the key of the room.' } },
  'E-LVP-02': { 18: { answer: 'unsafe', words: 'Water on the floor from the roof drain, told the shift.' } },
  'B-LVP-01': { 14: { answer: 'left-out', words: 'Called away to a leak in the laundry.' } },
};

/** The vibration pen was away for repair; there was only one. */
const PEN_AWAY = { from: 15, to: 19 } as const;
/** Test runs of feed pump 2 that did not happen. */
const RUNS_MISSED: readonly number[] = [53, 57];

/** Why a stop of Tarnwick Vale was not read in a week, or null when it was. */
export function whyNotRead(tag: string, quantity: string, week: number): NoReading | null {
  const single = NOT_READ[tag]?.[week];
  if (single) return single;
  if (tag === 'B-FWP-02') {
    if (RUNS_MISSED.includes(week)) return { answer: 'not-running', words: 'Test run did not take place.' };
    if (week % 4 !== 1) return { answer: 'not-running', words: 'On standby; pump 1 carries the load.' };
  }
  if (quantity === 'vibration-velocity' && week >= PEN_AWAY.from && week <= PEN_AWAY.to) {
    return { answer: 'instrument-trouble', words: 'VP-1 is away for repair.' };
  }
  return null;
}
