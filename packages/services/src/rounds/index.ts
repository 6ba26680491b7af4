/**
 * When points are to be read: routes, the rounds made ahead from them, extra stops beside them, shutdown windows. Hides recurrence,
 * the making of rounds and how a round is settled.
 * What always holds: a round is made once for each planned time of its route, whoever makes it and how often; what somebody walked,
 * named or called off is never unmade; how a round stands follows from its facts, in whatever order they came.
 */
export { closeStops, type NewStop, type PlacedStop, placeStop } from './extra-stops.ts';
export { type WindowAhead, windowsAhead } from './windows.ts';
