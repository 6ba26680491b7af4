import { type Answer, call } from '../../client/index.ts';
import type { AwaitedProof, OpenFault } from '../../outbox/index.ts';

/** Open faults of the organisation, the hundred that moved last; throws without signal. */
export async function openFaults(): Promise<OpenFault[]> {
  return toFaults(await call('listFindings', { query: { which: 'all', pageSize: 100 } }));
}

/** The same at one point. */
export async function openFaultsAt(pointId: string): Promise<OpenFault[]> {
  return toFaults(await call('listFindings', { query: { which: 'all', pointId, pageSize: 20 } }));
}

const toFaults = ({ findings }: Answer<'listFindings'>): OpenFault[] =>
  findings
    .filter(({ state, finding }) => finding.ended === null && state !== 'turned-down' && state !== 'same-as')
    .map(({ pointId, number, reportedAt, reportedBy, state, orderNumber }) => ({
      pointId,
      number,
      reportedAt,
      reportedBy,
      state,
      orderNumber,
    }));

/** Repairs that wait for their proof at these points: those of proof stops, and others that are done. Throws without signal. */
export async function awaitedProofs(pointIds: readonly string[], ofStops: readonly (string | null)[]): Promise<AwaitedProof[]> {
  const one = pointIds.length === 1 ? { pointId: pointIds[0]! } : {};
  const { orders } = await call('listOrders', { query: { which: 'open', pageSize: 100, ...one } });
  const done = orders.filter(({ state, pointId }) => state === 'done' && pointIds.includes(pointId)).map(({ id }) => id);
  const ids = [...new Set([...done, ...ofStops.filter((id) => id !== null)])];
  const pages = await Promise.all(ids.map((orderId) => call('getOrder', { params: { orderId } })));
  return pages.flatMap(toAwaited);
}

/** The second proof of a bearing is read around its day; the server takes none from earlier. */
const MARGIN_MS = 7 * 86_400_000;

function toAwaited({ pointId, number, order, moves, target, before }: Answer<'getOrder'>): AwaitedProof[] {
  const { state, doneAt, secondProof } = order;
  const isSecond = secondProof?.state === 'pending';
  const since = isSecond ? secondProof.dueAt - MARGIN_MS : doneAt;
  if ((state !== 'done' && !isSecond) || since === null) return [];
  // What the page calls the target may be the Watch limit; only a person's word replaces "below Watch".
  const stated = moves.findLast(({ move }) => move === 'set-target')?.given as { target?: AwaitedProof['target'] } | undefined;
  const inWords = target?.inWords ?? null;
  return [{ pointId, orderNumber: number, since, isSecond, inWords, target: stated?.target ?? null, before }];
}
