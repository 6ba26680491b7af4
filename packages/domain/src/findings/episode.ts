import { type CriterionKind, GRADES, type Grade } from '../limits/types.ts';
import type { Verdict } from '../verdict/types.ts';
import { type Finding, type FindingKey, headFinding } from './finding.ts';
import { isWorseGrade } from './moves.ts';

/** A verdict that asks for its finding. */
export interface FindingQuestion {
  readonly pointId: string;
  readonly verdict: Pick<Verdict, 'grade' | 'because'>;
  /** Epoch milliseconds. */
  readonly takenAt: number;
  /** Part of an imported history, which makes no findings. */
  readonly isImported: boolean;
  /** The greatest episode given at the point so far, where more is known than the findings at hand; a new one comes after it. */
  readonly lastEpisode?: number | undefined;
}

/** What a verdict does about findings. */
export type FindingStep =
  | { readonly kind: 'none'; readonly because: 'imported' | 'not-judged' | 'below-plan' }
  | {
      readonly kind: 'create';
      readonly key: FindingKey;
      readonly criterion: CriterionKind;
      readonly grade: Grade;
      /** The proved finding this one repeats. */
      readonly repeats: string | null;
    }
  | {
      readonly kind: 'join';
      readonly findingId: string;
      /** Worse than the worst seen so far. */
      readonly isWorse: boolean;
      /** The reading is older than the end of that finding: nothing is reopened, a planner is asked. */
      readonly asksPlanner: boolean;
    };

/**
 * What a verdict does about findings: Plan or worse makes one or joins the open one on the same point and mode, by itself. A reading
 * that was taken before an episode ended and arrives later is evidence to that episode. A merged finding passes its evidence on to
 * the one that stands for it. A new fault after the end is a new finding, a repeat where the last one had been proved.
 *
 * @param findings all of the point, ended ones included, and those they were merged into; any order. O(n).
 * @example findingFor({ pointId: 'p', verdict, takenAt, isImported: false }, []) // { kind: 'create', key: { pointId: 'p', mode: 'absolute', episode: 1 }, … }
 */
export function findingFor(question: FindingQuestion, findings: readonly Finding[]): FindingStep {
  const { pointId, verdict, takenAt } = question;
  const { grade, because } = verdict;
  if (grade === null || because === null) return { kind: 'none', because: 'not-judged' };
  if (GRADES.indexOf(grade) < GRADES.indexOf('plan')) return { kind: 'none', because: 'below-plan' };
  if (question.isImported) return { kind: 'none', because: 'imported' };

  const criterion = because.criterion;
  const byId = new Map(findings.map((finding) => [finding.id, finding]));
  // A person may have renamed the mode: the criterion still leads there.
  const ofMode = findings.filter((one) => one.pointId === pointId && (one.criterion === criterion || one.mode === criterion));
  const heads = ofMode.map((one) => headFinding(one, (id) => byId.get(id)) ?? one).sort(byAge);
  const past = heads.filter(({ ended }) => ended !== null && takenAt <= ended.at).sort((a, b) => a.ended!.at - b.ended!.at)[0];
  const joined = past ?? heads.find(({ ended }) => ended === null);
  if (joined !== undefined)
    return { kind: 'join', findingId: joined.id, isWorse: isWorseGrade(grade, joined.grade), asksPlanner: past !== undefined };

  const lastEnded = heads.toSorted((a, b) => b.ended!.at - a.ended!.at)[0];
  const episode = 1 + Math.max(question.lastEpisode ?? 0, ...ofMode.map((one) => one.episode));
  const repeats = lastEnded?.ended?.outcome === 'proved' ? lastEnded.id : null;
  return { kind: 'create', key: { pointId, mode: criterion, episode }, criterion, grade, repeats };
}

function byAge(a: Finding, b: Finding): number {
  return a.reportedAt - b.reportedAt || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0);
}
