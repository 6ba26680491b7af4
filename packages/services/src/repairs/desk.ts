import type { CriterionKind, Finding, MoveRecord, WorkOrder } from '@heatround/domain';
import { type Sql, sql, type TenantDb } from '@heatround/platform/database';
import type { Scope } from '../deps/index.ts';
import { closeStops } from '../rounds/index.ts';
import { refuseMove } from './refusals.ts';

/** A finding with what only its row knows. Times are epoch milliseconds. */
export interface HeldFinding {
  finding: Finding;
  /** 0: given when it is stored. */
  number: number;
  readonly assetId: string;
  readonly siteId: string;
  readonly reportedBy: string;
  readonly factId: string | null;
  words: string | null;
  answerDueAt: number | null;
  readonly repeats: string | null;
  asksPlanner: boolean;
  /** When it was asked to be read again; null in every other state. */
  askedAgainAt: number | null;
}

/** What an order states instead of "below Watch". */
export type Target = { readonly value: number; readonly direction: 'high' | 'low' };

/** An order with what only its row knows. */
export interface HeldOrder {
  order: WorkOrder;
  number: number;
  readonly findingId: string;
  readonly pointId: string;
  readonly assetId: string;
  readonly siteId: string;
  readonly criterion: CriterionKind | null;
  rank: number;
  risk: number;
  consequence: number;
  target: Target | null;
  readonly createdAt: number;
  /** The reading before the work, and the last one that was to prove it. */
  beforeFact: string | null;
  afterFact: string | null;
}

/** The trace of a move; some moves are of the row and not of the state: who has the ball, the target, the kind of failure. */
export interface Trace {
  readonly subject: 'finding' | 'order';
  readonly subjectId: string;
  readonly version: number;
  readonly record: Omit<MoveRecord<string, { kind: string }>, 'given'> & { readonly given: { readonly kind: string } };
}

/**
 * Makes every other change of a finding or an order at these points wait. Recording a fact at a point takes the same lock, in the
 * same order, so that a reading and an answer never pass each other.
 */
export async function lockPoints(db: TenantDb, pointIds: readonly string[]): Promise<void> {
  await db.$queryRaw(sql`
    SELECT 1 AS locked FROM point_revision WHERE organisation_id = current_organisation() AND point_id = ANY (${[...new Set(pointIds)]}::uuid[])
    ORDER BY organisation_id, point_id FOR UPDATE`);
}

type FindingRow = Omit<HeldFinding, 'finding' | 'answerDueAt' | 'askedAgainAt'> & {
  state: Finding;
  answerDueAt: Date | null;
  askedAgainAt: Date | null;
};
type OrderRow = Omit<HeldOrder, 'order' | 'createdAt'> & { state: WorkOrder; createdAt: Date };

/** So many newest findings of a point are looked at; older ones have nothing to say about a reading of today. */
const NEWEST_FINDINGS = 60;

/**
 * Findings and orders in hand within one transaction: taken out with their rows locked, changed by the rules of the domain, put back
 * set by set together with the trace of every move.
 */
export class Desk {
  readonly findings = new Map<string, HeldFinding>();
  readonly orders = new Map<string, HeldOrder>();
  readonly #changedFindings = new Set<string>();
  readonly #changedOrders = new Set<string>();
  readonly #traces: Trace[] = [];
  readonly #evidence: { findingId: string; factId: string }[] = [];
  /** Findings that want no further reading, with the one that answered them. */
  readonly #readEnough = new Map<string, string | null>();

  private readonly db: TenantDb;
  private readonly scope: Pick<Scope, 'organisationId'>;
  /** Epoch milliseconds by the organisation's clock. */
  readonly at: number;

  private readonly holds: boolean;
  readonly #lock: (alias: Sql) => Sql;

  /** @param holds false: only to look; nothing is locked, and nothing may be put back. */
  constructor(db: TenantDb, scope: Pick<Scope, 'organisationId'>, at: number, holds = true) {
    this.db = db;
    this.scope = scope;
    this.at = at;
    this.holds = holds;
    this.#lock = (alias) => (holds ? sql`FOR UPDATE OF ${alias}` : sql.empty);
  }

  /**
   * Findings and orders with all that moves along: what they were merged into, the orders of the findings, the findings of the
   * orders, until nothing new is met. Their points are held before a row is read, so that nobody changes the others meanwhile.
   */
  async takeAround(given: { readonly findingIds?: readonly string[]; readonly orderIds?: readonly string[] }): Promise<void> {
    const seeds = { findings: [...(given.findingIds ?? [])], orders: [...(given.orderIds ?? [])] };
    const locked = new Set<string>();
    for (;;) {
      const near = await this.#around(seeds.findings, seeds.orders);
      const fresh = near.flatMap(({ pointId }) => (!this.holds || locked.has(pointId) ? [] : [pointId]));
      if (fresh.length > 0) await lockPoints(this.db, fresh);
      for (const id of fresh) locked.add(id);
      // What stood there when all of it was held is what stands.
      if (fresh.length > 0) continue;
      await this.#takeFindingsOf(near.flatMap(({ subject, id }) => (subject === 'finding' ? [id] : [])));
      await this.#takeOrdersOf(near.flatMap(({ subject, id }) => (subject === 'order' ? [id] : [])));
      return;
    }
  }

  #around(findingIds: string[], orderIds: string[]): Promise<{ subject: 'finding' | 'order'; id: string; pointId: string }[]> {
    return this.db.$queryRaw(sql`
      WITH RECURSIVE near (subject, id, point_id, head, order_id) AS (
        SELECT x.* FROM (
          SELECT 'finding' AS subject, f.id, f.point_id, (f.state ->> 'sameAs')::uuid, f.order_id FROM finding f
          WHERE f.organisation_id = current_organisation() AND f.id = ANY (${findingIds}::uuid[])
          UNION ALL
          SELECT 'order', o.id, o.point_id, (o.state ->> 'sameAs')::uuid, NULL FROM work_order o
          WHERE o.organisation_id = current_organisation() AND o.id = ANY (${orderIds}::uuid[])) x
        UNION
        SELECT x.* FROM near n CROSS JOIN LATERAL (
          SELECT 'finding' AS subject, f.id, f.point_id, (f.state ->> 'sameAs')::uuid, f.order_id FROM finding f
          WHERE f.organisation_id = current_organisation() AND n.subject = 'finding' AND f.id = n.head
          UNION ALL
          SELECT 'finding', f.id, f.point_id, (f.state ->> 'sameAs')::uuid, f.order_id FROM finding f
          WHERE f.organisation_id = current_organisation() AND n.subject = 'order' AND f.order_id = n.id
          UNION ALL
          SELECT 'order', o.id, o.point_id, (o.state ->> 'sameAs')::uuid, NULL FROM work_order o
          WHERE o.organisation_id = current_organisation() AND o.id = CASE n.subject WHEN 'finding' THEN n.order_id ELSE n.head END) x)
      SELECT subject, id, point_id AS "pointId" FROM near`);
  }

  /** The newest findings of points, what has ended included. */
  async takeFindingsAt(pointIds: readonly string[]): Promise<void> {
    await this.#takeFindings(sql`f.id IN (SELECT n.id FROM unnest(${[...pointIds]}::uuid[]) AS p(id) CROSS JOIN LATERAL (
      SELECT n.id FROM finding n WHERE n.organisation_id = current_organisation() AND n.point_id = p.id
      ORDER BY n.reported_at DESC, n.id DESC LIMIT ${NEWEST_FINDINGS}) n)`);
  }

  async #takeFindingsOf(ids: readonly string[]): Promise<void> {
    const missing = [...new Set(ids)].filter((id) => !this.findings.has(id));
    if (missing.length > 0) await this.#takeFindings(sql`f.id = ANY (${missing}::uuid[])`);
  }

  async #takeFindings(where: Sql): Promise<void> {
    const rows = await this.db.$queryRaw<FindingRow[]>(sql`
      SELECT f.state, f.number, f.asset_id AS "assetId", f.site_id AS "siteId", f.reported_by AS "reportedBy", f.fact_id AS "factId", f.words,
        f.answer_due_at AS "answerDueAt", f.repeats, f.asks_planner AS "asksPlanner", CASE WHEN f.stands = 'read-again' THEN (
          SELECT m.moved_at FROM move m WHERE m.organisation_id = f.organisation_id AND m.subject_id = f.id ORDER BY m.version DESC LIMIT 1)
        END AS "askedAgainAt"
      FROM finding f WHERE f.organisation_id = current_organisation() AND ${where} ORDER BY f.id ${this.#lock(sql`f`)}`);
    for (const { state, answerDueAt, askedAgainAt, ...row } of rows) {
      if (this.findings.has(state.id)) continue;
      const times = { answerDueAt: answerDueAt?.getTime() ?? null, askedAgainAt: askedAgainAt?.getTime() ?? null };
      this.findings.set(state.id, { ...row, ...times, finding: state });
    }
  }

  /** Open orders at points and those that wait for a second proof. */
  async takeOrdersAt(pointIds: readonly string[]): Promise<void> {
    await this.#takeOrders(
      sql`o.point_id = ANY (${[...pointIds]}::uuid[]) AND (o.ended_at IS NULL OR o.proof_due_at IS NOT NULL)`,
    );
  }

  async #takeOrdersOf(ids: readonly string[]): Promise<void> {
    const missing = [...new Set(ids)].filter((id) => !this.orders.has(id));
    if (missing.length > 0) await this.#takeOrders(sql`o.id = ANY (${missing}::uuid[])`);
  }

  async #takeOrders(where: Sql): Promise<void> {
    const rows = await this.db.$queryRaw<OrderRow[]>(sql`
      SELECT o.state, o.number, o.finding_id AS "findingId", o.point_id AS "pointId", o.asset_id AS "assetId", o.site_id AS "siteId", o.rank,
        o.risk, o.consequence, o.target, o.created_at AS "createdAt", o.before_fact AS "beforeFact", o.after_fact AS "afterFact",
        f.state ->> 'criterion' AS criterion
      FROM work_order o JOIN finding f ON f.organisation_id = o.organisation_id AND f.id = o.finding_id
      WHERE o.organisation_id = current_organisation() AND ${where} ORDER BY o.id ${this.#lock(sql`o`)}`);
    for (const { state, createdAt, ...row } of rows)
      if (!this.orders.has(state.id)) this.orders.set(state.id, { ...row, createdAt: createdAt.getTime(), order: state });
  }

  readonly findingById = (id: string): Finding | undefined => this.findings.get(id)?.finding;
  readonly orderById = (id: string): WorkOrder | undefined => this.orders.get(id)?.order;

  findingsOf(orderId: string): HeldFinding[] {
    return [...this.findings.values()].filter(({ finding }) => finding.orderId === orderId);
  }

  addFinding(held: HeldFinding): void {
    this.findings.set(held.finding.id, held);
    this.#changedFindings.add(held.finding.id);
  }

  addOrder(held: HeldOrder): void {
    this.orders.set(held.order.id, held);
    this.#changedOrders.add(held.order.id);
  }

  /** The finding as it is now, with the trace of the move that led there, if it was one. */
  setFinding(held: HeldFinding, finding: Finding, record: Trace['record'] | null): void {
    const { state, ended } = held.finding;
    const isAsked = finding.state === 'read-again' && finding.ended === null;
    const isOther = finding.state !== state || finding.ended !== ended;
    if (isOther && !isAsked && !this.#readEnough.has(finding.id)) this.#readEnough.set(finding.id, null);
    held.finding = finding;
    this.#changedFindings.add(finding.id);
    if (record) this.#traces.push({ subject: 'finding', subjectId: finding.id, version: finding.version, record });
  }

  setOrder(held: HeldOrder, order: WorkOrder, record: Trace['record'] | null): void {
    held.order = order;
    this.#changedOrders.add(order.id);
    if (record) this.#traces.push({ subject: 'order', subjectId: order.id, version: order.version, record });
  }

  /** The reading that was asked for has come; its stop says so when it is closed. */
  readAgainBy(findingId: string, factId: string): void {
    this.#readEnough.set(findingId, factId);
  }

  addEvidence(findingId: string, factId: string): void {
    this.#evidence.push({ findingId, factId });
  }

  /** Puts everything back. New findings and orders get their numbers now, on arrival. */
  async save(): Promise<void> {
    const findings = [...this.#changedFindings].sort().map((id) => this.findings.get(id)!);
    const orders = [...this.#changedOrders].sort().map((id) => this.orders.get(id)!);
    await this.#giveNumbers('finding', findings);
    await this.#giveNumbers('order', orders);
    if (findings.length > 0) await this.#saveFindings(findings);
    if (orders.length > 0) await this.#saveOrders(orders);
    if (this.#evidence.length > 0) await this.#saveEvidence();
    if (this.#traces.length > 0) await this.#saveTraces();
    for (const [findingId, answeredBy] of this.#readEnough)
      await closeStops(this.db, { findingId, answeredBy, at: this.at, kinds: ['read-again'] });
    this.#readEnough.clear();
  }

  async #giveNumbers(kind: 'finding' | 'order', held: { number: number }[]): Promise<void> {
    const fresh = held.filter(({ number }) => number === 0);
    if (fresh.length === 0) return;
    const [given] = await this.db.$queryRaw<{ last: number }[]>(sql`
      INSERT INTO number_given AS n (organisation_id, kind, last) VALUES (${this.scope.organisationId}::uuid, ${kind}, ${fresh.length})
      ON CONFLICT (organisation_id, kind) DO UPDATE SET last = n.last + excluded.last RETURNING last`);
    for (const [i, one] of fresh.entries()) one.number = given!.last - fresh.length + 1 + i;
  }

  /** The unique key of point, mode and episode stands behind the lock of the point. */
  async #saveFindings(findings: readonly HeldFinding[]): Promise<void> {
    const rows = findings.map(({ finding, answerDueAt, ...row }) => ({
      ...row,
      id: finding.id,
      pointId: finding.pointId,
      mode: finding.mode,
      episode: finding.episode,
      state: finding,
      stands: finding.state,
      grade: finding.grade,
      reportedAt: iso(finding.reportedAt),
      answerDueAt: iso(answerDueAt),
      livingUntil: finding.ended === null ? iso(finding.livingWith?.until) : null,
      orderId: finding.orderId,
      endedAt: iso(finding.ended?.at),
      version: finding.version,
    }));
    const stored = await this.db.$executeRaw(sql`
      INSERT INTO finding (organisation_id, id, number, point_id, asset_id, site_id, mode, episode, state, stands, grade, reported_at,
        reported_by, fact_id, words, answer_due_at, living_until, repeats, order_id, ended_at, asks_planner, version)
      SELECT ${this.scope.organisationId}::uuid, r.id, r.number, r."pointId", r."assetId", r."siteId", r.mode, r.episode, r.state, r.stands, r.grade,
        r."reportedAt", r."reportedBy", r."factId", r.words, r."answerDueAt", r."livingUntil", r.repeats, r."orderId", r."endedAt", r."asksPlanner",
        r.version
      FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(id uuid, number int, "pointId" uuid, "assetId" uuid, "siteId" uuid, mode text,
        episode int, state jsonb, stands text, grade text, "reportedAt" timestamptz, "reportedBy" uuid, "factId" uuid, words text,
        "answerDueAt" timestamptz, "livingUntil" timestamptz, repeats uuid, "orderId" uuid, "endedAt" timestamptz, "asksPlanner" boolean, version int)
      ON CONFLICT (organisation_id, id) DO UPDATE SET mode = excluded.mode, episode = excluded.episode, state = excluded.state,
        stands = excluded.stands, grade = excluded.grade, words = excluded.words, answer_due_at = excluded.answer_due_at,
        living_until = excluded.living_until, order_id = excluded.order_id, ended_at = excluded.ended_at, asks_planner = excluded.asks_planner,
        version = excluded.version WHERE finding.number = excluded.number`);
    if (stored !== rows.length) throw new Error('a finding of the same key is there already');
  }

  async #saveOrders(orders: readonly HeldOrder[]): Promise<void> {
    const rows = orders.map(({ order, createdAt, criterion: _, ...row }) => ({
      ...row,
      id: order.id,
      state: order,
      stands: order.state,
      grade: order.grade,
      ownerId: order.ownerId,
      dueAt: iso(order.originalDueAt),
      livingUntil: iso(order.livingWith?.until),
      proofDueAt: iso(
        order.secondProof?.state === 'pending' ? order.secondProof.dueAt : order.state === 'done' ? order.proofDueAt : null,
      ),
      createdAt: iso(createdAt),
      endedAt: iso(order.endedAt),
      version: order.version,
    }));
    const stored = await this.db.$executeRaw(sql`
      INSERT INTO work_order (organisation_id, id, number, finding_id, point_id, asset_id, site_id, state, stands, grade, owner_id, due_at, rank,
        risk, consequence, target, living_until, proof_due_at, created_at, ended_at, before_fact, after_fact, version)
      SELECT ${this.scope.organisationId}::uuid, r.id, r.number, r."findingId", r."pointId", r."assetId", r."siteId", r.state, r.stands, r.grade,
        r."ownerId", r."dueAt", r.rank, r.risk, r.consequence, nullif(r.target, 'null'), r."livingUntil", r."proofDueAt", r."createdAt", r."endedAt",
        r."beforeFact", r."afterFact", r.version
      FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb) AS r(id uuid, number int, "findingId" uuid, "pointId" uuid, "assetId" uuid,
        "siteId" uuid, state jsonb, stands text, grade text, "ownerId" uuid, "dueAt" timestamptz, rank int, risk int, consequence int, target jsonb,
        "livingUntil" timestamptz, "proofDueAt" timestamptz, "createdAt" timestamptz, "endedAt" timestamptz, "beforeFact" uuid, "afterFact" uuid,
        version int)
      ON CONFLICT (organisation_id, id) DO UPDATE SET state = excluded.state, stands = excluded.stands, grade = excluded.grade,
        owner_id = excluded.owner_id, rank = excluded.rank, risk = excluded.risk, consequence = excluded.consequence, target = excluded.target,
        living_until = excluded.living_until, proof_due_at = excluded.proof_due_at, ended_at = excluded.ended_at,
        before_fact = excluded.before_fact, after_fact = excluded.after_fact, version = excluded.version WHERE work_order.number = excluded.number`);
    if (stored !== rows.length)
      throw refuseMove('An order with this id belongs to another finding; leave the id out or make a new one.');
  }

  async #saveEvidence(): Promise<void> {
    await this.db.$executeRaw(sql`
      INSERT INTO finding_evidence (organisation_id, finding_id, fact_id, added_at)
      SELECT ${this.scope.organisationId}::uuid, r."findingId", r."factId", ${new Date(this.at)}::timestamptz
      FROM jsonb_to_recordset(${JSON.stringify(this.#evidence)}::jsonb) AS r("findingId" uuid, "factId" uuid) ON CONFLICT DO NOTHING`);
  }

  async #saveTraces(): Promise<void> {
    await this.db.$executeRaw(sql`
      INSERT INTO move (organisation_id, subject_id, version, subject, record, moved_at, moved_by)
      SELECT ${this.scope.organisationId}::uuid, r."subjectId", r.version, r.subject, r.record, ${new Date(this.at)}::timestamptz,
        (r.record ->> 'by')::uuid
      FROM jsonb_to_recordset(${JSON.stringify(this.#traces)}::jsonb) AS r("subjectId" uuid, version int, subject text, record jsonb)`);
  }

  /** Everything that speaks for one finding speaks for the other too. */
  /** The greatest episode ever given at these points, whatever the kind of failure: ids of findings follow from it. */
  async lastEpisodes(pointIds: readonly string[]): Promise<Map<string, number>> {
    const rows = await this.db.$queryRaw<{ pointId: string; last: number }[]>(sql`
      SELECT point_id AS "pointId", max(episode)::int AS last FROM finding
      WHERE organisation_id = current_organisation() AND point_id = ANY (${[...pointIds]}::uuid[]) GROUP BY point_id`);
    return new Map(rows.map(({ pointId, last }) => [pointId, last]));
  }

  async copyEvidence(fromId: string, toId: string): Promise<void> {
    await this.db.$executeRaw(sql`
      INSERT INTO finding_evidence (organisation_id, finding_id, fact_id, added_at)
      SELECT organisation_id, ${toId}::uuid, fact_id, ${new Date(this.at)}::timestamptz FROM finding_evidence
      WHERE organisation_id = current_organisation() AND finding_id = ${fromId}::uuid ON CONFLICT DO NOTHING`);
  }
}

const iso = (at: number | null | undefined): string | null =>
  at === null || at === undefined ? null : new Date(at).toISOString();
