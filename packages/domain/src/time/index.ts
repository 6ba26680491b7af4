/**
 * Calendar questions and the words for dates, always in a zone that the caller names (IANA, such as Europe/Dublin).
 * Hides Intl.DateTimeFormat and its caches. Always holds: instants are epoch milliseconds, nothing asks for the present time,
 * and a text is never finer than it was asked to be.
 */
export * from './calendar.ts';
export * from './say.ts';
