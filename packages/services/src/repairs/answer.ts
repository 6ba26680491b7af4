import {
  type Action,
  agreeOrder,
  askToLiveWith,
  type FindingMove,
  type FindingState,
  headFinding,
  isWorseGrade,
  type Mover,
  may,
  moveFinding,
  type OrderMove,
  Problem,
  rightToLiveWith,
  rolesThatMay,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, idOf, mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { placeStop, windowsAhead } from '../rounds/index.ts';
import { type About, aboutPoints } from './about.ts';
import { Desk, type HeldFinding, type HeldOrder } from './desk.ts';
import { answerDue, endFindingsOf, goOnWith, holdOrder, joinFinding, newOrder, tryMove, worsen } from './making.ts';
import { mustBeSeen, problemOf, refuseMove } from './refusals.ts';

/** An answer to a finding. Times are epoch milliseconds. */
export type Answer =
  | { readonly kind: 'agree'; readonly orderId?: string | undefined; readonly ownerId: string | null }
  | {
      readonly kind: 'read-again';
      readonly reason?: string | undefined;
      readonly latestAt?: number | undefined;
      readonly walkerId: string | null;
    }
  | { readonly kind: 'same-as'; readonly findingId: string }
  | { readonly kind: 'turn-down'; readonly reason: string }
  | { readonly kind: 'live-with'; readonly until: number; readonly reason: string }
  | { readonly kind: 'ask-to-live-with'; readonly until: number; readonly reason: string }
  | { readonly kind: 'come-back'; readonly cause: 'ended-early' };

export interface AnsweredView {
  readonly id: string;
  readonly version: number;
  readonly state: FindingState;
  readonly orderId: string | null;
  readonly orderNumber: number | null;
}

/** Within this long a point is read again where nobody names a date; common practice, no source. */
const READ_AGAIN_DAYS = 14;
const DAY = 86_400_000;

/**
 * Answers a finding: the answer that is owed to whoever found it. Agreeing makes the work order in the same step.
 * @param version what the caller has seen; of two answers given from one version the first counts.
 * @throws Problem not-allowed, move-not-allowed naming the allowed answers, stale-version with the present state, reason-needed.
 */
export async function answerFinding(
  deps: Deps,
  scope: Scope,
  findingId: string,
  given: { readonly version?: number | undefined; readonly answer: Answer },
): Promise<AnsweredView> {
  mustBeAllowed(scope, 'see');
  return deps.database.inTenant(scope, async ({ db }) => {
    const { answer, version } = given;
    const target = answer.kind === 'same-as' ? answer.findingId : null;
    const { desk, held, about } = await takeFinding(db, scope, now(deps, scope), findingId, target);
    const mover: Mover = { by: scope.personId, roles: scope.roles, at: desk.at, seenVersion: version };
    if (answer.kind === 'ask-to-live-with') ask(desk, held, answer, mover);
    else await answerAs(db, scope, desk, held, about, answer, mover);
    await desk.save();
    const { id, state, orderId } = held.finding;
    const order = orderId ? desk.orders.get(orderId) : undefined;
    return { id, version: held.finding.version, state, orderId, orderNumber: order?.number ?? null };
  });
}

/** A finding with everything its answer may touch, nobody else able to change it meanwhile. */
export async function takeFinding(
  db: TenantDb,
  scope: Scope,
  at: number,
  findingId: string,
  targetId: string | null = null,
): Promise<{ desk: Desk; held: HeldFinding; about: About }> {
  const desk = new Desk(db, scope, at);
  await desk.takeAround({ findingIds: targetId === null ? [findingId] : [findingId, targetId] });
  const held = desk.findings.get(findingId);
  const target = desk.findings.get(targetId ?? findingId);
  if (held === undefined || target === undefined) throw notFound('finding');
  if (target.siteId !== held.siteId) throw refuseMove('The other finding is at another site, so it cannot be the same fault.');
  const abouts = await aboutPoints(db, [held.finding.pointId]);
  return { desk, held, about: abouts.get(held.finding.pointId)! };
}

/** Anybody who hands in facts may ask to live with it; the request waits for somebody else. */
function ask(desk: Desk, held: HeldFinding, answer: Extract<Answer, { kind: 'ask-to-live-with' }>, mover: Mover): void {
  const { finding } = held;
  const { until, reason } = answer;
  const request = { kind: answer.kind, until, reason };
  const asked = finding.livingAsked;
  if (asked?.by === mover.by && asked?.until === until && asked.reason === reason) return;
  const next = askToLiveWith(finding, { until, reason }, mover);
  if ('refused' in next) throw problemOf(next, 'submit-facts', finding);
  mustBeSeen(finding, mover.seenVersion);
  if (finding.state !== 'reported' || finding.ended !== null) throw refuseMove('It has been answered already.');
  const record = {
    move: answer.kind,
    from: finding.state,
    to: finding.state,
    by: mover.by,
    at: mover.at,
    why: reason,
    given: request,
  };
  desk.setFinding(held, next.subject, record);
}

async function answerAs(
  db: TenantDb,
  scope: Scope,
  desk: Desk,
  held: HeldFinding,
  about: About,
  answer: Exclude<Answer, { kind: 'ask-to-live-with' }>,
  mover: Mover,
): Promise<void> {
  const { finding } = held;
  const move = moveOf(scope, held, answer);
  const moved = moveFinding(finding, move, mover, desk.findingById);
  const right = answer.kind === 'live-with' ? rightToLiveWith(finding.grade) : 'answer-findings';
  if ('refused' in moved) throw problemOf(moved, right, finding);
  if (moved.record === null) return;
  if (answer.kind === 'come-back' && finding.state === 'agreed')
    throw refuseMove('A repair has been agreed to; it is the order that comes back.');
  const order = moved.finding.orderId ? followWithOrder(desk, held, answer, mover) : null;
  held.askedAgainAt = null;
  held.asksPlanner = false;
  held.answerDueAt = answerDue(about, moved.finding, desk.at);
  desk.setFinding(held, moved.finding, moved.record);
  // Others may share that order.
  if (order?.order.state === 'turned-down') endFindingsOf(desk, order, 'turned-down', desk.at);
  if (order?.order.sameAs) await goOnWith(desk, order, desk.orders.get(order.order.sameAs)!, scope.personId);
  const { id, pointId } = finding;
  if (answer.kind === 'agree') await makeOrder(db, scope, desk, held, about, answer.ownerId);
  if (answer.kind === 'same-as') await mergeInto(db, desk, held);
  if (answer.kind === 'read-again') {
    const untilMs = answer.latestAt ?? desk.at + READ_AGAIN_DAYS * DAY;
    if (untilMs <= desk.at)
      throw new Problem('reason-needed', 'To have this read again, name a date ahead. Nothing was changed.');
    if (answer.walkerId) await mustBeAbleTo(db, answer.walkerId, 'submit-facts', held.siteId, desk.at);
    const note = answer.reason?.trim() || `Read again: finding ${held.number}.`;
    const stop = { id: idOf('read-again', id, moved.finding.version), kind: 'read-again', pointId, findingId: id } as const;
    const placed = await placeStop(db, scope, {
      ...stop,
      fromMs: desk.at,
      untilMs,
      note,
      walkerId: answer.walkerId,
      askedBy: scope.personId,
    });
    if (placed === null) throw refuseMove('The machine is out of service, so nobody goes there to read it.');
  }
}

/** A finding that came back with its order takes the order along: turned down, lived with or merged, they go together. */
function followWithOrder(
  desk: Desk,
  { finding, number }: HeldFinding,
  answer: Exclude<Answer, { kind: 'ask-to-live-with' }>,
  mover: Mover,
): HeldOrder | null {
  const order = desk.orders.get(finding.orderId ?? '');
  if (order === undefined || order.order.endedAt !== null) return null;
  if (answer.kind !== 'turn-down' && answer.kind !== 'live-with' && answer.kind !== 'same-as') return null;
  let move: OrderMove | null = answer.kind === 'same-as' ? null : answer;
  if (answer.kind === 'same-as') {
    const target = desk.findings.get(answer.findingId)!.finding;
    const head = headFinding(target, desk.findingById)?.orderId;
    if (head) move = { kind: 'merge-into', orderId: head };
  }
  const { seenVersion: _, ...byPerson } = mover;
  if (move === null || !tryMove(desk, order, move, { ...byPerson, isOwner: order.order.ownerId === mover.by }))
    throw refuseMove(`Repair ${order.number} of finding ${number} stands so that it cannot follow; move the repair instead.`);
  return order;
}

function moveOf(scope: Scope, { finding }: HeldFinding, answer: Exclude<Answer, { kind: 'ask-to-live-with' }>): FindingMove {
  switch (answer.kind) {
    case 'agree':
      return { kind: 'agree', orderId: finding.orderId ?? answer.orderId ?? idOf(scope.organisationId, 'order', finding.id) };
    case 'read-again': {
      const { latestAt, walkerId, reason } = answer;
      // The whole request is kept, so that asking for another date is not the same answer again.
      return { kind: 'read-again', reason, ...(latestAt ? { latestAt } : {}), ...(walkerId ? { walkerId } : {}) } as FindingMove;
    }
    default:
      return answer;
  }
}

/** A member whose time has not ended and who may do what is asked for, at this site. */
export async function mustBeAbleTo(db: TenantDb, personId: string, action: Action, siteId: string, at: number): Promise<void> {
  const [found] = await db.$queryRaw<{ name: string; roles: string[]; seesSite: boolean }[]>(sql`
    SELECT name, roles, (site_ids IS NULL OR ${siteId}::uuid = ANY (site_ids)) AS "seesSite" FROM membership WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid
      AND (ends_at IS NULL OR ends_at > ${new Date(at)}::timestamptz)`);
  if (!found) throw notFound('person');
  if (!found.seesSite) throw refuseMove(`${found.name} was not given this site.`);
  if (!may(found.roles, action))
    throw refuseMove(`${found.name} may not do that; it belongs to: ${rolesThatMay(action).join(', ')}.`);
}

/** Agreed: the order is born, or, after living with it, the one that came back goes on. */
async function makeOrder(
  db: TenantDb,
  scope: Scope,
  desk: Desk,
  held: HeldFinding,
  about: About,
  ownerId: string | null,
): Promise<void> {
  const orderId = held.finding.orderId!;
  if (desk.orders.has(orderId)) return;
  if (ownerId) await mustBeAbleTo(db, ownerId, 'move-own-order', held.siteId, desk.at);
  const [taken] = await db.$queryRaw<{ id: string }[]>(
    sql`SELECT id FROM work_order WHERE organisation_id = ${scope.organisationId}::uuid AND id = ${orderId}::uuid`,
  );
  if (taken) throw refuseMove('An order with this id belongs to another finding; leave the id out or make a new one.');
  const windows = await windowsAhead(db, [about.siteId], desk.at);
  const times = { agreedAt: desk.at, livedWithUntil: await livedWithUntil(db, held.finding.id) };
  holdOrder(desk, about, held, agreeOrder(newOrder(about, held.finding, orderId, ownerId, times)), windows);
}

/** When a finding came back that was lived with; its repair could not be due before. */
async function livedWithUntil(db: TenantDb, findingId: string): Promise<number | null> {
  const [back] = await db.$queryRaw<{ at: Date }[]>(sql`
    SELECT moved_at AS at FROM move WHERE organisation_id = current_organisation() AND subject_id = ${findingId}::uuid
      AND record ->> 'move' = 'come-back' AND record ->> 'from' = 'living-with' ORDER BY version DESC LIMIT 1`);
  return back?.at.getTime() ?? null;
}

/** One fault, one finding: what speaks for this one speaks for the other from now on. */
async function mergeInto(db: TenantDb, desk: Desk, held: HeldFinding): Promise<void> {
  const head = desk.findings.get(held.finding.sameAs!)!;
  await desk.copyEvidence(held.finding.id, head.finding.id);
  if (head.words === null) head.words = held.words;
  if (!isWorseGrade(held.finding.grade, head.finding.grade)) return;
  const about = (await aboutPoints(db, [head.finding.pointId])).get(head.finding.pointId)!;
  joinFinding(desk, about, head, held.finding.grade, held.factId);
  const order = head.finding.orderId ? desk.orders.get(head.finding.orderId) : undefined;
  if (order) worsen(desk, about, order, held.finding.grade, await windowsAhead(db, [about.siteId], desk.at));
}

/** Names the kind of failure. Its count of episodes begins anew under the new name; the criterion still leads to it. */
export async function nameMode(deps: Deps, scope: Scope, findingId: string, mode: string): Promise<{ id: string }> {
  mustBeAllowed(scope, 'answer-findings');
  return deps.database.inTenant(scope, async ({ db }) => {
    const { desk, held } = await takeFinding(db, scope, now(deps, scope), findingId);
    const { finding } = held;
    if (finding.mode === mode) return { id: findingId };
    if (finding.ended !== null) throw refuseMove('This finding has ended; its kind of failure stays as it was told.');
    await desk.takeFindingsAt([finding.pointId]);
    const alike = [...desk.findings.values()].filter(
      (one) => one.finding.pointId === finding.pointId && one.finding.mode === mode,
    );
    const open = alike.find((one) => one.finding.ended === null && one.finding.state !== 'same-as');
    if (open)
      throw refuseMove(`Finding ${open.number} is open for this kind of failure here: answer with "Same as" instead.`, [
        'same-as',
      ]);
    const isTaken = alike.some((one) => one.finding.episode === finding.episode);
    const episode = isTaken ? 1 + (await desk.lastEpisodes([finding.pointId])).get(finding.pointId)! : finding.episode;
    const next = { ...finding, mode, episode, version: finding.version + 1 };
    const record = { move: 'name-mode', from: finding.state, to: finding.state, by: scope.personId, at: desk.at, why: mode };
    desk.setFinding(held, next, { ...record, given: { kind: 'name-mode' } });
    await desk.save();
    return { id: findingId };
  });
}
