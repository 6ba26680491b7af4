import type { Grade, Role } from '@heatround/domain';

export const LANGUAGES = ['en', 'de'] as const;
export type Language = (typeof LANGUAGES)[number];

/** Every sentence of a letter, in one language. */
export interface MailWords {
  /** For Intl: days and months. */
  readonly locale: string;
  readonly grades: Readonly<Record<Grade, string>>;
  readonly roles: Readonly<Record<Role, string>>;
  hello(name: string): string;
  dueSubject(things: number, organisation: string): string;
  dueOpening(rounds: number, answers: number, repairs: number): string;
  readonly rounds: string;
  round(name: string, stops: number): string;
  roundWhen(until: string, isLate: boolean): string;
  nobodyHasIt: string;
  readonly stops: string;
  readonly stopKinds: Readonly<Record<'read-again' | 'proof' | 'asked', string>>;
  readonly repairs: string;
  repair(number: number, what: string, grade: string): string;
  repairWhen(due: string | null, overdueDays: number): string;
  readonly answers: string;
  answer(number: number, what: string, grade: string): string;
  answerWhen(until: string | null, isLate: boolean): string;
  readonly decisions: string;
  more(count: number): string;
  readonly look: string;
  dueFoot(organisation: string): string;
  readonly stopThese: string;
  readonly settings: string;
  invitationSubject(organisation: string): string;
  invitationOpening(by: string, organisation: string, roles: string): string;
  invitationUntil(date: string): string;
  readonly takeItUp: string;
  readonly invitationFoot: string;
  readonly renewalSubject: string;
  readonly renewalOpening: string;
  readonly renewIt: string;
  readonly renewalFoot: string;
}

const count = (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`;
const listed = (parts: readonly string[], and: string): string =>
  parts.length < 2 ? parts.join('') : `${parts.slice(0, -1).join(', ')} ${and} ${parts.at(-1)}`;
const some = (...parts: readonly [n: number, words: string][]): string[] => parts.flatMap(([n, words]) => (n > 0 ? [words] : []));

export const WORDS: Readonly<Record<Language, MailWords>> = {
  en: {
    locale: 'en-GB',
    grades: { fine: 'Fine', watch: 'Watch', plan: 'Plan', soon: 'Soon', now: 'Now' },
    roles: {
      technician: 'technician',
      trainee: 'trainee',
      contractor: 'contractor',
      planner: 'planner',
      manager: 'manager',
      administrator: 'administrator',
      'guest-reader': 'guest reader',
      'service-key': 'service key',
    },
    hello: (name) => `Good morning ${name},`,
    dueSubject: (things, organisation) => `${count(things, 'thing', 'things')} due for you at ${organisation}`,
    dueOpening: (rounds, answers, repairs) =>
      `You have ${listed(
        some(
          [rounds, count(rounds, 'round or stop to walk', 'rounds and stops to walk')],
          [answers, count(answers, 'finding to answer', 'findings to answer')],
          [repairs, count(repairs, 'repair', 'repairs')],
        ),
        'and',
      )}.`,
    rounds: 'To walk',
    round: (name, stops) => `${name}, ${count(stops, 'stop', 'stops')}`,
    roundWhen: (until, isLate) => (isLate ? `was due until ${until}` : `until ${until}`),
    nobodyHasIt: 'nobody has it yet',
    stops: 'To read once more',
    stopKinds: { 'read-again': 'read again', proof: 'prove the repair', asked: 'asked for' },
    repairs: 'Your repairs',
    repair: (number, what, grade) => `Order ${number}: ${what}, ${grade}`,
    repairWhen: (due, overdueDays) =>
      due === null ? 'no date' : overdueDays > 0 ? `overdue by ${count(overdueDays, 'day', 'days')}` : `due ${due}`,
    answers: 'Answers you owe',
    answer: (number, what, grade) => `Finding ${number}: ${what}, ${grade}`,
    answerWhen: (until, isLate) => (until === null ? 'no date' : isLate ? `was due ${until}` : `by ${until}`),
    decisions: 'Your decision is asked for',
    more: (n) => `and ${n} more`,
    look: 'Open Heatround',
    dueFoot: (organisation) => `You get this once a day because you belong to ${organisation}.`,
    stopThese: 'Stop these letters',
    settings: 'Change hour and language',
    invitationSubject: (organisation) => `${organisation} invites you to Heatround`,
    invitationOpening: (by, organisation, roles) => `${by} invites you to ${organisation} as ${roles}.`,
    invitationUntil: (date) => `The link is good until ${date} and for you alone.`,
    takeItUp: 'Take up the invitation',
    invitationFoot: 'If you know nothing of this, do nothing: without the link nobody joins in your name.',
    renewalSubject: 'A new password for Heatround',
    renewalOpening: 'Somebody, probably you, asked for a new password for this address.',
    renewIt: 'Set a new password',
    renewalFoot: 'The link is good for an hour and works once. If it was not you, do nothing: your password stays as it is.',
  },
  de: {
    locale: 'de-DE',
    grades: { fine: 'In Ordnung', watch: 'Beobachten', plan: 'Einplanen', soon: 'Bald', now: 'Jetzt' },
    roles: {
      technician: 'Technikerin oder Techniker',
      trainee: 'in Ausbildung',
      contractor: 'Fremdfirma',
      planner: 'Planung',
      manager: 'Leitung',
      administrator: 'Verwaltung',
      'guest-reader': 'Gast mit Leserecht',
      'service-key': 'Dienstschlüssel',
    },
    hello: (name) => `Guten Morgen ${name},`,
    dueSubject: (things, organisation) =>
      `${things === 1 ? 'Eine Sache ist' : `${things} Sachen sind`} bei ${organisation} für Sie fällig`,
    dueOpening: (rounds, answers, repairs) =>
      `Für Sie ${rounds + answers + repairs === 1 ? 'ist' : 'sind'} fällig: ${listed(
        some(
          [rounds, count(rounds, 'Rundgang oder Messstelle', 'Rundgänge und Messstellen')],
          [answers, count(answers, 'Befund zu beantworten', 'Befunde zu beantworten')],
          [repairs, count(repairs, 'Reparatur', 'Reparaturen')],
        ),
        'und',
      )}.`,
    rounds: 'Zu gehen',
    round: (name, stops) => `${name}, ${count(stops, 'Stelle', 'Stellen')}`,
    roundWhen: (until, isLate) => (isLate ? `war fällig bis ${until}` : `bis ${until}`),
    nobodyHasIt: 'noch hat ihn niemand',
    stops: 'Noch einmal zu messen',
    stopKinds: { 'read-again': 'noch einmal messen', proof: 'Reparatur nachweisen', asked: 'erbeten' },
    repairs: 'Ihre Reparaturen',
    repair: (number, what, grade) => `Auftrag ${number}: ${what}, ${grade}`,
    repairWhen: (due, overdueDays) =>
      due === null ? 'ohne Termin' : overdueDays > 0 ? `seit ${count(overdueDays, 'Tag', 'Tagen')} überfällig` : `fällig ${due}`,
    answers: 'Antworten, auf die man wartet',
    answer: (number, what, grade) => `Befund ${number}: ${what}, ${grade}`,
    answerWhen: (until, isLate) => (until === null ? 'ohne Termin' : isLate ? `war fällig ${until}` : `bis ${until}`),
    decisions: 'Ihre Entscheidung ist gefragt',
    more: (n) => `und ${n} weitere`,
    look: 'Heatround öffnen',
    dueFoot: (organisation) => `Sie bekommen diesen Brief einmal am Tag, weil Sie zu ${organisation} gehören.`,
    stopThese: 'Diese Briefe abbestellen',
    settings: 'Uhrzeit und Sprache ändern',
    invitationSubject: (organisation) => `${organisation} lädt Sie zu Heatround ein`,
    invitationOpening: (by, organisation, roles) => `${by} lädt Sie zu ${organisation} ein (${roles}).`,
    invitationUntil: (date) => `Der Link gilt bis ${date} und nur für Sie.`,
    takeItUp: 'Einladung annehmen',
    invitationFoot: 'Wenn Sie davon nichts wissen, tun Sie nichts: ohne den Link tritt niemand in Ihrem Namen bei.',
    renewalSubject: 'Ein neues Passwort für Heatround',
    renewalOpening: 'Jemand, vermutlich Sie, hat für diese Adresse ein neues Passwort verlangt.',
    renewIt: 'Neues Passwort setzen',
    renewalFoot: 'Der Link gilt eine Stunde und nur einmal. Waren Sie es nicht, tun Sie nichts: Ihr Passwort bleibt, wie es ist.',
  },
};

/** A day as it is spoken in a language. @example sayDayIn('de', at, 'Europe/Berlin') // 'Donnerstag, 23. April' */
export const sayDayIn = (language: Language, at: number, zone: string): string =>
  new Intl.DateTimeFormat(WORDS[language].locale, { weekday: 'long', day: 'numeric', month: 'long', timeZone: zone }).format(at);

/** A day with its time. */
export const sayMomentIn = (language: Language, at: number, zone: string): string =>
  new Intl.DateTimeFormat(WORDS[language].locale, {
    weekday: 'short',
    day: 'numeric',
    month: 'long',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
    timeZone: zone,
  }).format(at);
