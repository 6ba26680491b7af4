import type { AssetPage, ExtraStopLine } from '@heatround/contract';
import { type Answer, call } from '../../client/index.ts';
import { EXTRA, type KeptWalk, type Outbox } from '../../outbox/index.ts';
import { awaitedProofs, openFaults } from './faults.ts';
import { PEOPLE } from './known-walk.ts';
import { type Walk, walkOf } from './walk-state.ts';

export type MyWalkAnswer = Answer<'myWalk'>;
export interface Known {
  readonly mine: MyWalkAnswer;
  /** When the service said so, organisation's time. */
  readonly at: number;
  readonly walks: readonly Walk[];
}
const MINE = 'my-walk';

/** What this device knows of the person's walks, without asking anybody. */
export async function knownWalks(outbox: Outbox): Promise<Known | null> {
  const kept = await outbox.answer<MyWalkAnswer>(MINE);
  if (kept === null) return null;
  const steps = await outbox.steps();
  const ids = [...kept.answer.rounds.map((round) => round.id), EXTRA];
  const walks = (await Promise.all(ids.map((id) => outbox.walk(id)))).filter((walk) => walk !== null);
  return { mine: asOfToday(kept.answer), at: kept.at, walks: walks.map((walk) => walkOf(walk, steps)) };
}

/** An answer that an older version kept says less. */
const asOfToday = (kept: MyWalkAnswer): MyWalkAnswer => ({
  ...kept,
  safe: kept.safe.map((round) => ({ ...round, handedInAt: round.handedInAt ?? round.plannedAt })),
  unfinished: kept.unfinished ?? [],
});

/** Which extra stops are walked with which round: their own, else the first one to be walked. */
export function extrasOf(mine: MyWalkAnswer, walkId: string): ExtraStopLine[] {
  const ids = mine.rounds.map((round) => round.id);
  const home = (extra: ExtraStopLine): string =>
    extra.roundId !== null && ids.includes(extra.roundId) ? extra.roundId : (ids[0] ?? EXTRA);
  return mine.extraStops.filter((extra) => home(extra) === walkId);
}

/** Asks the service and keeps everything of every walk here. Throws what the first question throws; the packs try one by one. */
export async function fetchWalks(outbox: Outbox): Promise<void> {
  const mine = await call('myWalk', {});
  await outbox.keepAnswer(MINE, mine);
  const ids = [...mine.rounds.map((round) => round.id), ...(extrasOf(mine, EXTRA).length > 0 ? [EXTRA] : [])];
  const steps = await outbox.steps();
  const faults = await openFaults().catch(() => null);
  for (const id of ids) {
    try {
      const round = mine.rounds.find((one) => one.id === id) ?? null;
      const before = await outbox.walk(id);
      const [pack, whole] = await Promise.all([
        round === null ? null : call('roundPack', { params: { roundId: id }, query: { readings: 24 } }),
        round !== null && round.answered > 0
          ? call('getRound', { params: { roundId: id } }).catch(() => null)
          : Promise.resolve(null),
      ]);
      const own = extrasOf(mine, id);
      const ofPack = pack?.extraStops.filter((one) => !own.some((other) => other.id === one.id)) ?? [];
      // Answered here: the service no longer asks for it, and the walk still has it.
      const answered = (before?.extraStops ?? []).filter(
        (one) =>
          ![...own, ...ofPack].some((other) => other.id === one.id) &&
          steps.some((step) => step.walkId === id && step.pointId === one.pointId && step.kind === 'answer'),
      );
      const extraStops = [...own, ...ofPack, ...answered];
      const pages: AssetPage[] = [...(pack?.assets ?? [])];
      for (const assetId of new Set(extraStops.map((extra) => extra.assetId))) {
        if (pages.some((page) => page.id === assetId)) continue;
        pages.push(await call('getAsset', { params: { assetId }, query: { readings: 24 } }));
      }
      const assetIds = pages.map((page) => page.id);
      const pointIds = new Set(pages.flatMap((page) => page.points.map(({ point }) => point.id)));
      const proofStops = extraStops.flatMap(({ kind, orderId }) => (kind === 'proof' ? [orderId] : []));
      const proofs = await awaitedProofs([...pointIds], proofStops).catch(() => before?.proofs);
      const walk: Omit<KeptWalk, 'keptAt'> = {
        id,
        round,
        stops: pack?.stops ?? [],
        extraStops,
        assetIds,
        faults: faults === null ? (before?.faults ?? []) : faults.filter((fault) => pointIds.has(fault.pointId)),
        proofs,
        givenNote: whole?.givenNote ?? before?.givenNote ?? null,
      };
      await outbox.keepWalk(walk, pages);
    } catch {
      // This walk stays as it was here; My walk says whether all of it is on the phone.
    }
  }
  await outbox.keepOnlyWalks(ids);
  await call('listPeople', {}).then(
    (people) => outbox.keepAnswer(PEOPLE, people),
    () => undefined,
  );
}
