import type { ExtraStopLine, RoundLine } from '@heatround/contract';
import { daysBetween, type RoundState, sayDate, sayTime } from '@heatround/domain';
import type { Answer } from '../../client/index.ts';
import { sayCount, sayCounted } from '../../ui/format.ts';
import { stopped } from '../../ui/planning/words.ts';

export const ROUND_WORDS: Readonly<Record<RoundState, string>> = {
  coming: 'Coming',
  'ready-to-walk': 'Ready to walk',
  'being-walked': 'Being walked',
  'handed-in': 'Handed in',
  'looked-over': 'Looked over',
  missed: 'Missed',
  'called-off': 'Called off',
};

export type Standing = 'overdue' | 'due' | 'coming';
export function standingOf(round: Pick<RoundLine, 'earliestAt' | 'latestAt'>, now: number): Standing {
  if (Date.parse(round.latestAt) < now) return 'overdue';
  return Date.parse(round.earliestAt) <= now ? 'due' : 'coming';
}

/** "Mon 20 to Fri 24 April", "Thu 23 April, 10:00 to 14:00", "Thu 23 April". */
export function sayWindow(earliestAt: string, latestAt: string, zone: string, now: number): string {
  const [from, to] = [Date.parse(earliestAt), Date.parse(latestAt)];
  if (daysBetween(from, to, zone) === 0) {
    const isWholeDay = to - from > 23 * 3_600_000;
    return isWholeDay ? sayDate(from, zone, now) : `${sayDate(from, zone, now)}, ${sayTime(from, zone)} to ${sayTime(to, zone)}`;
  }
  const first = sayDate(from, zone, now).split(' ');
  const last = sayDate(to, zone, now).split(' ');
  const short = first[2] === last[2] && first[3] === last[3] ? first.slice(0, 2) : first;
  return `${short.join(' ')} to ${last.join(' ')}`;
}
export const overdueDays = (latestAt: string, now: number, zone: string): number =>
  Math.max(0, daysBetween(Date.parse(latestAt), now, zone));

/** The sentence that opens the page of a round: who called it off and why, or how far it was walked. */
export const sayRound = ({
  code,
  name,
  calledOff,
  progressInWords,
}: Pick<Answer<'getRound'>, 'code' | 'name' | 'calledOff' | 'progressInWords'>): string =>
  calledOff === null
    ? `${code} ${name}: ${progressInWords}`
    : `${code} ${name}. Called off by ${calledOff.by}: ${stopped(calledOff.reason)}`;

/** "moved from 02:30: the clocks went forward" */
export const sayMoved = (movedFrom: string): string => `moved from ${movedFrom.slice(11, 16)}, which the clocks skip that night`;

/** Whose rounds at which site: a person's id, or "all"; a site's id, or "" for every site. */
export interface Filter {
  readonly person: string;
  readonly site: string;
}
export const queryOf = ({ person, site }: Filter): { walkerId?: string; siteId?: string } => ({
  ...(person === 'all' ? {} : { walkerId: person }),
  ...(site === '' ? {} : { siteId: site }),
});
/** The address that keeps a choice; what is usual for whoever looks is left out of it. */
export function dueHref({ person, site }: Filter, usual: string): string {
  const kept = new URLSearchParams({ ...(site === '' ? {} : { site }), ...(person === usual ? {} : { person }) }).toString();
  return kept === '' ? '/due' : `/due?${kept}`;
}

/** Who and where, as the opening sentence names them; null: everybody, every site. */
export interface Named {
  readonly who: 'me' | string | null;
  readonly where: string | null;
}
type Due = Pick<Answer<'listDue'>, 'counts' | 'rounds' | 'extraStops'>;
export const isNothingDue = ({ counts, rounds, extraStops }: Due): boolean =>
  counts.overdue + counts.due + counts.coming + rounds.length + extraStops.length === 0;

/** The opening sentence: how much is overdue, due and coming, for whom. */
export function sayDue(due: Due, now: number, { who, where }: Named): string {
  const place = where === null ? '' : ` at ${where}`;
  if (isNothingDue(due)) {
    const whose = who === null ? '' : who === 'me' ? ' in your name' : ` in the name of ${who}`;
    return `Nothing is due${whose}${place} within 14 days.`;
  }
  const { counts, extraStops } = due;
  const say = (standing: Standing, words: string): string => {
    const rounds = `${sayCounted(counts[standing])} ${counts[standing] === 1 ? 'round' : 'rounds'}`;
    const stops = sayStops(extraStops.filter((extra) => standingOf(extra, now) === standing));
    const pieces = [...(counts[standing] > 0 ? [rounds] : []), ...stops];
    const all = pieces.length < 2 ? pieces.join('') : `${pieces.slice(0, -1).join(', ')} and ${pieces.at(-1)}`;
    return all === '' ? '' : `${all} ${words}`;
  };
  const parts = [say('overdue', 'overdue'), say('due', 'due now'), say('coming', 'coming within 14 days')].filter(Boolean);
  const whose = who === null || who === 'me' ? place.trim() : `${who}${place}`;
  const said = `${parts.join(', ')}.`;
  // A list that was kept may hold what is not counted any more.
  if (parts.length === 0) return 'What is to be read';
  return whose === '' ? said : `${whose.charAt(0).toUpperCase()}${whose.slice(1)}: ${said}`;
}

/** The first page brings every extra stop up to some number above this; beyond it only this much is sure. */
const EXTRAS_SURE = 100;
function sayStops(stops: readonly Pick<ExtraStopLine, 'kind'>[]): string[] {
  if (stops.length >= EXTRAS_SURE) return [`${EXTRAS_SURE} or more extra and proof stops`];
  const proofs = stops.filter(({ kind }) => kind === 'proof').length;
  const extras = stops.length - proofs;
  return [...(proofs > 0 ? [sayCount(proofs, 'proof stop')] : []), ...(extras > 0 ? [sayCount(extras, 'extra stop')] : [])];
}
