import type { Reading } from '../facts/types.ts';
import { limitsInForce } from '../limits/in-force.ts';
import type { CriterionKind, Grade, LimitSet } from '../limits/types.ts';
import { CRITERION_OF } from '../points/inputs.ts';
import { figureOf, loadPercentOf } from '../points/measure.ts';
import type { Basis, LoadFamily, Point } from '../points/types.ts';
import { becauseOf, judgeReading } from '../verdict/assess.ts';
import { basisOf } from '../verdict/correction.ts';
import type { Gate, Verdict } from '../verdict/types.ts';

/** How long after the work a proof is expected, by the grade of the finding; hours. */
export interface ProofWindows {
  readonly now: number;
  readonly soon: number;
  readonly plan: number;
  readonly watch: number;
}
/** Common practice, no source; Watch and findings reported at Fine like Plan. */
export const PROOF_WINDOW_HOURS: ProofWindows = { now: 48, soon: 7 * 24, plan: 35 * 24, watch: 35 * 24 };
/** Bearings are read a second time so many days after the first proof; common practice, no source. */
export const SECOND_PROOF_DAYS = 28;
/** Loads within so many points of each other are alike for a proof; common practice, no source. */
export const PROOF_LOAD_POINTS = 15;

const HOUR = 3_600_000;

/** When the proof is due. @example proofDueAt(doneAt, 'now') - doneAt // 172_800_000 */
export function proofDueAt(doneAt: number, grade: Grade, windows: ProofWindows = PROOF_WINDOW_HOURS): number {
  return doneAt + windows[grade === 'fine' ? 'watch' : grade] * HOUR;
}

/** A proof reading beside the reading of the finding. */
export interface ProofQuestion {
  /** Of the proof reading, with the limits in force when it was taken. */
  readonly verdict: Verdict;
  /** Load of the reading that made the finding, per cent of rated; null: unknown. */
  readonly findingLoadPercent: number | null;
  /** Load of the proof reading. */
  readonly proofLoadPercent: number | null;
  /** none: load means nothing at this point. */
  readonly loadFamily: LoadFamily;
  /** Of the criterion that made the finding; a corrected figure may be compared across loads. */
  readonly basis: Basis;
  /** Least load at which the point may be judged. */
  readonly minimumLoadPercent: number;
  /** Figure of the criterion that made the finding, in the proof reading; needed for a target. */
  readonly value: number | null;
  /** A target the order states instead of the Watch limit, in the unit of the value; null: below Watch. */
  readonly target: { readonly value: number; readonly direction: 'high' | 'low' } | null;
}

/** What a proof reading shows. */
export type ProofJudgement =
  | { readonly result: 'proved' | 'not-proved'; readonly sentence: string }
  | {
      readonly result: 'not-comparable';
      /** The gate that was open, or a load unlike that of the finding. */
      readonly reason: Gate | 'load-unlike' | 'no-grade';
      /** Load to come back at, per cent; null where load is not the trouble. */
      readonly comeBackAt: { readonly fromPercent: number; readonly toPercent: number | null } | null;
      readonly sentence: string;
    };

/** What to do about each gate; those about load name a load instead. */
const REMEDY: Readonly<Partial<Record<Gate, string>>> = {
  'not-running': 'come back when it runs',
  'quantity-missing': 'come back and read every input',
  'load-missing': 'come back and read the load too',
  'ambient-missing': 'come back and read the air too',
  'base-missing': 'a base is needed first',
  'emissivity-unreliable': 'come back with a known emissivity',
  'target-too-small': 'come back closer to it',
  'not-steady': 'come back when it has run long enough',
  'after-regreasing': 'come back when the grease has settled',
};

/**
 * Does a reading prove a repair? It must be comparable: no gate open, and its load within 15 points of the load of the finding or
 * corrected to the reference load. It proves when it is below Watch, or beyond the target the order states and not Plan or worse.
 * A reading under other conditions is no attempt: it neither proves nor fails, and says what to come back with. A raw figure at a
 * lower load than the finding proves nothing, however good it looks.
 *
 * @example judgeProof({ verdict, findingLoadPercent: 78, proofLoadPercent: 31, loadFamily: 'electrical', basis: 'corrected', minimumLoadPercent: 40, value: null, target: null })
 * // { result: 'not-comparable', reason: 'load-too-low', sentence: 'Not comparable at 31 % load: come back at ≥ 40 % load.', … }
 */
export function judgeProof(question: ProofQuestion): ProofJudgement {
  const { verdict, target, value } = question;
  const unlike = whyUnlike(question);
  if (unlike !== null) return unlike;
  if (target === null ? verdict.grade === null : value === null) {
    const sentence = 'Not comparable: the point has no limit that could be met. Give it limits, or the order a target.';
    return { result: 'not-comparable', reason: 'no-grade', comeBackAt: null, sentence };
  }
  const isMild = verdict.grade === null || verdict.grade === 'fine' || verdict.grade === 'watch';
  const proves = target === null ? verdict.grade === 'fine' : isMild && isBeyond(value!, target);
  return proves
    ? { result: 'proved', sentence: `Proved: ${verdict.sentence}` }
    : { result: 'not-proved', sentence: `Not proved: ${verdict.sentence}` };
}

/**
 * The figure a proof must stay on the good side of: the order's own target, else the mildest limit in force for the criterion.
 * @param own null: the order states none. @returns null where the point has no limit that could be met.
 * @example proofTarget(limits, 'absolute', null, at) // { value: 70, direction: 'high' }
 */
export function proofTarget(
  limits: readonly LimitSet[],
  criterion: CriterionKind,
  own: ProofQuestion['target'],
  at: number,
): NonNullable<ProofQuestion['target']> | null {
  if (own) return own;
  const set = limitsInForce(limits, at).find((one) => one.set.criterion === criterion)?.set;
  const value = set?.watch ?? set?.plan ?? set?.soon ?? set?.now ?? null;
  return set && value !== null ? { value, direction: set.direction } : null;
}

/** The order that waits, as far as its proof is concerned. */
export interface AwaitingProof {
  readonly target: ProofQuestion['target'];
  /** Of the finding; null: reported in words, and the reading names it. */
  readonly criterion: CriterionKind | null;
  /** The reading of the finding. */
  readonly before: { readonly reading: Reading | null; readonly verdict: Verdict | null } | undefined;
}

/** The same, asked from the readings themselves; phone and server put the question in the same way. */
export function judgeProofReading(
  point: Point,
  limits: readonly LimitSet[],
  { target, criterion: named, before }: AwaitingProof,
  { reading, verdict }: { readonly reading: Reading; readonly verdict: Verdict },
): ProofJudgement {
  const criterion = named ?? before?.verdict?.because?.criterion ?? CRITERION_OF[point.quantity];
  return judgeProof({
    verdict,
    findingLoadPercent: before?.reading ? loadPercentOf(point, before.reading) : null,
    proofLoadPercent: loadPercentOf(point, reading),
    loadFamily: point.loadFamily,
    basis: basisOf(point, criterion),
    minimumLoadPercent: point.minimumLoadPercent,
    value: becauseOf(judgeReading(point, reading, limits), criterion)?.value ?? figureOf(point, reading, criterion).value,
    target,
  });
}

/** On the good side of the target; exactly on it is not beyond it. */
function isBeyond(value: number, { value: target, direction }: NonNullable<ProofQuestion['target']>): boolean {
  return direction === 'high' ? value < target : value > target;
}

function whyUnlike(question: ProofQuestion): ProofJudgement | null {
  const { verdict, proofLoadPercent, findingLoadPercent, minimumLoadPercent } = question;
  const at = proofLoadPercent === null ? '' : ` at ${whole(proofLoadPercent)} % load`;
  const { gate } = verdict;
  if (gate === 'load-too-low' || gate === 'load-too-high') {
    const [fromPercent, toPercent] = [minimumLoadPercent, gate === 'load-too-high' ? 110 : null];
    return notComparable(gate, at, { fromPercent, toPercent });
  }
  if (gate !== null) {
    const sentence = `Not comparable: ${REMEDY[gate] ?? 'come back under like conditions'}.`;
    return { result: 'not-comparable', reason: gate, comeBackAt: null, sentence };
  }
  if (question.loadFamily === 'none' || question.basis === 'corrected') return null;
  if (proofLoadPercent === null) return notComparable('load-missing', '', null);
  // Without the load of the finding, only a load near the reference can be trusted to be like it.
  if (findingLoadPercent === null && verdict.comparability === 'like-for-like') return null;
  const wanted = findingLoadPercent ?? 100;
  if (findingLoadPercent !== null && Math.abs(proofLoadPercent - wanted) <= PROOF_LOAD_POINTS + 1e-9) return null;
  const fromPercent = Math.max(minimumLoadPercent, wanted - PROOF_LOAD_POINTS);
  return notComparable('load-unlike', at, { fromPercent, toPercent: Math.min(110, wanted + PROOF_LOAD_POINTS) });
}

function notComparable(
  reason: Gate | 'load-unlike',
  at: string,
  comeBackAt: { readonly fromPercent: number; readonly toPercent: number | null } | null,
): ProofJudgement {
  const load =
    comeBackAt === null
      ? 'and read the load too'
      : comeBackAt.toPercent === null
        ? `at ≥ ${whole(comeBackAt.fromPercent)} % load`
        : `at ${whole(comeBackAt.fromPercent)} to ${whole(comeBackAt.toPercent)} % load`;
  return { result: 'not-comparable', reason, comeBackAt, sentence: `Not comparable${at}: come back ${load}.` };
}

/** A figure without needless decimals. */
function whole(percent: number): string {
  return String(Math.round(percent * 10) / 10);
}
