import type { FactResult, HeldResult } from '@heatround/contract';
import type { Fact } from '@heatround/domain';

/** A fact that is only on this device, or that came back unkept. */
export interface Kept {
  readonly id: string;
  /** Order in which it was recorded here. */
  readonly order: number;
  readonly fact: Fact;
  /** What a person recognises it by: "B-IRO-01 a, 87 °C". */
  readonly label: string;
  readonly assetId: string | null;
  /** waiting: to be sent. conflict: another content was there first, both are kept. refused: the service did not take it. */
  readonly state: 'waiting' | 'conflict' | 'refused';
  /** Why it is not waiting any more; reasons of single entries after it. */
  readonly why: string | null;
  readonly errors: readonly { readonly pointer: string; readonly detail: string }[];
}

/** A fact that is safe on the server. */
export interface Receipt {
  readonly id: string;
  readonly label: string;
  readonly assetId: string | null;
  readonly kind: Fact['kind'];
  readonly takenAt: string;
  /** Server's time. */
  readonly safeAt: string;
  readonly notice: string | null;
  /** The service judged otherwise than this device did; both sentences. */
  readonly otherVerdict: { readonly here: string; readonly there: string } | null;
}

export interface Merged {
  /** Safe: to be deleted here. */
  readonly safe: readonly Receipt[];
  /** Still here, with their new state. */
  readonly kept: readonly Kept[];
}

/**
 * What is to be done with facts after the service answered. Only created and duplicate let go of a fact; whatever the
 * answer does not mention stays as it was. The order and the number of times an answer arrives change nothing.
 */
export function mergeResults(sent: readonly Kept[], results: readonly FactResult[], receivedAt: string): Merged {
  const safe: Receipt[] = [];
  const kept: Kept[] = [];
  sent.forEach((entry, index) => {
    // An answer without id belongs to the fact in its place.
    const byId = results.find((result) => result.id === entry.id);
    const inPlace = results[index];
    const result = byId ?? (inPlace !== undefined && inPlace.id === null ? inPlace : undefined);
    if (result === undefined) return;
    if (result.outcome === 'created' || result.outcome === 'duplicate') {
      safe.push({
        id: entry.id,
        label: entry.label,
        assetId: entry.assetId,
        kind: entry.fact.kind,
        takenAt: entry.fact.takenAt,
        safeAt: receivedAt,
        notice: result.notice,
        otherVerdict: differing(entry, result),
      });
      return;
    }
    const conflict = 'Another content was already there under this number. Both are kept for a person to look at.';
    kept.push({
      ...entry,
      state: result.outcome,
      why:
        result.outcome === 'conflict'
          ? (result.problem?.detail ?? result.notice ?? conflict)
          : (result.problem?.detail ?? 'The service did not take this.'),
      errors: result.problem?.errors ?? [],
    });
  });
  return { safe, kept };
}

/**
 * The same for facts that were handed over without a session: held and duplicate let go of them, a refused one stays with its reason,
 * and so does whatever the answer does not mention.
 */
export function mergeHeld(
  sent: readonly Kept[],
  results: readonly HeldResult[],
): { safe: readonly string[]; kept: readonly Kept[] } {
  const safe: string[] = [];
  const kept: Kept[] = [];
  sent.forEach((entry, index) => {
    const inPlace = results[index];
    const result = results.find(({ id }) => id === entry.id) ?? (inPlace?.id === null ? inPlace : undefined);
    if (result === undefined) return;
    if (result.outcome !== 'refused') safe.push(entry.id);
    else {
      const why = result.problem?.detail ?? 'The service did not take this.';
      kept.push({ ...entry, state: 'refused', why, errors: result.problem?.errors ?? [] });
    }
  });
  return { safe, kept };
}

function differing(entry: Kept, result: FactResult): Receipt['otherVerdict'] {
  if (entry.fact.kind !== 'reading-taken' || result.verdict === null || entry.fact.phoneVerdict === undefined) return null;
  const here = entry.fact.phoneVerdict.verdict;
  const there = result.verdict;
  const same =
    here.grade === there.grade &&
    here.comparability === there.comparability &&
    here.atLeast === there.atLeast &&
    here.check === there.check;
  return same ? null : { here: here.sentence, there: there.sentence };
}

export interface Tally {
  readonly waiting: number;
  readonly held: number;
  readonly hasSignal: boolean;
  /** Clock time of the last answer that made everything safe, in words; null when nothing was sent yet. */
  readonly safeAt: string | null;
}

/** The one sentence about the safety of data. */
export function saySafety({ waiting, held, hasSignal, safeAt }: Tally, here = 'phone'): string {
  const readings = (count: number): string => `${count} ${count === 1 ? 'reading' : 'readings'}`;
  if (waiting > 0) return hasSignal ? `${readings(waiting)} only on this ${here}` : `no signal, ${readings(waiting)} kept here`;
  if (held > 0) return `${held} not taken, kept here`;
  if (!hasSignal) return 'no signal, all kept here';
  return safeAt === null ? 'nothing waiting here' : `safe on the server ${safeAt}`;
}
