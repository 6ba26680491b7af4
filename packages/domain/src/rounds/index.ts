/**
 * Rounds: when a route is to be walked, in which state a round is, and which fact answers which stop.
 * Hides recurrence rules and their library, clock changes, windows and grace, seasons, and edits of a route that is being walked.
 * Always holds: nothing depends on the time zone of the process; a planned time that a clock change swallows is moved, never
 * lost, and says so; the state of a round follows from its records and the moment of asking, so a late hand-in can restore it;
 * the same answers in any order give the same stop. Rules are checked and said without the library, which only planning needs.
 */

export * from './awake-time.ts';
export * from './local-time.ts';
export * from './recurrence.ts';
export * from './round.ts';
export * from './rule.ts';
export * from './say-rule.ts';
export {
  awakeOccurrences,
  checkSeason,
  isAwake,
  isAwakeInRound,
  type Season,
  type SeasonTurns,
  seasonTurns,
  WAKE_UP_DAYS,
  wakesAfter,
} from './season.ts';
export * from './stops.ts';
