/**
 * When points are to be read: routes, the rounds made ahead from them, extra stops beside them, shutdown windows. Hides recurrence,
 * the making of rounds and how a round is settled.
 * What always holds: a round is made once for each planned time of its route, whoever makes it and how often; what somebody walked,
 * named or called off is never unmade; how a round stands follows from its facts, in whatever order they came.
 */
export { type DueList, listDue } from './due.ts';
export type { ExtraStopLine } from './extra-lines.ts';
export { askForStop, closeStops, type NewStop, type PlacedStop, placeStop } from './extra-stops.ts';
export { closeRoundsJob, findRoundsToClose, findRoutesToPlan, planRoundsJob } from './jobs.ts';
export type { RoundLine } from './lines.ts';
export {
  callOffRound,
  getRound,
  giveRound,
  lookOverRound,
  type RoundPage,
  roundWithin,
  type StopLine,
} from './round.ts';
export {
  changeRoute,
  createRoute,
  endRoutes,
  listRoutes,
  type NewRoute,
  type RouteChange,
  type RouteView,
  touchedRoutes,
} from './routes.ts';
export { type Seen, seenWithin } from './seen.ts';
export { findOtherRounds, settleAfter, settleRounds } from './settle.ts';
export { type MyWalk, myWalk } from './walk.ts';
export {
  changeWindow,
  createWindow,
  listWindows,
  type NewWindow,
  type WindowAhead,
  type WindowChange,
  type WindowView,
  windowsAhead,
} from './windows.ts';
