import type { Action } from '@heatround/domain';
import { type Sql, sql } from '@heatround/platform/database';

/** What kind of cell a column holds: figures and instants stay such in a workbook. */
export type CellKind = 'text' | 'number' | 'instant' | 'yes-no';

export interface Column {
  readonly name: string;
  /** Expression over the tables of `from`. */
  readonly of: Sql;
  readonly kind: CellKind;
}

/** One table as it is taken out. */
export interface TableOfExport {
  readonly right: Action;
  /** Tables and joins; every row once. */
  readonly from: Sql;
  /** Columns of the primary key within the organisation, by which pages follow each other. */
  readonly key: readonly { readonly of: Sql; readonly type: 'uuid' | 'int' | 'text' | 'bytea' | 'bigint' }[];
  readonly columns: readonly Column[];
}

const raw = (text: string): Sql => sql`${sql.raw(text)}`;
const text = (name: string, of: string): Column => ({ name, of: raw(of), kind: 'text' });
const number = (name: string, of: string): Column => ({ name, of: raw(of), kind: 'number' });
const instant = (name: string, of: string): Column => ({ name, of: raw(of), kind: 'instant' });
const yesNo = (name: string, of: string): Column => ({ name, of: raw(of), kind: 'yes-no' });
const list = (name: string, of: string): Column => text(name, `array_to_string(${of}, ', ')`);
const person = (name: string, of: string): Column =>
  text(name, `(SELECT n.name FROM membership n WHERE n.organisation_id = x.organisation_id AND n.person_id = ${of})`);
const uuid = (of: string) => ({ of: raw(of), type: 'uuid' as const });

const OWN = 'x.organisation_id = current_organisation()';
const ASSET = 'JOIN asset a ON a.organisation_id = x.organisation_id AND a.id = x.asset_id';
const POINT = `JOIN point p ON p.organisation_id = x.organisation_id AND p.id = x.point_id
  JOIN asset a ON a.organisation_id = p.organisation_id AND a.id = p.asset_id`;
const SITE = 'JOIN site s ON s.organisation_id = x.organisation_id AND s.id = x.site_id';
const from = (table: string, ...joins: string[]): Sql => raw(`${table} x ${joins.join(' ')} WHERE ${OWN}`);
const TAG = [text('tag', 'a.tag'), text('letter', 'p.letter')];
const input = (name: string): Column => number(name, `(x.reading #>> '{inputs,${name}}')::float8`);
const condition = (name: string): Column => number(name, `(x.reading #>> '{conditions,${name}}')::float8`);

/** A fact whose file was taken back counts no longer. */
const TAKEN_BACK = yesNo(
  'takenBack',
  'EXISTS (SELECT 1 FROM fact_taken_back b WHERE b.organisation_id = x.organisation_id AND b.fact_id = x.id)',
);

/**
 * Everything an organisation has, table by table. Where a table can be brought in as well, its columns have the words that bringing
 * in knows, so that what is taken out fits again.
 */
export const TABLES = {
  places: {
    right: 'see',
    from: from(
      'room',
      'JOIN building b ON b.organisation_id = x.organisation_id AND b.id = x.building_id',
      'JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id',
    ),
    key: [uuid('x.id')],
    columns: [
      text('site', 's.name'),
      text('zone', 's.zone'),
      text('building', 'b.name'),
      text('room', 'x.name'),
      text('roomId', 'x.id'),
    ],
  },
  assets: {
    right: 'see',
    from: from(
      'asset',
      'JOIN room r ON r.organisation_id = x.organisation_id AND r.id = x.room_id',
      'JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id',
      'JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id',
    ),
    key: [uuid('x.id')],
    columns: [
      text('site', 's.name'),
      text('zone', 's.zone'),
      text('building', 'b.name'),
      text('room', 'r.name'),
      text('tag', 'x.tag'),
      text('name', 'x.name'),
      text('template', 'x.template'),
      text('criticality', 'x.criticality'),
      text('criticalityReason', 'x.criticality_reason'),
      yesNo('lifeSafety', 'x.life_safety'),
      list('hazards', 'x.hazards'),
      text(
        'olderTags',
        `(SELECT string_agg(t.tag, ', ' ORDER BY t.tag) FROM asset_tag t WHERE t.organisation_id = x.organisation_id
          AND t.asset_id = x.id AND NOT t.is_current)`,
      ),
      instant('retiredAt', 'x.retired_at'),
      text('assetId', 'x.id'),
    ],
  },
  points: {
    right: 'see',
    from: from('point', ASSET),
    key: [uuid('x.id')],
    columns: [
      text('tag', 'a.tag'),
      text('letter', 'x.letter'),
      text('pointName', 'x.name'),
      text('quantity', 'x.quantity'),
      text('unit', 'x.unit'),
      text('basis', 'x.basis'),
      number('referenceLoad', 'x.reference_load_percent'),
      number('minimumLoad', 'x.minimum_load_percent'),
      number('loadExponent', 'x.load_exponent'),
      number('ratedCurrent', 'x.rated_current_a'),
      number('emissivity', 'x.emissivity'),
      yesNo('infrared', 'x.infrared'),
      list('needs', 'x.needs'),
      list('parts', 'x.parts'),
      number('base', 'x.base_value'),
      text('baseReason', 'x.base_reason'),
      number('uncertainty', 'x.uncertainty'),
      text('spot', 'x.spot'),
      instant('retiredAt', 'x.retired_at'),
      text('pointId', 'x.id'),
    ],
  },
  limits: {
    right: 'see',
    from: from('limit_set', POINT),
    key: [uuid('x.id')],
    columns: [
      ...TAG,
      number('version', 'x.version'),
      text('criterion', 'x.criterion'),
      text('direction', 'x.direction'),
      number('watch', 'x.watch'),
      number('plan', 'x.plan'),
      number('soon', 'x.soon'),
      number('now', 'x.now'),
      text('holds', 'x.holds::text'),
      text('source', 'x.source'),
      text('reason', 'x.reason'),
      person('author', 'x.author_id'),
      instant('validFrom', 'x.valid_from'),
      text('reviewOn', 'x.review_on::text'),
    ],
  },
  readings: {
    right: 'see',
    from: raw(`fact x ${POINT} WHERE ${OWN} AND x.kind = 'reading-taken'`),
    key: [uuid('x.id')],
    columns: [
      ...TAG,
      instant('takenAt', 'x.taken_at'),
      input('value'),
      text('unit', 'p.unit'),
      ...['part', 'air', 'warm', 'cold', 'L1', 'L2', 'L3'].map(input),
      ...['load', 'ambient', 'emissivity', 'reflected', 'distance', 'minutesRunning', 'outdoor'].map(condition),
      text('running', `CASE x.reading ->> 'running' WHEN 'true' THEN 'yes' WHEN 'false' THEN 'no' END`),
      text('instrument', `x.reading ->> 'instrument'`),
      text('words', `x.content ->> 'words'`),
      number('figure', 'x.value'),
      text('grade', 'x.grade'),
      text('comparability', 'x.comparability'),
      text('asEntered', `(x.content -> 'inputs')::text`),
      text('conditionsAsEntered', `(x.content -> 'conditions')::text`),
      instant('receivedAt', 'x.received_at'),
      person('by', 'x.submitted_by'),
      text('corrects', 'x.corrects_id'),
      text('roundId', 'x.round_id'),
      text('readingId', 'x.id'),
      TAKEN_BACK,
    ],
  },
  answers: {
    right: 'see',
    from: raw(
      `fact x LEFT JOIN point p ON p.organisation_id = x.organisation_id AND p.id = x.point_id
       LEFT JOIN asset a ON a.organisation_id = x.organisation_id AND a.id = coalesce(x.asset_id, p.asset_id)
       WHERE ${OWN} AND x.kind <> 'reading-taken'`,
    ),
    key: [uuid('x.id')],
    columns: [
      ...TAG,
      instant('takenAt', 'x.taken_at'),
      text('kind', 'x.kind'),
      text('work', `x.content ->> 'work'`),
      text('words', `x.content ->> 'words'`),
      text('asEntered', 'x.content::text'),
      instant('receivedAt', 'x.received_at'),
      person('by', 'x.submitted_by'),
      text('roundId', 'x.round_id'),
      text('answerId', 'x.id'),
      TAKEN_BACK,
    ],
  },
  forecasts: {
    right: 'see',
    from: from('forecast', POINT),
    key: [
      uuid('x.point_id'),
      { of: raw('x.limit_grade'), type: 'text' },
      { of: raw('x.revision'), type: 'bigint' },
      { of: raw('x.method'), type: 'text' },
    ],
    columns: [
      ...TAG,
      text('limitGrade', 'x.limit_grade'),
      number('limit', 'x.limit_value'),
      text('method', 'x.method'),
      instant('cutAt', 'x.cut_at'),
      instant('madeAt', 'x.made_at'),
      text('shown', 'x.shown'),
      text('reason', 'x.reason'),
      instant('earliestAt', 'x.earliest_at'),
      instant('likelyAt', 'x.likely_at'),
      instant('latestAt', 'x.latest_at'),
      number('probabilityMoving', 'x.probability_moving'),
      number('readings', 'x.reading_count'),
      text('outcome', 'x.outcome'),
    ],
  },
  routes: {
    right: 'see',
    from: from('route', SITE),
    key: [uuid('x.id')],
    columns: [
      text('site', 's.name'),
      text('code', 'x.code'),
      text('name', 'x.name'),
      text('rule', 'x.rule'),
      text('startLocal', 'x.start_local'),
      text('zone', 's.zone'),
      text('window', 'x.round_window::text'),
      text('season', 'x.season::text'),
      person('walker', 'x.walker_id'),
      number('aboutMinutes', 'x.about_minutes'),
      text('beforeYouLeave', 'x.before_you_leave'),
      instant('retiredAt', 'x.retired_at'),
      text('routeId', 'x.id'),
    ],
  },
  stops: {
    right: 'see',
    from: from('route_stop', POINT, 'JOIN route r ON r.organisation_id = x.organisation_id AND r.id = x.route_id'),
    key: [uuid('x.route_id'), uuid('x.point_id')],
    columns: [text('code', 'r.code'), number('position', 'x.position'), ...TAG, text('pointName', 'p.name')],
  },
  rounds: {
    right: 'see',
    from: from('round', 'JOIN route r ON r.organisation_id = x.organisation_id AND r.id = x.route_id'),
    key: [uuid('x.id')],
    columns: [
      text('code', 'r.code'),
      instant('plannedAt', 'x.planned_at'),
      instant('earliestAt', 'x.earliest_at'),
      instant('latestAt', 'x.latest_at'),
      instant('endsAt', 'x.ends_at'),
      person('walker', 'x.walker_id'),
      person('takenBy', 'x.taken_by'),
      instant('startedAt', 'x.started_at'),
      instant('handedInAt', 'x.handed_in_at'),
      person('handedInBy', 'x.handed_in_by'),
      number('stops', 'x.stop_count'),
      number('answered', 'x.answered_count'),
      number('read', 'x.read_count'),
      instant('lookedOverAt', 'x.looked_over_at'),
      person('lookedOverBy', 'x.looked_over_by'),
      text('calledOff', `x.called_off ->> 'reason'`),
      instant('closedAt', 'x.closed_at'),
      text('roundId', 'x.id'),
    ],
  },
  windows: {
    right: 'see',
    from: from('shutdown_window', SITE),
    key: [uuid('x.id')],
    columns: [
      text('site', 's.name'),
      text('name', 'x.name'),
      text('building', '(SELECT b.name FROM building b WHERE b.organisation_id = x.organisation_id AND b.id = x.building_id)'),
      text('tag', '(SELECT a.tag FROM asset a WHERE a.organisation_id = x.organisation_id AND a.id = x.asset_id)'),
      instant('fromAt', 'x.from_at'),
      instant('toAt', 'x.to_at'),
      instant('cancelledAt', 'x.cancelled_at'),
      text('windowId', 'x.id'),
    ],
  },
  findings: {
    right: 'see',
    from: from('finding', POINT),
    key: [uuid('x.id')],
    columns: [
      number('number', 'x.number'),
      ...TAG,
      text('kindOfFailure', 'x.mode'),
      text('state', 'x.stands'),
      text('grade', 'x.grade'),
      instant('reportedAt', 'x.reported_at'),
      person('reportedBy', 'x.reported_by'),
      text('words', 'x.words'),
      instant('answerDueAt', 'x.answer_due_at'),
      instant('livingUntil', 'x.living_until'),
      instant('endedAt', 'x.ended_at'),
      text('outcome', `x.state #>> '{ended,outcome}'`),
      text('orderId', 'x.order_id'),
      text('readingId', 'x.fact_id'),
      text('findingId', 'x.id'),
    ],
  },
  orders: {
    right: 'see',
    from: from('work_order', POINT),
    key: [uuid('x.id')],
    columns: [
      number('number', 'x.number'),
      ...TAG,
      text('state', 'x.stands'),
      text('grade', 'x.grade'),
      number('risk', 'x.risk'),
      number('consequence', 'x.consequence'),
      person('owner', 'x.owner_id'),
      instant('dueAt', 'x.due_at'),
      instant('livingUntil', 'x.living_until'),
      instant('proofDueAt', 'x.proof_due_at'),
      number('target', `(x.target ->> 'value')::float8`),
      instant('createdAt', 'x.created_at'),
      instant('endedAt', 'x.ended_at'),
      text('before', 'x.before_fact'),
      text('after', 'x.after_fact'),
      text('findingId', 'x.finding_id'),
      text('orderId', 'x.id'),
    ],
  },
  moves: {
    right: 'see',
    from: from('move'),
    key: [uuid('x.subject_id'), { of: raw('x.version'), type: 'int' }],
    columns: [
      text('of', 'x.subject'),
      text('ofId', 'x.subject_id'),
      number('step', 'x.version'),
      text('move', `x.record #>> '{given,kind}'`),
      text('from', `x.record ->> 'from'`),
      text('to', `x.record ->> 'to'`),
      text('why', `x.record ->> 'why'`),
      instant('at', 'x.moved_at'),
      person('by', 'x.moved_by'),
    ],
  },
  people: {
    right: 'administer',
    from: from('membership'),
    key: [uuid('x.person_id')],
    columns: [
      text('name', 'x.name'),
      list('roles', 'x.roles'),
      text(
        'sites',
        `(SELECT string_agg(s.name, ', ' ORDER BY s.name) FROM site s WHERE s.organisation_id = x.organisation_id AND s.id = ANY (x.site_ids))`,
      ),
      instant('endsAt', 'x.ends_at'),
      instant('createdAt', 'x.created_at'),
      text('personId', 'x.person_id'),
    ],
  },
} as const satisfies Readonly<Record<string, TableOfExport>>;

export type ExportName = keyof typeof TABLES;
