import { CRITERION_OF } from '../points/inputs.ts';
import type { Quantity } from '../points/types.ts';
import type { ProblemDetail } from '../problem.ts';
import { type CriterionKind, LIMIT_GRADES, type LimitGrade, type LimitSet } from './types.ts';

/** What a person proposes; id, version, author and validFrom are added when it is kept. */
export type LimitDraft = Pick<
  LimitSet,
  'criterion' | 'direction' | 'watch' | 'plan' | 'soon' | 'now' | 'source' | 'reason' | 'origin'
>;

/** Grade words as they stand in sentences. */
export const GRADE_WORDS: Readonly<Record<LimitGrade | 'fine', string>> = {
  fine: 'Fine',
  watch: 'Watch',
  plan: 'Plan',
  soon: 'Soon',
  now: 'Now',
};

const TEMPERATURES: readonly Quantity[] = ['temperature', 'rise-over-ambient', 'like-part-difference', 'above-base'];

/** May limits of this criterion stand at a point of this quantity? Its own criterion always; a temperature also over air, and alone. */
export function criterionFits(criterion: CriterionKind, quantity: Quantity): boolean {
  if (CRITERION_OF[quantity] === criterion) return true;
  switch (criterion) {
    case 'absolute':
      return TEMPERATURES.includes(quantity);
    case 'rise-over-ambient':
      return TEMPERATURES.includes(quantity);
    case 'like-part-difference':
      return false;
    case 'above-base':
      return quantity !== 'approach' && quantity !== 'rise-over-ambient' && quantity !== 'like-part-difference';
  }
}

/**
 * What is wrong with a proposed limit set; an empty list means it may be kept.
 * Limits need a source and a reason, at least one figure, finite figures, and a strict order: Watch < Plan < Soon < Now where
 * the limits are reached from below, reversed where they are reached from above. Grades may be left out.
 *
 * @param quantity when given, the criterion must fit what the point measures.
 * @returns problems with pointers relative to the draft, such as /soon.
 */
export function checkLimitSet(draft: LimitDraft, quantity?: Quantity): ProblemDetail[] {
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
  const given = LIMIT_GRADES.flatMap((grade) => {
    const figure = draft[grade];
    return figure === null ? [] : [{ grade, figure }];
  });
  if (given.length === 0)
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
  return problems;
}
