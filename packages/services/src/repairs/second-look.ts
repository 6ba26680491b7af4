import {
  type CriterionKind,
  type Finding,
  type Grade,
  isOpenFinding,
  isWorseGrade,
  lookAgain,
  reportFinding,
  type SecondLook,
} from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { type Deps, idOf, mustBeAllowed, now, type Scope } from '../deps/index.ts';
import { windowsAhead } from '../rounds/index.ts';
import type { About } from './about.ts';
import { takeFinding } from './answer.ts';
import type { Desk, HeldFinding } from './desk.ts';
import { answerDue, joinFinding, worsen } from './making.ts';
import { problemOf, refuseMove } from './refusals.ts';

/** Evidence that came after a finding had been answered. */
export interface LateEvidence {
  readonly factId: string;
  readonly takenAt: Date;
  readonly receivedAt: Date;
  readonly by: string;
  readonly value: number | null;
  readonly grade: Grade | null;
  /** The reading that this one corrects. */
  readonly corrects: { readonly value: number | null; readonly grade: Grade | null } | null;
}

/** The newest few are told; the whole evidence stands on the order. */
const MOST_TOLD = 5;
/** So much of it goes along with a finding that is taken up anew. */
const MOST_TAKEN = 500;

/** What came since each of these findings was answered, oldest first. */
export async function lateEvidenceOf(
  db: TenantDb,
  findingIds: readonly string[],
  most = MOST_TOLD,
): Promise<Map<string, LateEvidence[]>> {
  const byFinding = new Map<string, LateEvidence[]>();
  if (findingIds.length === 0) return byFinding;
  const rows = await db.$queryRaw<(LateEvidence & { findingId: string })[]>(sql`
    SELECT n."findingId", n."factId", n."takenAt", n."receivedAt", n.by, n.value, n.grade, n.corrects
    FROM unnest(${[...findingIds]}::uuid[]) AS wanted(id) CROSS JOIN LATERAL (
      SELECT f.id AS "findingId", t.id AS "factId", t.taken_at AS "takenAt", t.received_at AS "receivedAt", t.value, t.grade,
        coalesce(m.name, 'somebody no longer here') AS by,
        CASE WHEN t.corrects_id IS NOT NULL THEN (SELECT jsonb_build_object('value', c.value, 'grade', c.grade) FROM fact c
          WHERE c.organisation_id = t.organisation_id AND c.id = t.corrects_id) END AS corrects
      FROM finding f
        JOIN finding_evidence e ON e.organisation_id = f.organisation_id AND e.finding_id = f.id
        JOIN fact t ON t.organisation_id = e.organisation_id AND t.id = e.fact_id
        LEFT JOIN membership m ON m.organisation_id = t.organisation_id AND m.person_id = t.submitted_by
      WHERE f.organisation_id = current_organisation() AND f.id = wanted.id AND e.added_at > greatest(f.ended_at,
        (SELECT v.moved_at FROM move v WHERE v.organisation_id = f.organisation_id AND v.subject_id = f.id ORDER BY v.version DESC LIMIT 1))
      ORDER BY t.received_at DESC, t.id DESC LIMIT ${most}) n
    ORDER BY n."receivedAt", n."factId"`);
  for (const { findingId, ...late } of rows) byFinding.set(findingId, [...(byFinding.get(findingId) ?? []), late]);
  return byFinding;
}

export interface LookedView {
  readonly id: string;
  readonly version: number;
  /** The finding that goes on with what came late. */
  readonly taken: { readonly id: string; readonly number: number } | null;
}

/**
 * Decides about evidence that came after a finding had been answered: what was decided stands, or the fault is taken up as a finding of
 * its own, which wants its answer like any other; where one is open at the point for this kind of failure, it takes the evidence.
 * @param version what the caller has seen; the same decision again changes nothing.
 * @throws Problem not-allowed, move-not-allowed where nobody asks or it goes on, stale-version.
 */
export async function lookAgainAt(
  deps: Deps,
  scope: Scope,
  findingId: string,
  { version, look }: { readonly version?: number | undefined; readonly look: SecondLook },
): Promise<LookedView> {
  mustBeAllowed(scope, 'answer-findings');
  return deps.database.inTenant(scope, async ({ db }) => {
    const { desk, held, about } = await takeFinding(db, scope, now(deps, scope), findingId);
    const { finding } = held;
    const takenId = await takenBefore(db, findingId, look);
    if (!held.asksPlanner) {
      if (takenId === undefined) throw refuseMove('Nothing has come since this finding was answered.');
      return { id: findingId, version: finding.version, taken: await numbered(db, takenId) };
    }
    if (finding.ended === null && finding.state === 'reported') throw refuseMove('This finding wants its answer itself.');
    const mover = { by: scope.personId, roles: scope.roles, at: desk.at, seenVersion: version };
    const looked = lookAgain(finding, look, mover);
    if ('refused' in looked) throw problemOf(looked, 'answer-findings', finding);
    const late = (await lateEvidenceOf(db, [findingId], MOST_TAKEN)).get(findingId) ?? [];
    const taken = look.kind === 'take-up' ? await takeUp(db, scope, desk, held, about, look, late) : null;
    held.asksPlanner = false;
    const given = taken === null ? looked.record.given : { ...looked.record.given, takenAs: taken.finding.id };
    desk.setFinding(held, looked.finding, { ...looked.record, given });
    await desk.save();
    return { id: findingId, version: held.finding.version, taken: taken && { id: taken.finding.id, number: taken.number } };
  });
}

/** What the newest trace of a finding says it was taken up as, if it is this very decision; undefined: it is not. */
async function takenBefore(db: TenantDb, findingId: string, look: SecondLook): Promise<string | null | undefined> {
  const [last] = await db.$queryRaw<{ move: string; why: string | null; takenAs: string | null }[]>(sql`
    SELECT record ->> 'move' AS move, record ->> 'why' AS why, record -> 'given' ->> 'takenAs' AS "takenAs" FROM move
    WHERE organisation_id = current_organisation() AND subject_id = ${findingId}::uuid ORDER BY version DESC LIMIT 1`);
  return last?.move === look.kind && last.why === (look.reason?.trim() || null) ? last.takenAs : undefined;
}

async function numbered(db: TenantDb, id: string | null): Promise<LookedView['taken']> {
  if (id === null) return null;
  const [row] = await db.$queryRaw<{ number: number }[]>(sql`
    SELECT number FROM finding WHERE organisation_id = current_organisation() AND id = ${id}::uuid`);
  return { id, number: row!.number };
}

/** A finding of its own for what came late, or the one that is open there for this kind of failure. */
async function takeUp(
  db: TenantDb,
  scope: Scope,
  desk: Desk,
  held: HeldFinding,
  about: About,
  { reason }: SecondLook,
  late: readonly LateEvidence[],
): Promise<HeldFinding> {
  const { pointId, mode, criterion, ended } = held.finding;
  await desk.takeFindingsAt([pointId]);
  const there = [...desk.findings.values()].filter(({ finding }) => finding.pointId === pointId);
  const grades = late.flatMap(({ grade }) => grade ?? []);
  const grade = grades.reduce((worst, one) => (isWorseGrade(one, worst) ? one : worst), grades[0] ?? held.finding.grade);
  const open = there.find(({ finding }) => isOpenFinding(finding) && isOfMode(finding, mode, criterion));
  if (open) {
    for (const { factId } of late) desk.addEvidence(open.finding.id, factId);
    joinFinding(desk, about, open, grade, null);
    await desk.takeAround({ findingIds: [open.finding.id] });
    const order = open.finding.orderId ? desk.orders.get(open.finding.orderId) : undefined;
    if (order) worsen(desk, about, order, grade, await windowsAhead(db, [about.siteId], desk.at));
    return open;
  }
  const episode = 1 + (await desk.lastEpisodes([pointId])).get(pointId)!;
  const id = idOf(scope.organisationId, 'finding', pointId, mode, episode);
  const finding = reportFinding({ id, pointId, mode, episode, criterion, grade, reportedAt: desk.at });
  const made: HeldFinding = {
    finding,
    number: 0,
    assetId: held.assetId,
    siteId: held.siteId,
    reportedBy: scope.personId,
    factId: late.at(-1)?.factId ?? null,
    words: reason?.trim() || null,
    answerDueAt: answerDue(about, finding, desk.at),
    repeats: ended?.outcome === 'proved' ? held.finding.id : null,
    asksPlanner: false,
    askedAgainAt: null,
  };
  desk.addFinding(made);
  for (const { factId } of late) desk.addEvidence(id, factId);
  return made;
}

const isOfMode = (finding: Finding, mode: string, criterion: CriterionKind | null): boolean =>
  finding.mode === mode || (criterion !== null && finding.criterion === criterion);
