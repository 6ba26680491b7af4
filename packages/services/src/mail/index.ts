/**
 * What is written to people: once a day what is due for them, and invitations. Hides hours and zones, languages, the making of letters
 * and the states of a letter on its way.
 *
 * What always holds: at most one daily letter per person and day, whatever crashes when; a letter goes out only after its state says that
 * it is about to, so that it is either sent once or known to be unsure; what a server refused stays to be seen; a letter that would
 * hold a link to act with is made when it goes out and kept without it.
 */

export { noteBounce } from './bounce.ts';
export { composeDailyJob, findDailyDue } from './compose.job.ts';
export type { MailContext } from './context.ts';
export { nextMailAt } from './hours.ts';
export { renewalLetter } from './letters.ts';
export { findMailToSend, sendMailJob } from './send.job.ts';
export { changeMailSettings, type MailSettings, mailSettings, unsubscribe } from './settings.ts';
export { getMail, listMail, type MailLine } from './views.ts';
export { LANGUAGES, type Language } from './words.ts';
