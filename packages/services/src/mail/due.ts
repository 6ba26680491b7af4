import { may } from '@heatround/domain';
import type { Deps, Scope } from '../deps/index.ts';
import { now } from '../deps/index.ts';
import { listFindings, listOrders } from '../repairs/index.ts';
import { myWalk } from '../rounds/index.ts';
import type { Letter } from './letters.ts';
import { type Language, sayDayIn, sayMomentIn, WORDS } from './words.ts';

/** Most lines of a section; the rest is counted. */
const MOST_LINES = 8;

export interface Reader {
  readonly organisation: string;
  readonly language: Language;
  readonly zone: string;
  readonly publicUrl: string;
  /** Where the letters are stopped. */
  readonly unsubscribeUrl: string;
}

/**
 * What is due for a person today, as a letter: rounds to walk, stops to read, own repairs, answers and decisions owed.
 * @returns null when nothing is: nobody is written to for that.
 */
export async function dueLetter(deps: Deps, scope: Scope, reader: Reader): Promise<Letter | null> {
  const words = WORDS[reader.language];
  const at = now(deps, scope);
  const link = (path: string): string => `${reader.publicUrl}${path}`;
  const moment = (instant: Date): string => sayMomentIn(reader.language, instant.getTime(), reader.zone);
  const day = (instant: Date): string => sayDayIn(reader.language, instant.getTime(), reader.zone);
  const walks = may(scope.roles, 'submit-facts');
  const answers = may(scope.roles, 'answer-findings');
  const walk = walks ? await myWalk(deps, scope) : null;
  const orders = may(scope.roles, 'move-own-order')
    ? (await listOrders(deps, scope, { order: 'overdue', which: 'mine', pageSize: MOST_LINES + 1 })).orders
    : [];
  const findings = answers ? (await listFindings(deps, scope, { which: 'to-answer', pageSize: 100 })).findings : [];
  // A manager is written to about what waits for the manager, a planner about the rest.
  const mine = findings.filter(({ allowed }) => allowed.length > 0);
  const section = <T>(title: string, all: readonly T[], line: (one: T) => Letter['sections'][number]['lines'][number]) =>
    all.length === 0
      ? []
      : [
          {
            title,
            lines: all.slice(0, MOST_LINES).map(line),
            more: all.length > MOST_LINES ? words.more(all.length - MOST_LINES) : '',
          },
        ];
  const rounds = walk?.rounds ?? [];
  const stops = walk?.extraStops ?? [];
  const what = ({ tag, letter, assetName }: { tag: string; letter: string; assetName: string }): string =>
    `${assetName} (${tag} ${letter})`;
  const sections = [
    ...section(words.rounds, rounds, (round) => ({
      text: words.round(round.name, round.stops),
      note: `${words.roundWhen(moment(round.latestAt), round.latestAt.getTime() < at)}${round.walker === null ? `, ${words.nobodyHasIt}` : ''}`,
      href: link(`/round/${round.id}`),
    })),
    ...section(words.stops, stops, (stop) => ({
      text: `${what(stop)}: ${words.stopKinds[stop.kind]}`,
      note: words.roundWhen(day(stop.latestAt), stop.latestAt.getTime() < at),
      href: link(`/assets/${stop.assetId}`),
    })),
    ...section(words.answers, mine, (finding) => ({
      text: words.answer(finding.number, what(finding), words.grades[finding.grade]),
      note: words.answerWhen(
        finding.answerDueAt === null ? null : day(finding.answerDueAt),
        finding.answerDueAt !== null && finding.answerDueAt.getTime() < at,
      ),
      href: link('/answers'),
    })),
    ...section(words.repairs, orders, (order) => ({
      text: words.repair(order.number, what(order), words.grades[order.grade]),
      note: words.repairWhen(order.dueAt === null ? null : day(order.dueAt), order.overdueDays),
      href: link(`/orders/${order.id}`),
    })),
  ];
  if (sections.length === 0) return null;
  const things = rounds.length + stops.length + mine.length + orders.length;
  return {
    subject: words.dueSubject(things, reader.organisation),
    greeting: words.hello(scope.name),
    opening: [words.dueOpening(rounds.length + stops.length, mine.length, orders.length)],
    sections,
    act: { word: words.look, href: link('/') },
    foot: [words.dueFoot(reader.organisation)],
    links: [
      { word: words.settings, href: link('/me') },
      { word: words.stopThese, href: reader.unsubscribeUrl },
    ],
  };
}
