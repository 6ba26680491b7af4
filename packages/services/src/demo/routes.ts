/** Which points are read together, when, and who walks: the routes of both houses, and the shutdown windows of the campus. */
import type { RoundWindow, Season } from '@heatround/domain';
import { siteDay, siteInstant, type Weekday } from './calendar.ts';
import type { PersonKey } from './people.ts';
import { BRACKWATER, type DemoHouse } from './plant.ts';
import { stableId } from './stable.ts';

export interface DemoRoute {
  readonly code: string;
  readonly name: string;
  readonly rule: string;
  /** Week of the first round. */
  readonly firstWeek: number;
  readonly weekday: Weekday;
  /** Planned time of day at the site. */
  readonly time: string;
  readonly window: RoundWindow;
  readonly season: Season | null;
  readonly usual: PersonKey;
  readonly aboutMinutes: number;
  /** From one machine to the next. */
  readonly minutesApart: number;
  readonly beforeYouLeave: string;
  /** In walking order. */
  readonly tags: readonly string[];
  /** Was the round of this week walked? */
  isWalked(week: number): boolean;
  walker(week: number): { by: PersonKey; time: string };
}

export const routeId = (house: DemoHouse, code: string): string => stableId(`${house.key} route ${code}`);
export const startOf = ({ firstWeek, weekday, time }: DemoRoute): string => `${siteDay(firstWeek, weekday)}T${time}`;

export const LAST_WEEK = 60;
/** The week between the years: two rounds of it were treated otherwise. */
export const WEEK_BETWEEN_THE_YEARS = 43;
const late = { by: 'tomasz', time: '14:40' } as const;

export const TARNWICK_ROUTES: readonly DemoRoute[] = [
  {
    code: 'RT1',
    name: 'Boiler house and laundry',
    rule: 'FREQ=WEEKLY;BYDAY=TU',
    firstWeek: 1,
    weekday: 'tue',
    time: '08:30',
    window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
    season: null,
    usual: 'mara',
    aboutMinutes: 20,
    minutesApart: 4,
    beforeYouLeave: 'VP-1 and an imager. Feed pump 2 runs in its test week only, and pump 1 is read before the change-over.',
    tags: ['B-FWP-01', 'B-FWP-02'],
    isWalked: () => true,
    walker: (week) =>
      week === WEEK_BETWEEN_THE_YEARS ? { by: 'priya', time: '09:20' } : week % 5 === 0 ? late : { by: 'mara', time: '08:50' },
  },
  {
    code: 'RT3',
    name: 'Rotating machines',
    rule: 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH',
    firstWeek: 1,
    weekday: 'thu',
    time: '09:30',
    window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
    season: null,
    usual: 'mara',
    aboutMinutes: 35,
    minutesApart: 8,
    beforeYouLeave: 'VP-1 and an imager. The ironer has to run with linen for half an hour before it is read.',
    tags: ['B-IRO-01', 'W-AHU-02'],
    isWalked: (week) => week % 2 === 1 && week !== WEEK_BETWEEN_THE_YEARS,
    walker: (week) => (week % 6 === 1 ? late : { by: 'mara', time: '09:30' }),
  },
  {
    code: 'RT4',
    name: 'Switch rooms',
    rule: 'FREQ=WEEKLY;INTERVAL=4;BYDAY=WE',
    firstWeek: 2,
    weekday: 'wed',
    time: '10:00',
    window: { kind: 'week' },
    season: null,
    usual: 'mara',
    aboutMinutes: 60,
    minutesApart: 4,
    beforeYouLeave:
      'Imager and clamp. Between 10:00 and 14:00, when there is load. Keys of the switch rooms from the shift desk.',
    tags: ['W-LVP-01', 'W-LVP-02', 'W-LVP-03', 'B-LVP-01', 'E-LVP-01', 'E-LVP-02'],
    isWalked: (week) => week % 4 === 2,
    walker: (week) => ({ by: week === 26 ? 'priya' : week % 12 === 10 ? 'dev' : 'mara', time: '10:15' }),
  },
  {
    code: 'RT5',
    name: 'Water and heat',
    rule: 'FREQ=WEEKLY;INTERVAL=4;BYDAY=FR',
    firstWeek: 4,
    weekday: 'fri',
    time: '10:00',
    // From Monday to the end of Friday.
    window: { kind: 'days', daysBefore: 4, daysAfter: 0 },
    season: null,
    usual: 'mara',
    aboutMinutes: 25,
    minutesApart: 4,
    beforeYouLeave: 'Torch and gloves; the thermometers are fixed. Read the plates while hot water is drawn.',
    tags: ['W-DHW-01', 'W-DHW-02'],
    // The one of week 60 is still to be walked.
    isWalked: (week) => week % 4 === 0 && week < LAST_WEEK,
    walker: (week) => (week % 8 === 0 ? { by: 'tomasz', time: '15:05' } : { by: 'mara', time: '10:00' }),
  },
  {
    code: 'RT6',
    name: 'Cooling, in its season',
    rule: 'FREQ=WEEKLY;INTERVAL=2;BYDAY=MO',
    firstWeek: 11,
    weekday: 'mon',
    time: '13:30',
    window: { kind: 'week' },
    season: { fromMonth: 5, toMonth: 9 },
    usual: 'tomasz',
    aboutMinutes: 20,
    minutesApart: 4,
    beforeYouLeave: 'VP-1, an imager and the harness for the deck. Not in wind or thunder.',
    tags: ['E-RCL-02'],
    // The August holiday: nobody covered.
    isWalked: (week) => week % 2 === 1 && week >= 11 && week <= 31 && week !== 23,
    walker: () => ({ by: 'tomasz', time: '13:45' }),
  },
];

export const BRACKWATER_ROUTES: readonly DemoRoute[] = [
  {
    code: 'BR1',
    name: 'Baths before opening',
    rule: 'FREQ=WEEKLY;INTERVAL=4;BYDAY=WE',
    firstWeek: 32,
    weekday: 'wed',
    time: '08:30',
    window: { kind: 'week' },
    season: null,
    usual: 'dev',
    aboutMinutes: 30,
    minutesApart: 4,
    beforeYouLeave: 'Imager and pen. The cellar key hangs at the till.',
    tags: BRACKWATER.assets.map((asset) => asset.tag),
    isWalked: (week) => week % 4 === 0 && week >= 32,
    walker: () => ({ by: 'dev', time: '08:30' }),
  },
];

export interface DemoWindow {
  readonly key: string;
  readonly name: string;
  readonly building?: string;
  readonly tag?: string;
  readonly fromAt: number;
  readonly toAt: number;
}

const window = (
  key: string,
  name: string,
  where: Pick<DemoWindow, 'building' | 'tag'>,
  week: number,
  from: readonly [Weekday, string],
  to: readonly [Weekday, string],
): DemoWindow => ({ key, name, ...where, fromAt: siteInstant(week, ...from), toAt: siteInstant(week, ...to) });

const laundry = { building: 'Boiler House & Laundry (B)' };
const energy = { building: 'Energy Centre (E)' };

export const WINDOWS: readonly DemoWindow[] = [
  window('laundry 2025', 'laundry shutdown', laundry, 33, ['thu', '06:00'], ['sat', '18:00']),
  window('extract fan', 'extract fan stop', { tag: 'W-AHU-02' }, 34, ['sat', '06:00'], ['sat', '13:00']),
  window('switchboards autumn', 'switchboards', energy, 36, ['sat', '07:00'], ['sat', '15:00']),
  window('recooler', 'before the cooling season', { tag: 'E-RCL-02' }, 61, ['wed', '08:00'], ['wed', '16:00']),
  window('laundry half day', 'half day', laundry, 61, ['sat', '06:00'], ['sat', '13:00']),
  window('switchboards May', 'switchboards', energy, 62, ['sat', '07:00'], ['sat', '15:00']),
  window('ironer', 'ironer outage', { tag: 'B-IRO-01' }, 63, ['mon', '06:00'], ['wed', '18:00']),
  window('theatres', 'theatre cleaning', { tag: 'W-LVP-02' }, 65, ['sun', '06:00'], ['sun', '12:00']),
  window('switchboards July', 'switchboards', energy, 70, ['sat', '07:00'], ['sat', '15:00']),
  window('laundry 2026', 'laundry shutdown', laundry, 85, ['thu', '06:00'], ['sat', '18:00']),
];

export const windowId = (key: string): string => stableId(`tarnwick window ${key}`);
