/**
 * Projects the time to limit for files of cases, so that any set of cases can be scored by an outside scorer.
 *
 *   npm run --silent project-cases -- --root <folder> --cases <cases.json>[,<more.json>] [--cases …] > predictions.json
 *
 * A case names its series (a CSV file below the root, rows of one `point_id` where the file holds several), limit, direction,
 * day of asking, last repair and reference conditions. Nothing else of a case is looked at: what the scorer knows about the
 * outcome never reaches the estimator. Opens the case files and the series they name, nothing more.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { type Projection, type ProjectionInput, type ProjectionReading, projectTimeToLimit } from '../src/projection/index.ts';

const USAGE = 'usage: project-cases --root <folder> --cases <cases.json>[,<more.json>] [--cases <more.json>]';

/** The fields of a case an estimator may see. */
interface Case {
  readonly caseId: string;
  readonly series: string;
  readonly pointId: string;
  readonly limit: number;
  readonly direction: 'up' | 'down';
  readonly cutDay: number;
  readonly repairDay: number | null;
  readonly referenceLoadPercent: number | null;
  readonly referenceAmbientC: number | null;
}

type Prediction =
  | { status: 'projection'; p10: number; p50: number | null; p90: number | null }
  | { status: 'no_projection'; reason: string };

/** What the caller has to mend; shown without a stack. */
class InputError extends Error {}

function main(args: readonly string[]): void {
  const { root, caseFiles } = readArguments(args);
  const series = new Map<string, Map<string, ProjectionReading[]>>();
  const predictions: Record<string, Prediction> = {};
  for (const file of caseFiles) {
    for (const each of readCases(file)) {
      let points = series.get(each.series);
      if (points === undefined) {
        points = readSeries(join(root, each.series));
        series.set(each.series, points);
      }
      predictions[each.caseId] = toPrediction(projectTimeToLimit(toInput(each, points.get(each.pointId) ?? [])));
    }
  }
  process.stdout.write(`${JSON.stringify(predictions, null, 1)}\n`);
}

function readArguments(args: readonly string[]): { root: string; caseFiles: string[] } {
  let values: { root?: string; cases?: string[] };
  try {
    values = parseArgs({
      args: [...args],
      options: { root: { type: 'string' }, cases: { type: 'string', multiple: true } },
    }).values;
  } catch (error) {
    throw new InputError(`${error instanceof Error ? error.message : String(error)}\n${USAGE}`);
  }
  const caseFiles = (values.cases ?? []).flatMap((list) => list.split(',')).filter((file) => file !== '');
  if (!values.root) throw new InputError(`--root is missing: the folder the series are named from\n${USAGE}`);
  if (caseFiles.length === 0) throw new InputError(`--cases is missing: at least one file of cases\n${USAGE}`);
  return { root: values.root, caseFiles };
}

function readCases(file: string): Case[] {
  let content: unknown;
  try {
    content = JSON.parse(readText(file));
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw new InputError(`${file} is not JSON: ${error instanceof Error ? error.message : String(error)}`);
  }
  const cases = (content as { cases?: unknown } | null)?.cases;
  if (!Array.isArray(cases)) throw new InputError(`${file} holds no list "cases"`);
  return cases.map((raw: Record<string, unknown>) => toCase(raw, file));
}

function toCase(raw: Record<string, unknown>, file: string): Case {
  const reference = (raw.reference ?? {}) as Record<string, unknown>;
  const caseId = String(raw.case_id ?? '');
  const where = `${file}, case ${caseId === '' ? 'without case_id' : caseId}`;
  if (caseId === '' || typeof raw.series !== 'string') throw new InputError(`${where}: case_id and series are needed`);
  const limit = toNumber(raw.limit);
  if (limit === null) throw new InputError(`${where}: limit is not a number`);
  return {
    caseId,
    series: raw.series,
    pointId: typeof raw.point_id === 'string' ? raw.point_id : '',
    limit,
    direction: raw.direction === 'down' ? 'down' : 'up',
    cutDay: toDay(raw.cut_date, `${where}: cut_date`),
    repairDay: raw.repair_date ? toDay(raw.repair_date, `${where}: repair_date`) : null,
    referenceLoadPercent: toNumber(reference.load_pct),
    referenceAmbientC: toNumber(reference.ambient_c),
  };
}

/** Readings by point; files of one series have no `point_id` and are kept under the empty name. */
function readSeries(file: string): Map<string, ProjectionReading[]> {
  const [header = '', ...lines] = readText(file).split(/\r?\n/);
  const names = header.split(',');
  const column = (name: string): number => names.indexOf(name);
  const at = {
    point: column('point_id'),
    date: column('date'),
    value: column('value'),
    load: column('load_pct'),
    ambient: column('ambient_c'),
  };
  if (at.date < 0 || at.value < 0) throw new InputError(`${file} needs the columns date and value, it has: ${header}`);
  const points = new Map<string, ProjectionReading[]>();
  lines.forEach((line, index) => {
    if (line.trim() === '') return;
    const cells = line.split(',');
    const point = cells[at.point] ?? '';
    const readings = points.get(point) ?? [];
    points.set(point, readings);
    readings.push({
      day: toDay(cells[at.date], `${file}, line ${index + 2}: date`),
      value: toNumber(cells[at.value]) ?? Number.NaN,
      loadPercent: toNumber(cells[at.load]),
      ambientC: toNumber(cells[at.ambient]),
    });
  });
  return points;
}

function readText(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new InputError(`cannot read ${file}: ${error instanceof Error ? error.message : String(error)}`);
  }
}

function toInput(each: Case, readings: readonly ProjectionReading[]): ProjectionInput {
  const { cutDay, repairDay, limit, direction, referenceLoadPercent, referenceAmbientC } = each;
  return { readings, cutDay, repairDay, limit, direction, referenceLoadPercent, referenceAmbientC };
}

function toPrediction(projection: Projection): Prediction {
  return projection.status === 'projection'
    ? { status: 'projection', p10: projection.p10Days, p50: projection.p50Days, p90: projection.p90Days }
    : { status: 'no_projection', reason: projection.reason };
}

/** Whole days since 1970 of a date written YYYY-MM-DD. */
function toDay(text: unknown, where: string): number {
  const day = Date.parse(`${String(text).slice(0, 10)}T00:00:00Z`) / 86_400_000;
  if (!Number.isFinite(day)) throw new InputError(`${where} is not a date like 2026-01-31: ${String(text)}`);
  return day;
}

function toNumber(text: unknown): number | null {
  if (text === null || text === undefined || text === '') return null;
  const number = Number(text);
  return Number.isFinite(number) ? number : null;
}

try {
  main(process.argv.slice(2));
} catch (error) {
  if (!(error instanceof InputError)) throw error;
  process.stderr.write(`project-cases: ${error.message}\n`);
  process.exitCode = 1;
}
