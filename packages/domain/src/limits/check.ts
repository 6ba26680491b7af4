import { criterionFits } from '../points/quantities/index.ts';
import type { Quantity } from '../points/types.ts';
import type { ProblemDetail } from '../problem.ts';
import { sideOf } from './holds.ts';
import { limitsInForce } from './in-force.ts';
import { LIMIT_GRADES, type LimitGrade, type LimitHolds, type LimitSet } from './types.ts';

/** What a person proposes; id, version, author and validFrom are added when it is kept. */
export type LimitDraft = Pick<
  LimitSet,
  'criterion' | 'direction' | 'watch' | 'plan' | 'soon' | 'now' | 'holds' | 'source' | 'reason' | 'origin'
>;

/** Grade words as they stand in sentences. */
export const GRADE_WORDS: Readonly<Record<LimitGrade | 'fine', string>> = {
  fine: 'Fine',
  watch: 'Watch',
  plan: 'Plan',
  soon: 'Soon',
  now: 'Now',
};

/** The other edge of a band, as far as the two must not cross: the lowest upper and the highest lower figure. */
function edgeOf(set: Pick<LimitSet, LimitGrade>): number | null {
  return LIMIT_GRADES.map((grade) => set[grade]).find((figure) => figure !== null) ?? null;
}

/**
 * What is wrong with a proposed limit set; an empty list means it may be kept.
 * Limits need a source and a reason, finite figures, and a strict order: Watch < Plan < Soon < Now where the limits are reached
 * from below, reversed where they are reached from above. Grades may be left out; all of them only to withdraw a side that
 * is there. The two sides of a band must leave room between them.
 *
 * @param quantity when given, the criterion must fit what the point measures.
 * @param present all versions at the point; left out, nothing is there yet.
 * @param at the time from which it holds; left out, the end of all time.
 * @returns problems with pointers relative to the draft, such as /soon.
 */
export function checkLimitSet(
  draft: LimitDraft,
  quantity?: Quantity,
  present: readonly LimitSet[] = [],
  at = Number.MAX_SAFE_INTEGER,
): ProblemDetail[] {
  const problems: ProblemDetail[] = [];
  if (draft.source.trim() === '') {
    problems.push({ pointer: '/source', detail: 'Say where the figures come from, such as "ISO 20816-3" or "maker’s sheet".' });
  }
  if (draft.reason.trim() === '') {
    problems.push({ pointer: '/reason', detail: 'Say in plain words why these figures are right for this point.' });
  }
  if (quantity !== undefined && !criterionFits(draft.criterion, quantity)) {
    problems.push({ pointer: '/criterion', detail: `This point measures ${quantity}, which has no such criterion.` });
  }
  if (draft.holds != null && 'season' in draft.holds) problems.push(...checkSeason(draft.holds));
  const given = LIMIT_GRADES.flatMap((grade) => {
    const figure = draft[grade];
    return figure === null ? [] : [{ grade, figure }];
  });
  if (given.length === 0 && !present.some((set) => sideOf(set) === sideOf(draft)))
    problems.push({ pointer: '/watch', detail: 'Give a figure for at least one of Watch, Plan, Soon and Now.' });
  for (const { grade, figure } of given) {
    if (!Number.isFinite(figure)) problems.push({ pointer: `/${grade}`, detail: 'A figure, such as 70 or 2.8.' });
  }
  for (const [i, { grade, figure }] of given.entries()) {
    const before = given[i - 1];
    if (before === undefined || !Number.isFinite(figure) || !Number.isFinite(before.figure)) continue;
    const rising = figure > before.figure;
    if (draft.direction === 'high' ? rising : figure < before.figure) continue;
    const side = draft.direction === 'high' ? 'above' : 'below';
    problems.push({
      pointer: `/${grade}`,
      detail: `${GRADE_WORDS[grade]} must lie ${side} ${GRADE_WORDS[before.grade]} (${before.figure}); it is ${figure}.`,
    });
  }
  const first = given[0];
  if (first !== undefined && problems.length === 0) {
    const away = draft.direction === 'high' ? 'low' : 'high';
    const opposite = sideOf({ ...draft, direction: away });
    const set = limitsInForce(present, at).find((one) => sideOf(one.set) === opposite)?.set;
    const edge = set === undefined ? null : edgeOf(set);
    if (edge !== null && (draft.direction === 'high' ? first.figure <= edge : first.figure >= edge)) {
      const [side, other] = draft.direction === 'high' ? ['above', 'lower'] : ['below', 'upper'];
      problems.push({
        pointer: `/${first.grade}`,
        detail: `${GRADE_WORDS[first.grade]} must lie ${side} the ${other} limits, which begin at ${edge}; it is ${first.figure}.`,
      });
    }
  }
  return problems;
}

function checkSeason({ season, from, until }: Extract<LimitHolds, { season: string }>): ProblemDetail[] {
  const problems: ProblemDetail[] = [];
  if (season.trim() === '') problems.push({ pointer: '/holds/season', detail: 'Name the season, such as "cooling".' });
  for (const [name, day] of [
    ['from', from],
    ['until', until],
  ] as const) {
    if (!/^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/.test(day))
      problems.push({ pointer: `/holds/${name}`, detail: 'A day of the year as month and day, such as 05-01.' });
  }
  return problems;
}
