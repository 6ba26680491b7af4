import {
  GRADE_WORDS,
  inputsOf,
  measure,
  questionUnlikely,
  sayFigure,
  sayNumber,
  sayShortDate,
  sayTime,
  unitOf,
  wallTime,
  withUnit,
} from '@heatround/domain';
import type { MakeMissing, Reader } from './mapping.ts';
import type { ReadAsset } from './read-assets.ts';
import { type FactContext, limitUnit, type MissingPoint, type ReadRow } from './read-facts.ts';

/** What a dry run understood, and what a person should look at before the file comes in; short sentences. */
export interface Told {
  readonly understood: readonly string[];
  readonly warnings: readonly string[];
}

/** Listens to the rows of a file as they are read, and tells what was understood. */
export interface Understanding {
  /** @param near of these rows, those that lie close to another reading that is already there. */
  hear(rows: readonly ReadRow[], near: number): void;
  tell(made: readonly MissingPoint[], doubled: Doubled): Told;
}

/** Times that stand more than once at one point with different content. */
export interface Doubled {
  readonly count: number;
  /** The first row concerned. */
  readonly row: number | null;
}

type GoodRow = Exclude<ReadRow, { errors: unknown }>;

const MOST_SAMPLES = 3;
const MOST_NAMED = 3;
/** Main figures of a point that a further one is compared with. */
const LAST_VALUES = 12;
/** Fewer rows than this are too few to wonder about their times. */
const FEWEST_ROWS = 5;
const DAY = 86_400_000;

const when = (at: number, zone: string): string => `${sayShortDate(at, zone)} ${wallTime(at, zone).year} ${sayTime(at, zone)}`;
const plural = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;
const nameOf = ({ tag, letter }: { tag: string; letter: string }): string => `${tag} ${letter}`.trim();

const unitIn = (text: string): string => (text.trim() === '' ? '' : (unitOf(text) ?? ''));

/** Named ones and how many there are beyond them. */
function firstOf(all: readonly string[], more: (count: number) => string): string[] {
  return all.length <= MOST_NAMED ? [...all] : [...all.slice(0, MOST_NAMED), more(all.length - MOST_NAMED)];
}

/** Starts listening to a file of readings or of work. */
export function listen({ reader, missing, mapping }: Pick<FactContext, 'reader' | 'missing' | 'mapping'>): Understanding {
  const units = new Map<string, number>();
  const zones = new Map<string, number>();
  const known = new Set<string>();
  const hours = new Set<number>();
  const lastValues = new Map<string, number[]>();
  const samples: string[] = [];
  const unlikely: string[] = [];
  let unlikelyCount = 0;
  let rowCount = 0;
  let nearCount = 0;
  let first: { at: number; zone: string } | null = null;
  let last: { at: number; zone: string } | null = null;
  let written: { text: string; said: string } | null = null;
  let withHour = 0;
  let withOwnZone = 0;

  const hearTime = ({ about, fact }: GoodRow): void => {
    const { zone, timeText } = about;
    const at = Date.parse(fact.takenAt);
    if (first === null || at < first.at) first = { at, zone };
    if (last === null || at > last.at) last = { at, zone };
    const { hour } = wallTime(at, zone);
    hours.add(hour);
    written ??= { text: timeText, said: when(at, zone) };
    if (/:\d{2}/.test(timeText)) {
      if (/:\d{2}[\d:.,]*\s?(am|pm)?\s?(z|utc|gmt|[+-]\d{2}(:?\d{2})?)$/i.test(timeText)) withOwnZone++;
      else zones.set(zone, (zones.get(zone) ?? 0) + 1);
    } else {
      withHour++;
      zones.set(zone, (zones.get(zone) ?? 0) + 1);
    }
  };

  const hearReading = ({ row, about, fact }: GoodRow): string => {
    if (about.measured === null || fact.kind !== 'reading-taken') return '';
    const { point, reading } = about.measured;
    const figures: string[] = [];
    for (const { name, unit: stored } of inputsOf(point)) {
      const entry = fact.inputs[name];
      const value = reading.inputs[name];
      if (entry === undefined || value === undefined) continue;
      // A cell may carry its unit itself.
      const unit = unitIn(entry.unit) || unitIn(entry.text.replace(/^[\s\d.,+\-−]+/, ''));
      if (samples.length < MOST_SAMPLES) figures.push(sayEntry(name, entry.text, unit, value, stored, point.decimals));
      if (name.startsWith('amps:')) continue;
      const key =
        unit === '' ? `without a unit, taken as ${stored}` : unit === stored ? `in ${unit}` : `in ${unit}, compared in ${stored}`;
      units.set(key, (units.get(key) ?? 0) + 1);
    }
    const values = lastValues.get(point.id) ?? [];
    const question = questionUnlikely(point, reading, values);
    if (question !== null) {
      unlikelyCount++;
      if (unlikely.length < MOST_NAMED) unlikely.push(`Row ${row}, ${nameOf(about)}: ${question}`);
    }
    const { value } = measure(point, reading);
    if (value !== null) lastValues.set(point.id, [...values.slice(1 - LAST_VALUES), value]);
    return figures.join(', ');
  };

  return {
    hear(rows, near) {
      nearCount += near;
      for (const one of rows) {
        if ('errors' in one) continue;
        rowCount++;
        hearTime(one);
        const what = one.fact.kind === 'work-recorded' ? one.fact.work : hearReading(one);
        const at = 'pointId' in one.fact && one.fact.pointId ? one.fact.pointId : '';
        if (at !== '') known.add(at);
        if (samples.length < MOST_SAMPLES)
          samples.push(`row ${one.row}: ${nameOf(one.about)}, ${when(Date.parse(one.fact.takenAt), one.about.zone)}, ${what}`);
      }
    },
    tell(made, doubled) {
      const understood: string[] = [];
      const warnings: string[] = [];
      const counted = [...units].sort((a, b) => b[1] - a[1]);
      if (counted.length === 1) understood.push(`Values are ${counted[0]![0]}.`);
      else if (counted.length > 1) understood.push(`Values: ${counted.map(([unit, count]) => `${count} ${unit}`).join('; ')}.`);
      if (written !== null && first !== null && last !== null) {
        understood.push(`Times: "${written.text}" is ${written.said}.`);
        if (withHour > 0 && reader.hour !== null) understood.push(`Dates without a time of day count as ${reader.hour}.`);
        if (withOwnZone === rowCount) understood.push('Times are taken by the zone they name themselves.');
        else if (withOwnZone > 0)
          understood.push(
            `${plural(withOwnZone, 'time with a zone of its own is', 'times with a zone of their own are')} taken by it.`,
          );
        if (zones.size > 0)
          understood.push(`Times without a zone of their own are of ${[...zones.keys()].sort().join(' and ')}.`);
        understood.push(`The first is of ${when(first.at, first.zone)}, the last of ${when(last.at, last.zone)}.`);
      }
      understood.push(`The decimal mark is a ${reader.decimal}.`);
      if (known.size > 0 || made.length > 0) {
        const assets = new Set(made.flatMap(({ newAssetId }) => newAssetId ?? [])).size;
        const making =
          made.length === 0 ? '' : `, ${made.length} to be made${assets === 0 ? '' : ` on ${plural(assets, 'new asset')}`}`;
        understood.push(`Points: ${known.size - made.length} of the register${making}.`);
      }
      if (mapping.makeMissing && made.length > 0) understood.push(...sayMade(mapping.makeMissing, made, missing));
      understood.push(...samples);

      warnings.push(...unlikely);
      if (unlikelyCount > unlikely.length)
        warnings.push(`${plural(unlikelyCount - unlikely.length, 'more value is', 'more values are')} as unlikely.`);
      if (doubled.count > 0) {
        const times = doubled.count === 1 ? 'One time stands' : `${doubled.count} times stand`;
        warnings.push(`${times} more than once at one point with different values, first in row ${doubled.row}.`);
      }
      const days = first === null || last === null ? 0 : ((last as { at: number }).at - (first as { at: number }).at) / DAY;
      if (rowCount >= FEWEST_ROWS && hours.size === 1 && days > 1 && withHour === 0) {
        const [hour] = hours;
        warnings.push(
          `All times lie in the hour from ${String(hour).padStart(2, '0')}:00: does the file hold dates only, or a zone of its own?`,
        );
      }
      if (nearCount * 2 > rowCount) {
        warnings.push(
          `${nearCount} of ${plural(rowCount, 'row')} lie within 5 minutes of a reading that is already there: was this brought in before in another form?`,
        );
      }
      return { understood, warnings };
    },
  };
}

function sayEntry(name: string, text: string, unit: string, value: number, stored: string, decimals: number): string {
  const figure = text.replace(/[^\d.,+\-−].*$/, '').trim() || text.trim();
  const prefix = name === 'value' ? '' : `${name} `;
  const canonical = withUnit(sayNumber(value, decimals), stored);
  if (unit === '') return `${prefix}${canonical}`;
  return unit === stored ? `${prefix}${withUnit(figure, unit)}` : `${prefix}${withUnit(figure, unit)} = ${canonical}`;
}

/** Limits of the points to be made as they will be stored, and the loads these refer to. */
function sayMade(
  { limitGrade, direction }: MakeMissing,
  made: readonly MissingPoint[],
  missing: FactContext['missing'],
): string[] {
  const limits = made.map((point) => {
    const { key, draft, limit, criterion } = point;
    const how = missing?.get(`${key} ${draft.letter.toLowerCase()}`);
    const stored = withUnit(sayFigure(limit, 2), limitUnit(draft.quantity, criterion));
    const unit = how === undefined ? '' : unitIn(how.unit);
    const asWritten =
      unit === '' || unit === limitUnit(draft.quantity, criterion) ? '' : ` (${how!.limitText} ${unit} as written)`;
    return { point, said: `${GRADE_WORDS[limitGrade]} at ${stored}${direction === 'low' ? ' or below' : ''}${asWritten}` };
  });
  const name = ({ tag, draft }: MissingPoint): string => `${tag} ${draft.letter}`;
  const isOne = made.length > 1 && new Set(limits.map(({ said }) => said)).size === 1;
  const sentences = isOne
    ? [`Limit of all ${made.length} points to be made: ${limits[0]!.said}.`]
    : firstOf(
        limits.map(({ point, said }) => `Limit of ${name(point)}: ${said}.`),
        (count) => `${plural(count, 'more point has its limit', 'more points have their limits')} likewise.`,
      );
  const loads = made.flatMap((point) =>
    point.draft.referenceLoadPercent === undefined
      ? []
      : [
          `Reference load of ${name(point)}: ${withUnit(sayNumber(point.draft.referenceLoadPercent, 0), '%')}, the usual one of its rows.`,
        ],
  );
  return [
    ...sentences,
    ...firstOf(loads, (count) => `${plural(count, 'more point refers', 'more points refer')} to the usual load of their rows.`),
  ];
}

/** What was understood of a register file: its first assets with their points and limits as they will be stored. */
export function tellAssets(assets: readonly ReadAsset[], decimal: Reader['decimal']): Told {
  const samples = assets.slice(0, MOST_SAMPLES).map(({ rows, asset, place }) => {
    const points = asset.points.map(({ point, limits }) => {
      const said = limits.flatMap((set) =>
        (['watch', 'plan', 'soon', 'now'] as const).flatMap((grade) =>
          set[grade] === null
            ? []
            : [`${GRADE_WORDS[grade]} ${withUnit(sayFigure(set[grade], 2), limitUnit(point.quantity, set.criterion))}`],
        ),
      );
      return `${point.letter} ${point.name} (${[point.quantity, ...said].join(', ')})`;
    });
    const where = `${place.site.name}, ${place.building.name}, ${place.room.name}`;
    const what = points.length === 0 ? 'no points yet' : points.join('; ');
    return `row ${Math.min(...rows)}: ${asset.tag} ${asset.name} in ${where}: ${what}`;
  });
  const written = assets
    .filter((one) => one.written.length > 1)
    .map((one) => `${one.written.join(' and ')} in rows ${one.rows.slice(0, MOST_NAMED).join(', ')} are taken for one asset.`);
  return {
    understood: [`The decimal mark is a ${decimal}.`, ...samples],
    warnings: firstOf(written, (count) => `${plural(count, 'more tag is', 'more tags are')} written in several ways.`),
  };
}
