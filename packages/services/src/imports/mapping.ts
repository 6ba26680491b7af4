import { CONDITION_NAMES, type LimitGrade, type ProblemDetail, QUANTITIES, type Quantity, unitOf } from '@heatround/domain';
import type { Separator } from './csv.ts';
import { DATE_ORDERS, type DateOrder, isHour, isZone, readTime } from './times.ts';

export type ImportKind = 'readings' | 'work' | 'assets' | 'points' | 'limits' | 'routes';
/** Files of what is in the register rather than of what happened. */
export const isRegisterKind = (kind: ImportKind): boolean => kind !== 'readings' && kind !== 'work';

/** What columns mean; the same shape as the contract's. */
export interface ImportMapping {
  readonly columns: Readonly<Record<string, string>>;
  readonly defaults: Readonly<Record<string, string>>;
  readonly makeMissing: MakeMissing | null;
}

export interface MakeMissing {
  readonly roomId: string;
  readonly quantity: string;
  readonly criticality: 'A' | 'B' | 'C';
  readonly criticalityReason: string;
  readonly limitColumn: string | null;
  /** In the unit of the readings. */
  readonly limit: number | null;
  readonly limitGrade: LimitGrade;
  readonly direction: 'high' | 'low';
  readonly source: string;
  readonly reason: string;
}

/** One cell that is not as expected. Column null: it comes from the values for the whole file. */
export interface CellError {
  readonly column: string | null;
  readonly expected: string;
  readonly found: string;
}

const INPUTS = ['value', 'part', 'air', 'warm', 'cold', 'L1', 'L2', 'L3', 'amps:L1', 'amps:L2', 'amps:L3'] as const;
/** Prefix of the input of a like part with another name. */
const OWN_INPUT = 'input:';
const UNITS = CONDITION_NAMES.map((name) => `${name}Unit`);
const TIMES = ['takenAt', 'date', 'time', 'zone', 'hour', 'dateOrder', 'decimal'];

/** The words a column or a value for the whole file can stand for. */
export const TARGETS: Readonly<Record<ImportKind, readonly string[]>> = {
  readings: [
    'tag',
    'letter',
    ...TIMES,
    ...INPUTS,
    'unit',
    'quantity',
    'limit',
    ...CONDITION_NAMES,
    ...UNITS,
    'running',
    'instrument',
    'words',
  ],
  work: ['tag', 'letter', ...TIMES, 'work', 'words'],
  assets: [
    'site',
    'zone',
    'building',
    'room',
    'tag',
    'name',
    'template',
    'criticality',
    'criticalityReason',
    'lifeSafety',
    'letter',
    'pointName',
    'quantity',
    'unit',
    'criterion',
    'watch',
    'plan',
    'soon',
    'now',
    'direction',
    'source',
    'reason',
    'referenceLoad',
    'minimumLoad',
    'ratedCurrent',
    'emissivity',
    'spot',
    'decimal',
  ],
  points: [
    'tag',
    'letter',
    'pointName',
    'quantity',
    'unit',
    'criterion',
    'watch',
    'plan',
    'soon',
    'now',
    'direction',
    'source',
    'reason',
    'referenceLoad',
    'minimumLoad',
    'ratedCurrent',
    'emissivity',
    'spot',
    'decimal',
  ],
  limits: ['tag', 'letter', 'unit', 'criterion', 'direction', 'watch', 'plan', 'soon', 'now', 'source', 'reason', 'decimal'],
  routes: ['code', 'name', 'rule', 'start', 'hour', 'dateOrder', 'daysBefore', 'daysAfter', 'tag', 'letter'],
};

const isInput = (target: string): boolean => (INPUTS as readonly string[]).includes(target) || target.startsWith(OWN_INPUT);
/** Name of the input that a target stands for. @example inputName('input:T4') // 'T4' */
export const inputName = (target: string): string => (target.startsWith(OWN_INPUT) ? target.slice(OWN_INPUT.length) : target);

/** A mapping with the columns found: how a row is asked what it says about a target. */
export interface Reader {
  readonly inputs: readonly string[];
  /** Cell of the row without blanks around it; where it is empty, the value for the whole file; else ''. */
  text(cells: readonly string[], target: string): string;
  /** The cell alone; '' when no column stands for the target. */
  cell(cells: readonly string[], target: string): string;
  /** Does a column or a value for the whole file stand for this target? */
  has(target: string): boolean;
  /** Column of the target; null when it comes from the values for the whole file. */
  column(target: string): string | null;
  /** A figure as parseEntry takes it: where the file's own decimal mark is known, 1.250 is no longer in doubt. */
  figure(text: string): string;
  wrong(cells: readonly string[], target: string, expected: string): CellError;
  readonly decimal: 'comma' | 'point';
  readonly dateOrder: DateOrder | null;
  readonly hour: string | null;
}

/** Joins a mapping to the columns of its file; cheap, once per job. */
export function readerOf(mapping: ImportMapping, columns: readonly string[], separator: Separator): Reader {
  const limitColumn = mapping.makeMissing?.limitColumn;
  const named: Readonly<Record<string, string>> = { ...mapping.columns, ...(limitColumn ? { limit: limitColumn } : {}) };
  const position = new Map(Object.entries(named).map(([target, column]) => [target, columns.indexOf(column)]));
  const usual = new Map(Object.entries(mapping.defaults));
  const cell = (cells: readonly string[], target: string): string => {
    const index = position.get(target);
    return index === undefined || index < 0 ? '' : (cells[index] ?? '').trim();
  };
  const text = (cells: readonly string[], target: string): string => cell(cells, target) || (usual.get(target)?.trim() ?? '');
  const decimal = (usual.get('decimal') ?? (separator === ';' ? 'comma' : 'point')) === 'comma' ? 'comma' : 'point';
  const inDoubt = decimal === 'comma' ? /^([+\-−]?\d{1,3},\d{3})(?!\d|[.,])/ : /^([+\-−]?\d{1,3}\.\d{3})(?!\d|[.,])/;
  const column = (target: string) => named[target] ?? null;
  return {
    inputs: [...new Set([...position.keys(), ...usual.keys()])].filter(isInput),
    text,
    cell,
    has: (target) => position.has(target) || (usual.get(target) ?? '').trim() !== '',
    column,
    figure: (figure) => figure.replace(inDoubt, '$10'),
    wrong: (cells, target, expected) => ({
      column: column(target),
      expected,
      found: text(cells, target).slice(0, 200) || 'nothing',
    }),
    decimal,
    dateOrder: (usual.get('dateOrder') as DateOrder | undefined) ?? null,
    hour: usual.get('hour') ?? null,
  };
}

/** What is wrong with a mapping for this file; empty when rows can be read with it. */
export function checkMapping(kind: ImportKind, columns: readonly string[], mapping: ImportMapping): ProblemDetail[] {
  const problems: ProblemDetail[] = [];
  const known = (target: string) => TARGETS[kind].includes(target) || (kind === 'readings' && target.startsWith(OWN_INPUT));
  const say = (pointer: string, detail: string) => problems.push({ pointer: `#/mapping${pointer}`, detail });
  const pointerOf = (part: string, key: string) => `/${part}/${key.replaceAll('~', '~0').replaceAll('/', '~1')}`;
  for (const part of ['columns', 'defaults'] as const) {
    for (const target of Object.keys(mapping[part])) {
      if (!known(target)) say(pointerOf(part, target), `expected one of ${TARGETS[kind].join(', ')}`);
    }
  }
  for (const [target, column] of Object.entries(mapping.columns)) {
    if (!columns.includes(column)) {
      say(pointerOf('columns', target), `expected a column of the file (${columns.join(', ').slice(0, 300)}), found ${column}`);
    }
  }
  const defaults: Partial<Record<string, string>> = mapping.defaults;
  const has = (target: string) => target in mapping.columns || (defaults[target] ?? '').trim() !== '';
  const need = (target: string, what: string) => {
    if (!has(target)) say(pointerOf('columns', target), `expected ${what}`);
  };
  need('tag', 'the column that holds the tag, or one tag for the whole file');
  if (!isRegisterKind(kind)) {
    if (!has('takenAt') && !has('date')) say('/columns/takenAt', 'expected the column that holds the time, or date and time');
    if (defaults.zone && !isZone(defaults.zone))
      say('/defaults/zone', `expected a zone such as Europe/Dublin, found ${defaults.zone}`);
  }
  if (!isRegisterKind(kind) || kind === 'routes') {
    if (defaults.hour && !isHour(defaults.hour))
      say('/defaults/hour', `expected a time of day such as 08:00, found ${defaults.hour}`);
    if (defaults.dateOrder && !(DATE_ORDERS as readonly string[]).includes(defaults.dateOrder)) {
      say('/defaults/dateOrder', `expected ${DATE_ORDERS.join(' or ')}, found ${defaults.dateOrder}`);
    }
  }
  if (defaults.decimal && defaults.decimal !== 'comma' && defaults.decimal !== 'point') {
    say('/defaults/decimal', `expected comma or point, found ${defaults.decimal}`);
  }
  for (const [target, value] of Object.entries(mapping.defaults)) {
    if ((target === 'unit' || UNITS.includes(target)) && value.trim() && unitOf(value) === null) {
      say(pointerOf('defaults', target), `expected a unit such as °C, °F, K, mm/s, bar or A, found ${value}`);
    }
  }
  if (kind === 'work') need('work', 'the column that says what was done, or one kind of work for the whole file');
  if (kind === 'points') {
    need('letter', 'the column that holds the letter of the point');
    need('pointName', 'the column that holds the name of the point');
    need('quantity', 'the column that says what is measured, or one quantity for the whole file');
  }
  if (kind === 'limits') {
    if (!['watch', 'plan', 'soon', 'now'].some(has))
      say('/columns/watch', 'expected a column with the limits of Watch, Plan, Soon or Now');
    need('source', 'the column that says where the figures come from, or one source for the whole file');
    need('reason', 'the column that says why they are right, or one reason for the whole file');
  }
  if (kind === 'routes') {
    need('code', 'the column that holds the code of the route');
    need('name', 'the column that holds the name of the route');
    need('rule', 'the column that says how often it is walked, or one rule for the whole file');
    need('start', 'the column that holds the first planned time, or one for the whole file');
  }
  if (kind === 'assets') {
    need('name', 'the column that holds the name of the machine');
    need('criticality', 'the column that holds the criticality A, B or C, or one for the whole file');
    need('criticalityReason', 'the column that says why, or one reason for the whole file');
    for (const target of ['site', 'building', 'room'])
      need(target, `the column that holds the ${target}, or one for the whole file`);
  }
  if (kind === 'readings' && !Object.keys(mapping.columns).some(isInput)) {
    say(
      '/columns/value',
      'expected the column that holds the value, or those of the inputs (part and air; L1, L2, L3; warm and cold)',
    );
  }
  problems.push(...checkMakeMissing(kind, columns, mapping, has));
  return problems;
}

function checkMakeMissing(
  kind: ImportKind,
  columns: readonly string[],
  { makeMissing }: ImportMapping,
  has: (target: string) => boolean,
): ProblemDetail[] {
  if (!makeMissing) return [];
  const problem = (name: string, detail: string) => ({ pointer: `#/mapping/makeMissing/${name}`, detail });
  if (kind !== 'readings')
    return [{ pointer: '#/mapping/makeMissing', detail: 'only a file of readings can make missing points' }];
  const found: ProblemDetail[] = [];
  if (!(QUANTITIES as readonly string[]).includes(makeMissing.quantity)) {
    found.push(problem('quantity', `expected one of ${QUANTITIES.join(', ')}, found ${makeMissing.quantity}`));
  }
  const { limit, limitColumn } = makeMissing;
  if (limit === null && limitColumn === null && !has('limit')) {
    found.push(problem('limit', 'expected a figure for all points, or the column that holds the limit'));
  }
  if (limitColumn !== null && !columns.includes(limitColumn)) {
    found.push(problem('limitColumn', `expected a column of the file, found ${limitColumn}`));
  }
  return found;
}

/** Column names by which a target is recognised, best first, after lower-casing and dropping units. */
const NAMES: Readonly<Record<string, readonly string[]>> = {
  tag: ['tag', 'asset_tag', 'asset', 'machine', 'equipment', 'point_id', 'asset_id', 'machine_id', 'point_tag', 'id'],
  letter: ['letter', 'point_letter', 'point'],
  takenAt: [
    'taken_at',
    'takenat',
    'timestamp',
    'datetime',
    'date_time',
    'taken',
    'read_at',
    'measured_at',
    'recorded_at',
    'done_at',
    'when',
    'zeitstempel',
  ],
  date: ['date', 'day', 'datum'],
  time: ['time', 'clock', 'uhrzeit'],
  value: [
    'value',
    'reading',
    'temperature',
    'temp',
    'measurement',
    'result',
    'wert',
    'temperatur',
    'vibration',
    'pressure',
    'voltage',
    'level',
  ],
  part: ['part', 'part_temperature'],
  air: ['air', 'air_temperature'],
  warm: ['warm', 'warm_side'],
  cold: ['cold', 'cold_side'],
  L1: ['l1', 'phase_1', 'phase_l1'],
  L2: ['l2', 'phase_2', 'phase_l2'],
  L3: ['l3', 'phase_3', 'phase_l3'],
  'amps:L1': ['amps_l1', 'current_l1', 'i1'],
  'amps:L2': ['amps_l2', 'current_l2', 'i2'],
  'amps:L3': ['amps_l3', 'current_l3', 'i3'],
  unit: ['unit', 'units', 'uom', 'einheit'],
  quantity: ['quantity', 'parameter', 'measured'],
  limit: ['limit', 'alarm', 'alarm_limit', 'threshold', 'grenzwert'],
  load: ['load', 'load_percent', 'last'],
  current: ['current', 'amps'],
  ambient: ['ambient', 'ambient_temperature', 'room_temperature', 'air_around', 'room'],
  emissivity: ['emissivity'],
  reflected: ['reflected', 'reflected_temperature'],
  distance: ['distance'],
  angle: ['angle'],
  minutesRunning: ['minutesrunning', 'minutes_running'],
  outdoor: ['outdoor', 'outdoor_temperature', 'outside'],
  speed: ['speed', 'rpm'],
  hoursSinceRegreasing: ['hourssinceregreasing', 'hours_since_regreasing'],
  running: ['running', 'is_running', 'run', 'state'],
  instrument: ['instrument', 'camera', 'device', 'meter'],
  words: ['words', 'note', 'notes', 'comment', 'comments', 'remark', 'remarks', 'bemerkung'],
  work: ['work', 'event', 'work_done', 'action', 'job', 'done'],
  site: ['site'],
  zone: ['zone', 'time_zone', 'timezone'],
  building: ['building', 'block'],
  room: ['room', 'location', 'place'],
  name: ['name', 'asset_name', 'machine_name', 'route_name', 'description'],
  template: ['template', 'class', 'type'],
  criticality: ['criticality', 'crit'],
  criticalityReason: ['criticalityreason', 'criticality_reason', 'why_critical'],
  lifeSafety: ['lifesafety', 'life_safety'],
  pointName: ['pointname', 'point_name', 'point_description'],
  criterion: ['criterion'],
  watch: ['watch'],
  plan: ['plan'],
  soon: ['soon'],
  now: ['now'],
  direction: ['direction'],
  source: ['source', 'limit_source'],
  reason: ['reason', 'limit_reason'],
  referenceLoad: ['referenceload', 'reference_load', 'load_reference'],
  minimumLoad: ['minimumload', 'minimum_load'],
  ratedCurrent: ['ratedcurrent', 'rated_current', 'rated_amps'],
  spot: ['spot', 'where', 'aim'],
  code: ['code', 'route', 'route_code'],
  rule: ['rule', 'how_often', 'often', 'recurrence', 'frequency', 'every'],
  start: ['start', 'first', 'starts', 'from', 'first_time'],
  daysBefore: ['daysbefore', 'days_before'],
  daysAfter: ['daysafter', 'days_after'],
};

const UNIT_WORDS: Readonly<Record<string, string>> = {
  c: '°C',
  degc: '°C',
  celsius: '°C',
  f: '°F',
  degf: '°F',
  fahrenheit: '°F',
  k: 'K',
  pct: '%',
  percent: '%',
  mm_s: 'mm/s',
  mms: 'mm/s',
  in_s: 'in/s',
  bar: 'bar',
  kpa: 'kPa',
  psi: 'psi',
  v: 'V',
  a: 'A',
  amps: 'A',
  db: 'dB',
  min: 'min',
};

/** A name as words, and the unit it carries. @example partsOf('Bearing temp (°F)') // { words: 'bearing_temp', unit: '°F' } */
export function partsOf(name: string): { words: string; unit: string | null } {
  const bracket = /^(.*?)\s*[([]\s*([^)\]]+?)\s*[)\]]\s*$/.exec(name);
  const plain = (text: string) =>
    text
      .normalize('NFKD')
      .replace(/\p{M}/gu, '')
      .replace(/([a-z])([A-Z])/g, '$1_$2')
      .toLowerCase()
      .replace(/[^\p{L}\p{N}]+/gu, '_')
      .replace(/^_+|_+$/g, '');
  if (bracket?.[1] && unitOf(bracket[2]!) !== null) return { words: plain(bracket[1]), unit: unitOf(bracket[2]!) };
  const words = plain(name);
  for (const [suffix, unit] of Object.entries(UNIT_WORDS)) {
    if (words.endsWith(`_${suffix}`)) return { words: words.slice(0, -suffix.length - 1), unit };
  }
  return { words, unit: null };
}

/** A mapping guessed from the names of the columns; the first rows tell whether dates come without a time of day. */
export function proposeMapping(
  kind: ImportKind,
  columns: readonly string[],
  sample: readonly (readonly string[])[],
): ImportMapping {
  const found: Record<string, string> = {};
  const free = new Set(columns);
  const parts = new Map(columns.map((column) => [column, partsOf(column)]));
  const targets = TARGETS[kind].filter((target) => NAMES[target] !== undefined);
  const take = (target: string, fits: (words: string, name: string) => boolean) => {
    for (const name of found[target] === undefined ? NAMES[target]! : []) {
      const column = [...free].find((candidate) => fits(parts.get(candidate)!.words, name));
      if (column === undefined) continue;
      found[target] = column;
      free.delete(column);
      return;
    }
  };
  for (const target of targets) {
    // The plain target word, as in our own example files.
    const own = [...free].find((column) => column === target);
    if (own !== undefined) {
      found[target] = own;
      free.delete(own);
    }
  }
  for (const target of targets)
    take(target, (words, name) => words === name || words.replaceAll('_', '') === name.replaceAll('_', ''));
  for (const target of targets.filter((one) => ['tag', 'takenAt', 'value', 'load', 'ambient'].includes(one))) {
    take(target, (words, name) => words.split('_').includes(name));
  }
  if (!found.tag && found.letter) {
    found.tag = found.letter;
    delete found.letter;
  }
  if (!isRegisterKind(kind) && !found.takenAt) {
    const only = found.date && !found.time ? 'date' : found.time && !found.date ? 'time' : null;
    if (only) {
      found.takenAt = found[only]!;
      delete found[only];
    }
  }
  const defaults: Record<string, string> = {};
  const unitIn = (target: string) => (found[target] === undefined ? null : parts.get(found[target]!)!.unit);
  const input = [...INPUTS].find((name) => unitIn(name) !== null);
  if (kind === 'readings' && input && !found.unit) defaults.unit = unitIn(input)!;
  if (kind === 'readings') {
    for (const name of CONDITION_NAMES) if (unitIn(name)) defaults[`${name}Unit`] = unitIn(name)!;
  }
  const when = found.takenAt === undefined ? -1 : columns.indexOf(found.takenAt);
  const first = when < 0 ? '' : (sample[0]?.[when] ?? '');
  const rules = { zone: 'UTC', dateOrder: 'day-first' } as const;
  const isDay =
    first !== '' &&
    'expected' in readTime(first, { ...rules, hour: null }) &&
    'at' in readTime(first, { ...rules, hour: '08:00' });
  if (isDay) defaults.hour = '08:00';
  return { columns: found, defaults, makeMissing: null };
}

const FAMILIES: readonly (readonly [RegExp, Quantity])[] = [
  [/^(rise|temperature_rise)/, 'rise-over-ambient'],
  [/^(phase|like_part|temperature_difference|difference)/, 'like-part-difference'],
  [/^(above_base|over_base)/, 'above-base'],
  [/^(approach|spread)/, 'approach'],
  [/^(temp|surface)/, 'temperature'],
  [/^vib/, 'vibration-velocity'],
  [/^(sound|noise|ultrasound|ultrasonic)/, 'sound-level'],
  [/^press/, 'pressure'],
  [/^volt/, 'voltage'],
];

/** The quantity a word means, with the unit it may carry. @example quantityOf('vibration_mm_s') // { quantity: 'vibration-velocity', unit: 'mm/s' } */
export function quantityOf(text: string): { quantity: Quantity; unit: string | null } | null {
  const plain = text.trim().toLowerCase();
  if ((QUANTITIES as readonly string[]).includes(plain)) return { quantity: plain as Quantity, unit: null };
  const { words, unit } = partsOf(text);
  const own = QUANTITIES.find((quantity) => quantity.replaceAll('-', '_') === words);
  const quantity = own ?? FAMILIES.find(([pattern]) => pattern.test(words))?.[1];
  return quantity ? { quantity, unit } : null;
}

/** What to say where a quantity is not understood. */
export const QUANTITY_EXPECTED = `What is measured: ${QUANTITIES.join(', ')}.`;

/** Yes or no as files hold it; null when it is neither. */
export function yesOrNo(text: string): boolean | null {
  const plain = text.trim().toLowerCase();
  if (['yes', 'y', 'true', '1', 'on', 'running', 'ja'].includes(plain)) return true;
  if (['no', 'n', 'false', '0', 'off', 'stopped', 'not running', 'standstill', 'nein'].includes(plain)) return false;
  return null;
}
