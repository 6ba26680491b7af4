import { judgeProofReading, type LimitSet, type Point, type Reading, type Verdict } from '@heatround/domain';
import type { AwaitedProof } from '../../outbox/index.ts';
import { asReading } from './around.ts';

/** What a reading here says about the repair that waits for it, in a sentence; by the rule that the service follows. */
export function sayProof(
  awaited: AwaitedProof,
  point: Point,
  limits: readonly LimitSet[],
  taken: { readonly reading: Reading; readonly verdict: Verdict },
): string {
  const { orderNumber, inWords, isSecond, target, before } = awaited;
  const shown = before === null ? undefined : { reading: asReading(before), verdict: before.verdict };
  const judged = judgeProofReading(point, limits, { target, criterion: null, before: shown }, taken);
  switch (judged.result) {
    case 'proved':
      return `This proves order ${orderNumber}${isSecond ? ' a second time' : ''}${inWords === null ? '' : `: ${inWords}`}.`;
    case 'not-proved':
      return `This does not prove order ${orderNumber}${isSecond ? ' a second time: the fault is back' : '; it goes back to Agreed'}.`;
    case 'not-comparable':
      return `${judged.sentence.replace(/^Not comparable/, 'This proves nothing')} Order ${orderNumber} waits on.`;
  }
}

/** Where the phone does not know what the proof is judged by. */
export const sayProofUnknown = (orderNumber: number | null): string =>
  `${orderNumber === null ? 'A repair' : `Order ${orderNumber}`} waits for this reading; the service says whether it proves it.`;
