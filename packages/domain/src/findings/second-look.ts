import { may } from '../rights/index.ts';
import type { Finding, FindingState } from './finding.ts';
import { type MoveRecord, type Mover, type Refused, refuse } from './moves.ts';

/** What a planner decides about evidence that came after a finding had been answered. */
export type SecondLook =
  /** Seen, and nothing changes. */
  | { readonly kind: 'it-stands'; readonly reason?: string | undefined }
  /** There is a fault after all: a finding of its own is made of that evidence, since an ended one is never opened again. */
  | { readonly kind: 'take-up'; readonly reason?: string | undefined };
export type SecondLookKind = SecondLook['kind'];

const SAID: Readonly<Record<SecondLookKind, string>> = {
  'it-stands': 'say that this answer stands',
  'take-up': 'take this up as a new finding',
};

/** The decisions open to a person: an answered finding that goes on has its own moves, only an ended one is taken up anew. */
export function looksAllowed(finding: Finding, { by, roles }: Pick<Mover, 'by' | 'roles'>): SecondLookKind[] {
  if (by === null || !may(roles, 'answer-findings')) return [];
  return finding.ended === null ? ['it-stands'] : ['it-stands', 'take-up'];
}

/**
 * The trace of a second look at a finding; the finding itself stays as it is, one version on. Whether anybody was asked to look, the
 * caller knows.
 * @returns the finding and its record, or why nothing was changed.
 * @example lookAgain(finding, { kind: 'it-stands', reason: 'read before the repair' }, { by: 'jonas', roles: ['planner'], at })
 */
export function lookAgain(
  finding: Finding,
  look: SecondLook,
  mover: Mover,
): { readonly finding: Finding; readonly record: MoveRecord<FindingState, SecondLook> } | Refused<SecondLookKind> {
  const allowed = looksAllowed(finding, mover);
  const { by, at, seenVersion } = mover;
  if (by === null || !may(mover.roles, 'answer-findings')) return refuse('not-allowed', SAID[look.kind], allowed);
  if (seenVersion !== undefined && seenVersion !== finding.version) return refuse('stale-version', SAID[look.kind], allowed);
  if (!allowed.includes(look.kind)) return refuse('move-not-allowed', SAID[look.kind], allowed);
  const { state } = finding;
  const record = { move: look.kind, from: state, to: state, by, at, why: look.reason?.trim() || null, given: look };
  return { finding: { ...finding, version: finding.version + 1 }, record };
}
