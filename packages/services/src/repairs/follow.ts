import {
  type Fact,
  type FindingReported,
  findingFor,
  GRADES,
  type Grade,
  headFinding,
  isOpenFinding,
  isWorseGrade,
  type LimitSet,
  moveFinding,
  orderPutRight,
  type PutRight,
  parseReading,
  type Reading,
  type ReadingTaken,
  reportFinding,
  type Verdict,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { loadPoints, type RegisteredPoint } from '../assets/index.ts';
import type { Scope } from '../deps/index.ts';
import { idOf } from '../deps/index.ts';
import { limitsOf } from '../limits/index.ts';
import { hashOf, type Recorded } from '../readings/index.ts';
import { type WindowAhead, windowsAhead } from '../rounds/index.ts';
import { type About, aboutPoints } from './about.ts';
import { Desk, type HeldFinding, type HeldOrder } from './desk.ts';
import { answerDue, bringBackFinding, holdOrder, joinFinding, newOrder, tryMove, worsen } from './making.ts';
import {
  type BeforeReading,
  closeProofStops,
  firstProofStop,
  judge,
  type ProofReading,
  placeProofStops,
  proveAgainBy,
  proveBy,
  type StopWanted,
  settlingMs,
} from './proof.ts';

/** A fact that findings and orders follow, with its place in the batch. */
interface Followed {
  readonly fact: ReadingTaken | FindingReported | PutRight;
  readonly position: number;
  readonly verdict: Verdict | null;
  /** Its id was taken by another content, and this one counts now. */
  readonly isSecond: boolean;
  /** Epoch milliseconds; a device whose clock runs ahead cannot report tomorrow's fault. */
  readonly takenAt: number;
}

/** Mode of what was reported in words, until a person names another. */
const SEEN = 'seen';

/**
 * What facts that were just stored do about findings and orders, in the same transaction: a verdict of Plan or worse makes a finding
 * or joins the open one, a reading where a repair waits for its proof proves it or not, words and what was put right on the spot are
 * taken in. Storing a reading has locked its point, so that two phones with the same fault make one finding.
 *
 * A batch with nothing to follow costs one query; any other a fixed number, whatever the history.
 *
 * @param answers of recordFacts, in the order of the facts. @returns the same with what the person should know beside it.
 */
export async function followFacts(
  { db }: { readonly db: TenantDb },
  scope: Scope,
  { receivedAt, isImported }: { readonly receivedAt: number; readonly isImported: boolean },
  facts: readonly Fact[],
  answers: readonly Recorded[],
): Promise<Recorded[]> {
  const followed = isImported ? [] : await toFollow(db, facts, answers, receivedAt);
  const pointIds = await pointsConcerned(db, followed);
  if (pointIds.length === 0) return [...answers];
  const world = await loadWorld(db, scope, receivedAt, followed, pointIds);
  const notices = new Map<number, string>();
  // What a machine out of service shows says nothing about its faults.
  const inService = ({ fact, takenAt }: Followed): boolean =>
    world.points.has(fact.pointId) && takenAt < (world.retired.get(fact.pointId) ?? Number.POSITIVE_INFINITY);
  for (const one of followed.filter(inService).sort(byTime)) {
    const notice = follow(world, scope, one);
    if (notice !== null) notices.set(one.position, notice);
  }
  await world.desk.save();
  for (const close of world.closing) await close();
  const wanted = world.stops.filter(
    ({ held }) =>
      !world.retired.has(held.pointId) && (held.order.endedAt === null || held.order.secondProof?.state === 'pending'),
  );
  await placeProofStops(db, scope, wanted, world.points, world.limits, receivedAt);
  return answers.map((answer, i) => {
    const notice = notices.get(i);
    if (notice === undefined || answer.outcome === 'refused') return answer;
    return { ...answer, notice: answer.notice === null ? notice : `${answer.notice} ${notice}` };
  });
}

/** What was made, and readings that took the place of another content under their id. */
async function toFollow(
  db: TenantDb,
  facts: readonly Fact[],
  answers: readonly Recorded[],
  receivedAt: number,
): Promise<Followed[]> {
  const second = facts.filter((fact, i) => fact.kind === 'reading-taken' && answers[i]!.outcome === 'conflict');
  const standing = new Map(
    second.length === 0
      ? []
      : (
          await db.$queryRaw<{ id: string; hash: string }[]>(sql`
            SELECT id, encode(content_hash, 'hex') AS hash FROM fact
            WHERE organisation_id = current_organisation() AND id = ANY (${second.map(({ id }) => id)}::uuid[])`)
        ).map(({ id, hash }) => [id, hash]),
  );
  return facts.flatMap((fact, position) => {
    const answer = answers[position]!;
    const isSecond = answer.outcome === 'conflict' && standing.get(fact.id) === hashOf(fact);
    if (answer.outcome !== 'created' && !isSecond) return [];
    if (fact.kind !== 'reading-taken' && fact.kind !== 'finding-reported' && fact.kind !== 'put-right') return [];
    const takenAt = Math.min(Date.parse(fact.takenAt), receivedAt);
    return 'verdict' in answer ? [{ fact, position, verdict: answer.verdict, isSecond, takenAt }] : [];
  });
}

function byTime(a: Followed, b: Followed): number {
  return a.takenAt - b.takenAt || (a.fact.id < b.fact.id ? -1 : 1);
}

const isPlanOrWorse = (grade: Grade | null | undefined): boolean =>
  grade !== null && grade !== undefined && GRADES.indexOf(grade) >= GRADES.indexOf('plan');

/** Points at which something has to be done: a bad value, words, work, a correction, or something open there. */
async function pointsConcerned(db: TenantDb, followed: readonly Followed[]): Promise<string[]> {
  if (followed.length === 0) return [];
  const sure = followed.filter(
    ({ fact, verdict }) => fact.kind !== 'reading-taken' || fact.corrects !== undefined || isPlanOrWorse(verdict?.grade),
  );
  const known = new Set(sure.map(({ fact }) => fact.pointId));
  const others = [...new Set(followed.map(({ fact }) => fact.pointId))].filter((id) => !known.has(id));
  if (others.length === 0) return [...known];
  const open = await db.$queryRaw<{ pointId: string }[]>(sql`
    SELECT point_id AS "pointId" FROM finding WHERE organisation_id = current_organisation() AND point_id = ANY (${others}::uuid[])
      AND ended_at IS NULL
    UNION
    SELECT point_id FROM work_order WHERE organisation_id = current_organisation() AND point_id = ANY (${others}::uuid[])
      AND (ended_at IS NULL OR proof_due_at IS NOT NULL)`);
  return [...known, ...open.map(({ pointId }) => pointId)];
}

interface World {
  readonly desk: Desk;
  readonly points: ReadonlyMap<string, RegisteredPoint>;
  /** Since when points are out of service. */
  readonly retired: ReadonlyMap<string, number>;
  readonly abouts: ReadonlyMap<string, About>;
  readonly limits: ReadonlyMap<string, LimitSet[]>;
  readonly windows: readonly WindowAhead[];
  /** Readings that findings and work name, by id. */
  readonly before: Map<string, BeforeReading>;
  /** The greatest episode given at each point. */
  readonly episodes: Map<string, number>;
  /** Readings that count: of plausible time, not corrected, the content that stands. */
  readonly counting: ReadonlySet<string>;
  /** Evidence that is corrected: finding ids by the corrected reading. */
  readonly corrected: ReadonlyMap<string, readonly string[]>;
  /** When work recorded in this very batch has settled, by point. */
  readonly settled: Map<string, number>;
  readonly closing: (() => Promise<unknown>)[];
  readonly stops: StopWanted[];
  readonly db: TenantDb;
}

async function loadWorld(
  db: TenantDb,
  scope: Scope,
  at: number,
  followed: readonly Followed[],
  pointIds: readonly string[],
): Promise<World> {
  const desk = new Desk(db, scope, at);
  await desk.takeFindingsAt(pointIds);
  await desk.takeOrdersAt(pointIds);
  const open = [...desk.findings.values()].flatMap(({ finding }) => (finding.ended === null ? [finding.id] : []));
  await desk.takeAround({ findingIds: open, orderIds: [...desk.orders.keys()] });
  const theirs = [
    ...[...desk.findings.values()].map(({ finding }) => finding.pointId),
    ...[...desk.orders.values()].map((one) => one.pointId),
  ];
  const there = [...new Set([...pointIds, ...theirs])];
  // What was read before a machine went out of service may arrive after it.
  const points = new Map((await loadPoints(db, { pointIds: there }, 'out-of-service')).map((one) => [one.point.id, one]));
  const abouts = await aboutPoints(db, there);
  const waits = [...desk.orders.values()].some(({ order }) => order.state === 'done' || order.secondProof !== null);
  const hasWork = followed.some(({ fact }) => fact.kind === 'put-right');
  const limits = waits || hasWork ? await limitsOf(db, there) : new Map<string, LimitSet[]>();
  const windows = desk.orders.size > 0 || hasWork ? await windowsAhead(db, sitesOf(abouts), at) : [];
  const corrections = followed.flatMap(({ fact }) => (fact.kind === 'reading-taken' && fact.corrects ? [fact] : []));
  const named = [
    ...[...desk.orders.values()].flatMap(({ beforeFact }) => beforeFact ?? []),
    ...followed.flatMap(({ fact }) => (fact.kind === 'put-right' ? [fact.beforeId] : [])),
  ];
  return {
    db,
    desk,
    points,
    retired: await retiredOf(db, there),
    abouts,
    limits,
    windows,
    episodes: await desk.lastEpisodes(there),
    before: await readingsNamed(db, named),
    counting: await countingOf(db, followed),
    corrected: await correctedEvidence(db, corrections),
    settled: new Map(),
    closing: [],
    stops: [],
  };
}

async function retiredOf(db: TenantDb, pointIds: readonly string[]): Promise<Map<string, number>> {
  const rows = await db.$queryRaw<{ id: string; at: Date }[]>(sql`
    SELECT id, retired_at AS at FROM point
    WHERE organisation_id = current_organisation() AND id = ANY (${[...pointIds]}::uuid[]) AND retired_at IS NOT NULL`);
  return new Map(rows.map(({ id, at }) => [id, at.getTime()]));
}

const sitesOf = (abouts: ReadonlyMap<string, About>): string[] => [...new Set([...abouts.values()].map(({ siteId }) => siteId))];

/** Readings by id, of this organisation; ids that name nothing are left out. */
export async function readingsNamed(db: TenantDb, ids: readonly string[]): Promise<Map<string, BeforeReading>> {
  if (ids.length === 0) return new Map();
  const rows = await db.$queryRaw<({ id: string } & BeforeReading)[]>(sql`
    SELECT id, reading, verdict FROM fact WHERE organisation_id = current_organisation() AND id = ANY (${[...new Set(ids)]}::uuid[])
      AND kind = 'reading-taken'`);
  return new Map(rows.map(({ id, ...rest }) => [id, rest]));
}

async function countingOf(db: TenantDb, followed: readonly Followed[]): Promise<World['counting']> {
  const ids = followed.flatMap(({ fact }) => (fact.kind === 'reading-taken' ? [fact.id] : []));
  if (ids.length === 0) return new Set();
  const rows = await db.$queryRaw<{ id: string }[]>(sql`
    SELECT id FROM counted_reading WHERE organisation_id = current_organisation() AND id = ANY (${ids}::uuid[])`);
  return new Set(rows.map(({ id }) => id));
}

async function correctedEvidence(db: TenantDb, corrections: readonly ReadingTaken[]): Promise<World['corrected']> {
  if (corrections.length === 0) return new Map();
  const found = await db.$queryRaw<{ factId: string; findingIds: string[] }[]>(sql`
    SELECT e.fact_id AS "factId", array_agg(e.finding_id) AS "findingIds" FROM finding f
      JOIN finding_evidence e ON e.organisation_id = f.organisation_id AND e.finding_id = f.id
    WHERE f.organisation_id = current_organisation() AND f.point_id = ANY (${corrections.map(({ pointId }) => pointId)}::uuid[])
      AND e.fact_id = ANY (${corrections.map(({ corrects }) => corrects!)}::uuid[]) GROUP BY e.fact_id`);
  return new Map(found.map(({ factId, findingIds }) => [factId, findingIds]));
}

/** What one fact does. @returns a sentence for whoever handed it in, or null. */
function follow(world: World, scope: Scope, one: Followed): string | null {
  const { fact } = one;
  if (fact.kind === 'finding-reported') return takeWords(world, scope, fact, one.takenAt);
  if (fact.kind === 'put-right') return takePutRight(world, scope, fact, one.takenAt);
  if (fact.corrects !== undefined) {
    // A correction speaks for the finding it concerns, and a person looks again.
    for (const id of world.corrected.get(fact.corrects) ?? []) {
      const held = world.desk.findings.get(id);
      if (held === undefined) continue;
      world.desk.addEvidence(id, fact.id);
      askPlanner(world, held);
    }
    if (!world.counting.has(fact.id)) return null;
  }
  const parsed = parseReading(fact, world.points.get(fact.pointId)!.point);
  if ('errors' in parsed || one.verdict === null) return null;
  // What does not count, or came under an id that was taken, speaks for a fault; it answers nothing and proves nothing.
  const answers = !one.isSecond && world.counting.has(fact.id);
  if (answers) readAgain(world, fact, one.takenAt);
  const finding = takeVerdict(world, scope, fact, one.verdict, one.takenAt);
  if (!answers) return finding;
  return prove(world, fact, parsed.reading, one.verdict, one.takenAt) ?? finding;
}

function askPlanner({ desk }: World, held: HeldFinding): void {
  held.asksPlanner = true;
  desk.setFinding(held, { ...held.finding, version: held.finding.version + 1 }, null);
}

/** The reading that was asked for brings its finding back to whoever asked. */
function readAgain({ desk, abouts }: World, fact: ReadingTaken, takenAt: number): void {
  for (const held of desk.findings.values()) {
    const { finding, askedAgainAt } = held;
    if (finding.pointId !== fact.pointId || finding.state !== 'read-again' || askedAgainAt === null || takenAt <= askedAgainAt)
      continue;
    desk.addEvidence(finding.id, fact.id);
    desk.readAgainBy(finding.id, fact.id);
    bringBackFinding(desk, abouts.get(finding.pointId)!, held, 'read-again');
  }
}

/** A verdict of Plan or worse makes a finding or joins one. */
function takeVerdict(world: World, scope: Scope, fact: ReadingTaken, verdict: Verdict, takenAt: number): string | null {
  const { desk, abouts } = world;
  const findings = [...desk.findings.values()].map(({ finding }) => finding);
  const { pointId } = fact;
  const lastEpisode = world.episodes.get(pointId);
  const step = findingFor({ pointId, verdict, takenAt, isImported: false, lastEpisode }, findings);
  if (step.kind === 'none') return null;
  if (step.kind === 'create') {
    const id = idOf(scope.organisationId, 'finding', step.key.pointId, step.key.mode, step.key.episode);
    const { criterion, grade, repeats } = step;
    const finding = reportFinding({ ...step.key, id, criterion, grade, reportedAt: takenAt });
    addNew(world, scope, finding, { factId: fact.id, words: fact.words ?? null, repeats });
    return null;
  }
  const held = desk.findings.get(step.findingId)!;
  const about = abouts.get(held.finding.pointId)!;
  joinFinding(desk, about, held, verdict.grade!, fact.id);
  if (step.asksPlanner) askPlanner(world, held);
  const order = held.finding.ended === null && held.finding.orderId ? desk.orders.get(held.finding.orderId) : undefined;
  if (order) worsen(desk, abouts.get(order.pointId) ?? about, order, verdict.grade!, world.windows);
  return null;
}

function addNew(
  { desk, abouts, episodes }: World,
  scope: Scope,
  finding: ReturnType<typeof reportFinding>,
  given: Pick<HeldFinding, 'factId' | 'words' | 'repeats'>,
): HeldFinding {
  const about = abouts.get(finding.pointId)!;
  const held: HeldFinding = {
    finding,
    number: 0,
    assetId: about.assetId,
    siteId: about.siteId,
    reportedBy: scope.personId,
    answerDueAt: answerDue(about, finding, desk.at),
    asksPlanner: false,
    askedAgainAt: null,
    ...given,
  };
  desk.addFinding(held);
  episodes.set(finding.pointId, finding.episode);
  if (given.factId) desk.addEvidence(finding.id, given.factId);
  return held;
}

/** The open finding of a point that words are about: the worst, of equal ones the oldest. */
function openAt({ desk }: World, pointId: string): HeldFinding | null {
  const heads = [...desk.findings.values()]
    .filter(({ finding }) => finding.pointId === pointId)
    .map(({ finding }) => desk.findings.get(headFinding(finding, desk.findingById)?.id ?? finding.id)!)
    .filter(({ finding }) => isOpenFinding(finding));
  const order = (a: HeldFinding, b: HeldFinding): number =>
    GRADES.indexOf(b.finding.grade) - GRADES.indexOf(a.finding.grade) || a.finding.reportedAt - b.finding.reportedAt;
  return heads.toSorted(order)[0] ?? null;
}

/** Words join the open finding of the point, or make one at the grade the person gave. */
function takeWords(world: World, scope: Scope, fact: FindingReported, takenAt: number): null {
  const { desk, abouts } = world;
  const open = openAt(world, fact.pointId);
  if (open === null) {
    const finding = nextEpisode(world, scope, fact.pointId, SEEN, null, fact.grade, takenAt);
    addNew(world, scope, finding, { factId: null, words: fact.words, repeats: null });
    desk.addEvidence(finding.id, fact.id);
    return null;
  }
  open.words = open.words === null ? fact.words : `${open.words}\n${fact.words}`;
  desk.setFinding(open, open.finding, null);
  joinFinding(desk, abouts.get(open.finding.pointId)!, open, fact.grade, fact.id);
  const order = open.finding.orderId ? desk.orders.get(open.finding.orderId) : undefined;
  if (order) worsen(desk, abouts.get(order.pointId)!, order, fact.grade, world.windows);
  return null;
}

function nextEpisode(
  { episodes }: World,
  { organisationId }: Scope,
  pointId: string,
  mode: string,
  criterion: Parameters<typeof reportFinding>[0]['criterion'],
  grade: Grade,
  reportedAt: number,
): ReturnType<typeof reportFinding> {
  const episode = 1 + (episodes.get(pointId) ?? 0);
  const id = idOf(organisationId, 'finding', pointId, mode, episode);
  return reportFinding({ id, pointId, mode, episode, criterion, grade, reportedAt });
}

/**
 * What was put right at the stop is its own answer: the finding is agreed to in the name of whoever did it, and its order stands at
 * Done, to be proved like any other.
 */
function takePutRight(world: World, scope: Scope, fact: PutRight, takenAt: number): null {
  const { desk, abouts, points, stops } = world;
  const about = abouts.get(fact.pointId)!;
  const { point } = points.get(fact.pointId)!;
  const before = world.before.get(fact.beforeId);
  world.settled.set(fact.pointId, takenAt + settlingMs(point, fact.work));
  const held = openAt(world, fact.pointId) ?? findingOfWork(world, scope, fact, before, takenAt);
  desk.addEvidence(held.finding.id, fact.id);
  const mover = { by: scope.personId, roles: ['planner'], at: takenAt, isOwner: true };
  const open = held.finding.orderId ? desk.orders.get(held.finding.orderId) : undefined;
  if (open) {
    const place = points.get(open.pointId)?.point ?? point;
    if (before && open.pointId === fact.pointId) open.beforeFact = fact.beforeId;
    open.afterFact = null;
    if (finishOpen(desk, about, open, fact, mover)) stops.push(firstProofStop(open, place, fact.work, scope.personId));
    return null;
  }
  bringBackFinding(desk, about, held, 'ended-early', mover);
  const orderId = idOf(scope.organisationId, 'order', held.finding.id);
  const moved = moveFinding(held.finding, { kind: 'agree', orderId }, mover);
  if ('refused' in moved) return null;
  held.answerDueAt = null;
  desk.setFinding(held, moved.finding, moved.record);
  const { found, did } = fact;
  const order = orderPutRight(
    newOrder(about, held.finding, orderId, scope.personId, { agreedAt: takenAt, livedWithUntil: null }),
    { found, did, at: takenAt },
  );
  const made = holdOrder(desk, about, held, order, world.windows, before ? fact.beforeId : held.factId);
  const record = { move: 'finish', from: 'agreed', to: 'done', by: scope.personId, at: takenAt, why: `${found} / ${did}` };
  desk.setOrder(made, order, { ...record, given: { kind: 'finish' } });
  stops.push(firstProofStop(made, point, fact.work, scope.personId));
  return null;
}

function findingOfWork(
  world: World,
  scope: Scope,
  fact: PutRight,
  before: BeforeReading | undefined,
  takenAt: number,
): HeldFinding {
  const grade = before?.verdict?.grade ?? null;
  const criterion = before?.verdict?.because?.criterion ?? null;
  const worse = grade !== null && isWorseGrade(grade, 'watch') ? grade : 'watch';
  const finding = nextEpisode(world, scope, fact.pointId, criterion ?? SEEN, criterion, worse, takenAt);
  return addNew(world, scope, finding, { factId: before ? fact.beforeId : null, words: fact.found, repeats: null });
}

/** An order that was open already is slotted, begun and finished in one go, each with its trace. */
function finishOpen(desk: Desk, about: About, held: HeldOrder, fact: PutRight, mover: Parameters<typeof tryMove>[3]): boolean {
  const { at } = mover;
  const { state } = held.order;
  if (state === 'living-with') {
    tryMove(desk, held, { kind: 'come-back', cause: 'ended-early' }, mover);
    const finding = desk.findings.get(held.findingId);
    if (finding) {
      bringBackFinding(desk, about, finding, 'ended-early', mover);
      const agreed = moveFinding(finding.finding, { kind: 'agree', orderId: held.order.id }, mover);
      if (!('refused' in agreed)) {
        finding.answerDueAt = null;
        desk.setFinding(finding, agreed.finding, agreed.record);
      }
    }
  }
  if (state === 'stuck') tryMove(desk, held, { kind: 'free' }, mover);
  if (held.order.state === 'agreed') tryMove(desk, held, { kind: 'slot', windowId: null, from: at, to: at + 60_000 }, mover);
  if (held.order.state === 'slotted') tryMove(desk, held, { kind: 'start' }, mover);
  return tryMove(desk, held, { kind: 'finish', found: fact.found, did: fact.did }, mover);
}

/** Orders at the point that wait for a reading like this one. */
function prove(world: World, fact: ReadingTaken, reading: Reading, verdict: Verdict, takenAt: number): string | null {
  const { desk, points, limits, before, closing, stops, db } = world;
  const { point } = points.get(fact.pointId)!;
  const sets = limits.get(fact.pointId) ?? [];
  let notice: string | null = null;
  for (const held of desk.orders.values()) {
    const { order } = held;
    if (held.pointId !== fact.pointId) continue;
    const proof: ProofReading = { id: fact.id, takenAt, reading, verdict, settledAt: world.settled.get(fact.pointId) ?? null };
    const judged = () => judge(point, sets, held, proof, before.get(held.beforeFact ?? ''));
    if (order.secondProof?.state === 'pending') {
      const judgement = judged();
      if (proveAgainBy(desk, held, judgement, takenAt)) {
        closing.push(() => closeProofStops(db, order.id, fact.id, desk.at));
        notice = judgement.sentence;
      }
    }
    if (order.state !== 'done' || takenAt <= order.doneAt!) continue;
    const step = proveBy(desk, held, judged(), proof);
    notice = step.notice;
    closing.push(() => closeProofStops(db, order.id, fact.id, desk.at));
    dropStops(stops, order.id);
    if (step.stop) stops.push(step.stop);
  }
  return notice;
}

/** Stops asked for earlier in the batch that its own readings have made needless. */
function dropStops(stops: StopWanted[], orderId: string): void {
  for (let i = stops.length - 1; i >= 0; i--) if (stops[i]!.held.order.id === orderId) stops.splice(i, 1);
}
