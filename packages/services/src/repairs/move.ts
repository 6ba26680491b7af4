import {
  askToLiveWith,
  isSameMove,
  type KindOfWork,
  may,
  moveOrder as moveByRules,
  type OrderMove,
  type OrderState,
  Problem,
  rightToLiveWith,
} from '@heatround/domain';
import { sql, type TenantDb, type Unit } from '@heatround/platform/database';
import { loadPoints } from '../assets/index.ts';
import { type Deps, idOf, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { recordFacts } from '../readings/index.ts';
import { windowsAhead } from '../rounds/index.ts';
import { type About, aboutPoints } from './about.ts';
import { mustBeAbleTo } from './answer.ts';
import { Desk, type HeldOrder, type Target } from './desk.ts';
import { bringBackFinding, endFindingsOf, goOnWith, worsen } from './making.ts';
import { closeProofStops, firstProofStop, lastBefore, placeProofStops } from './proof.ts';
import { mustBeSeen, problemOf, refuseMove } from './refusals.ts';

/** A move a person asks for. Times are epoch milliseconds. */
export type AskedMove =
  | {
      readonly kind: 'slot';
      readonly windowId: string | null;
      readonly from?: number | undefined;
      readonly to?: number | undefined;
    }
  | { readonly kind: 'start' }
  | {
      readonly kind: 'finish';
      readonly found: string;
      readonly did: string;
      readonly work: KindOfWork;
      /** When it was done; absent: now. */
      readonly at?: number | undefined;
    }
  | { readonly kind: 'stuck'; readonly cause: string; readonly whoFrees: string }
  | { readonly kind: 'free' }
  | { readonly kind: 'back-to-agreed'; readonly reason?: string | undefined }
  | { readonly kind: 'live-with'; readonly until: number; readonly reason: string }
  | { readonly kind: 'ask-to-live-with'; readonly until: number; readonly reason: string }
  | { readonly kind: 'come-back'; readonly cause: 'ended-early' }
  | { readonly kind: 'turn-down'; readonly reason: string }
  | { readonly kind: 'merge-into'; readonly orderId: string }
  | { readonly kind: 'close-unproved'; readonly reason: string }
  | { readonly kind: 'give'; readonly ownerId: string | null };

export interface MovedView {
  readonly id: string;
  readonly version: number;
  readonly state: OrderState;
}

/** A device's clock may be so far ahead. */
const CLOCK_SKEW_MS = 5 * 60_000;
const OF_THE_OWNER: readonly AskedMove['kind'][] = ['start', 'finish', 'stuck', 'free'];

/**
 * Moves a work order. Two people at once: the lock of its point lets one pass; the other, who saw an older version, is told.
 * Finishing records the work, so that the trend begins anew, and asks for the proof at once.
 * @throws Problem move-not-allowed naming the allowed moves, stale-version with the present state, not-allowed, reason-needed.
 */
export async function moveOrder(
  deps: Deps,
  scope: Scope,
  orderId: string,
  given: { readonly version?: number | undefined; readonly move: AskedMove },
): Promise<MovedView> {
  mustBeAllowed(scope, 'see');
  return deps.database.inTenant(scope, async (unit) => {
    const { move, version } = given;
    const taken = await take(unit.db, scope, now(deps, scope), orderId, move.kind === 'merge-into' ? move.orderId : null);
    const { desk, held } = taken;
    const asked = { scope, unit, ...taken, seen: version };
    if (move.kind === 'give') await give(asked, move.ownerId);
    else if (move.kind === 'ask-to-live-with') ask(asked, move);
    else if (move.kind === 'finish') await finish(asked, move);
    else await moveAs(asked, move);
    await desk.save();
    return { id: orderId, version: held.order.version, state: held.order.state };
  });
}

interface Asked {
  readonly scope: Scope;
  readonly unit: Unit;
  readonly desk: Desk;
  readonly held: HeldOrder;
  readonly about: About;
  readonly seen: number | undefined;
}

/** An order with everything its move may touch, nobody else able to change it meanwhile. */
async function take(
  db: TenantDb,
  scope: Scope,
  at: number,
  orderId: string,
  otherId: string | null,
): Promise<Pick<Asked, 'desk' | 'held' | 'about'>> {
  const desk = new Desk(db, scope, at);
  await desk.takeAround({ orderIds: otherId === null ? [orderId] : [orderId, otherId] });
  const held = desk.orders.get(orderId);
  const other = desk.orders.get(otherId ?? orderId);
  if (held === undefined || other === undefined) throw notFound('order');
  if (other.siteId !== held.siteId) throw refuseMove('The other repair is at another site, so it cannot be the same work.');
  const about = (await aboutPoints(db, [held.pointId])).get(held.pointId)!;
  return { desk, held, about };
}

const moverOf = ({ scope, held, desk, seen }: Asked, at: number = desk.at) => ({
  by: scope.personId,
  roles: scope.roles,
  at,
  seenVersion: seen,
  isOwner: held.order.ownerId === scope.personId,
});

const rightOf = (kind: AskedMove['kind'], held: HeldOrder) =>
  kind === 'live-with' ? rightToLiveWith(held.order.grade) : OF_THE_OWNER.includes(kind) ? 'move-any-order' : 'answer-findings';

/** By the rules of the domain. @returns false when it had been made already. */
function apply(asked: Asked, kind: AskedMove['kind'], move: OrderMove, at?: number): boolean {
  const { desk, held } = asked;
  const moved = moveByRules(held.order, move, moverOf(asked, at), { find: desk.orderById });
  if ('refused' in moved) throw problemOf(moved, rightOf(kind, held), held.order);
  if (moved.record === null) return false;
  desk.setOrder(held, moved.order, moved.record);
  return true;
}

async function moveAs(asked: Asked, move: Exclude<AskedMove, { kind: 'give' | 'ask-to-live-with' | 'finish' }>): Promise<void> {
  const { desk, held, about, unit } = asked;
  const { id } = held.order;
  if (move.kind === 'slot') {
    await slot(asked, move);
    return;
  }
  if (!apply(asked, move.kind, move)) return;
  if (move.kind === 'come-back') {
    const finding = desk.findings.get(held.findingId);
    const { isOwner: _, seenVersion: __, ...mover } = moverOf(asked);
    if (finding) {
      const { pointId } = finding.finding;
      const there = (await aboutPoints(unit.db, [pointId])).get(pointId) ?? about;
      bringBackFinding(desk, there, finding, 'ended-early', mover);
    }
  }
  if (move.kind === 'turn-down' || move.kind === 'close-unproved') {
    endFindingsOf(desk, held, move.kind === 'turn-down' ? 'turned-down' : 'closed-unproved', desk.at);
    await closeProofStops(unit.db, id, null, desk.at);
  }
  if (move.kind === 'merge-into') await mergeInto(asked);
}

/** Into a window, whose times it takes, or on a day of its own. */
async function slot(asked: Asked, move: Extract<AskedMove, { kind: 'slot' }>): Promise<void> {
  const { desk, held, about, unit } = asked;
  const last = held.order.lastMove;
  // The very slot again, perhaps after its window has begun: nothing to check any more.
  if (last?.kind === 'slot' && last.windowId !== null && last.windowId === move.windowId) {
    apply(asked, 'slot', last);
    return;
  }
  if (move.windowId === null) {
    const { from = 0, to = 0 } = move;
    const day: OrderMove = { kind: 'slot', windowId: null, from, to };
    // State, right and version come first; what is refused afterwards takes everything back.
    if (apply(asked, 'slot', day) && to <= desk.at)
      throw new Problem('reason-needed', 'This day is over; name one ahead. Nothing was changed.');
    return;
  }
  // Held, so that the window is not called off in the same moment.
  const [window] = await unit.db.$queryRaw<
    { siteId: string; buildingId: string | null; assetId: string | null; fromAt: Date; toAt: Date; cancelledAt: Date | null }[]
  >(sql`
    SELECT site_id AS "siteId", building_id AS "buildingId", asset_id AS "assetId", from_at AS "fromAt", to_at AS "toAt",
      cancelled_at AS "cancelledAt" FROM shutdown_window WHERE organisation_id = current_organisation() AND id = ${move.windowId}::uuid FOR SHARE`);
  if (!window) throw notFound('window');
  const fits =
    window.siteId === about.siteId &&
    (window.buildingId === null || window.buildingId === about.place.buildingId) &&
    (window.assetId === null || window.assetId === about.assetId);
  const trouble = window.cancelledAt
    ? 'This window was called off'
    : window.toAt.getTime() <= desk.at
      ? 'This window is over'
      : fits
        ? null
        : 'In this window the machine does not stand still';
  apply(asked, 'slot', {
    kind: 'slot',
    windowId: move.windowId,
    from: window.fromAt.getTime(),
    to: window.toAt.getTime(),
  });
  if (trouble) throw new Problem('reason-needed', `${trouble}; choose another one or a day. Nothing was changed.`);
}

/** Done, prove it: the work becomes a fact, the trend begins anew, and the proof is asked for at once. */
async function finish(asked: Asked, move: Extract<AskedMove, { kind: 'finish' }>): Promise<void> {
  const { scope, unit, desk, held, about } = asked;
  const { work } = move;
  const at = move.at ?? desk.at;
  if (at > desk.at + CLOCK_SKEW_MS)
    throw new Problem('invalid-request', 'The work cannot have been done later than now. Nothing was changed.', [
      { pointer: '#/move/at', detail: 'expected a time that is not ahead' },
    ]);
  const doneAt = Math.min(at, desk.at);
  if (!apply(asked, 'finish', { kind: 'finish', found: move.found, did: move.did }, doneAt)) return;
  held.beforeFact = (await lastBefore(unit.db, held.pointId, doneAt)) ?? held.beforeFact;
  held.afterFact = null;
  const { id, version } = held.order;
  const takenAt = new Date(doneAt).toISOString();
  const fact = {
    kind: 'work-recorded',
    id: idOf(scope.organisationId, 'work', id, version),
    takenAt,
    clock: { deviceAt: takenAt, monotonicMs: 0, offsetMs: 0 },
    assetId: about.assetId,
    pointId: held.pointId,
    work,
    words: move.did,
  } as const;
  const recording = { scope, receivedAt: desk.at, mayCorrectAny: may(scope.roles, 'correct-any-reading') };
  await recordFacts(unit.db, recording, [fact]);
  unit.announce('point-changed', { pointIds: [held.pointId] });
  const points = await pointOf(unit.db, held);
  const point = points.get(held.pointId)?.point;
  if (!point) return;
  await closeProofStops(unit.db, id, null, desk.at);
  const stop = firstProofStop(held, point, work, scope.personId);
  await placeProofStops(unit.db, scope, [stop], points, await limitsOf(unit.db, [held.pointId]), desk.at);
}

const pointOf = async (db: TenantDb, { pointId }: HeldOrder) =>
  new Map((await loadPoints(db, { pointIds: [pointId] })).map((one) => [one.point.id, one]));

/** One repair for both: findings, their evidence and the worse grade go along. */
async function mergeInto({ desk, held, unit, scope }: Asked): Promise<void> {
  const head = desk.orders.get(held.order.sameAs!)!;
  await goOnWith(desk, held, head, scope.personId);
  const about = (await aboutPoints(unit.db, [head.pointId])).get(head.pointId)!;
  worsen(desk, about, head, held.order.grade, await windowsAhead(unit.db, [head.siteId], desk.at));
}

/** Who has the ball. */
async function give(asked: Asked, ownerId: string | null): Promise<void> {
  const { scope, unit, desk, held } = asked;
  const { order } = held;
  mustBeAllowed(scope, 'answer-findings');
  if (order.ownerId === ownerId) return;
  mustBeSeen(order, asked.seen);
  if (order.endedAt !== null) throw refuseMove('This order has ended; nobody has the ball any more.');
  if (ownerId) await mustBeAbleTo(unit.db, ownerId, 'move-own-order', held.siteId, desk.at);
  const record = { move: 'give', from: order.state, to: order.state, by: scope.personId, at: desk.at, why: null };
  desk.setOrder(
    held,
    { ...order, ownerId, version: order.version + 1 },
    { ...record, given: { kind: 'give', ownerId } as never },
  );
}

function ask(asked: Asked, { until, reason }: Extract<AskedMove, { kind: 'ask-to-live-with' }>): void {
  const { scope, desk, held } = asked;
  const { order } = held;
  const known = order.livingAsked;
  if (known?.by === scope.personId && known.until === until && known.reason === reason) return;
  const next = askToLiveWith(order, { until, reason }, moverOf(asked));
  if ('refused' in next) throw problemOf(next, 'submit-facts', order);
  mustBeSeen(order, asked.seen);
  if (order.state !== 'agreed') throw refuseMove('Only an order that stands at Agreed can be lived with.');
  const record = { move: 'ask-to-live-with', from: order.state, to: order.state, by: scope.personId, at: desk.at, why: reason };
  desk.setOrder(held, next.subject, { ...record, given: { kind: 'ask-to-live-with', until } as never });
}

/** States the figure a proof must reach instead of below Watch; null: below Watch again. */
export async function setTarget(deps: Deps, scope: Scope, orderId: string, target: Target | null): Promise<{ id: string }> {
  mustBeAllowed(scope, 'answer-findings');
  return deps.database.inTenant(scope, async (unit) => {
    const taken = await take(unit.db, scope, now(deps, scope), orderId, null);
    const { desk, held } = taken;
    const { order } = held;
    if (isSameMove(held.target, target ?? {}) || (held.target === null && target === null)) return { id: orderId };
    if (order.endedAt !== null) throw refuseMove('This order has ended; its target stays as it was.');
    held.target = target;
    const record = { move: 'set-target', from: order.state, to: order.state, by: scope.personId, at: desk.at, why: null };
    const next = { ...order, version: order.version + 1 };
    desk.setOrder(held, next, { ...record, given: { kind: 'set-target', target } as never });
    await desk.save();
    if (order.state !== 'done') return { id: orderId };
    // The stop that stands says the old figure.
    await closeProofStops(unit.db, orderId, null, desk.at);
    const points = await pointOf(unit.db, held);
    const fromMs = Math.max(desk.at, order.doneAt!);
    const untilMs = Math.max(order.proofDueAt!, fromMs + 3_600_000);
    const stop = { id: idOf('proof', orderId, next.version), held, fromMs, untilMs, why: '', askedBy: scope.personId };
    await placeProofStops(unit.db, scope, [stop], points, await limitsOf(unit.db, [held.pointId]), desk.at);
    return { id: orderId };
  });
}
