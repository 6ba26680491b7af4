import { IMPORT_TARGETS, type ImportKind, type ImportTargetWords, type ImportUndo, type ImportView } from '@heatround/contract';
import { nameOfQuantity, type Quantity } from '@heatround/domain';

export const IMPORT_KINDS = ['readings', 'work', 'assets', 'points', 'limits', 'routes'] as const satisfies readonly ImportKind[];
export const KIND_NAMES: Readonly<Record<ImportKind, { readonly name: string; readonly what: string }>> = {
  readings: { name: 'Readings', what: 'One row per reading: when, at which point, what was read.' },
  work: { name: 'Work recorded', what: 'One row per piece of work: when, on what, what was done.' },
  assets: { name: 'Assets', what: 'One row per machine, or one per point on it: tag, name, building and room.' },
  points: { name: 'Points', what: 'One row per point on an asset that is there: letter, name, what is measured, limits.' },
  limits: { name: 'Limits', what: 'One row per side of a point: figures, their source and their reason.' },
  routes: { name: 'Routes', what: 'One row per stop: route, how often it is walked, asset and point.' },
};
export const STATE_WORDS: Readonly<Record<ImportView['state'], string>> = {
  uploaded: 'columns to be named',
  checking: 'being checked',
  checked: 'checked, not brought in',
  'bringing-in': 'being brought in',
  'brought-in': 'brought in',
  refused: 'nothing brought in',
  'taking-back': 'being taken back',
  'taken-back': 'taken back',
};

/** A meaning that a column may have; the unusual ones stand behind "more". */
export interface Target {
  readonly word: string;
  readonly label: string;
  readonly hint: string;
  readonly example?: string;
  readonly isUnusual?: boolean;
}
/** What most files have; everything else stands behind "more". */
const USUAL: Readonly<Record<ImportKind, readonly string[]>> = {
  readings: ['tag', 'letter', 'takenAt', 'hour', 'zone', 'value', 'unit', 'load', 'ambient', 'limit', 'words'],
  work: ['tag', 'letter', 'takenAt', 'hour', 'zone', 'work', 'words'],
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
    'letter',
    'pointName',
    'quantity',
    'watch',
    'plan',
    'soon',
    'now',
    'source',
    'reason',
  ],
  points: ['tag', 'letter', 'pointName', 'quantity', 'unit', 'watch', 'plan', 'soon', 'now', 'direction', 'source', 'reason'],
  limits: ['tag', 'letter', 'direction', 'watch', 'plan', 'soon', 'now', 'unit', 'source', 'reason'],
  routes: ['code', 'name', 'rule', 'start', 'daysBefore', 'daysAfter', 'tag', 'letter'],
};
/** An example in the field for one value of the whole file. */
const EXAMPLES: Readonly<Record<string, string>> = {
  tag: 'B-IRO-01',
  letter: 'a',
  hour: '08:00',
  zone: 'Europe/Dublin',
  unit: '°C',
  work: 'repaired',
  criticality: 'B',
  template: 'pump',
  quantity: 'temperature',
  decimal: 'comma',
  dateOrder: 'day-first',
  rule: 'every Tuesday',
  start: '2026-05-05 08:00',
  direction: 'high',
};
const targetsOf = (kind: ImportKind): Target[] =>
  Object.entries<ImportTargetWords>(IMPORT_TARGETS[kind]).map(([word, { label, help }]) => ({
    word,
    label,
    hint: help,
    isUnusual: !USUAL[kind].includes(word),
    ...(EXAMPLES[word] === undefined ? {} : { example: EXAMPLES[word] }),
  }));
export const TARGETS: Readonly<Record<ImportKind, readonly Target[]>> = {
  readings: targetsOf('readings'),
  work: targetsOf('work'),
  assets: targetsOf('assets'),
  points: targetsOf('points'),
  limits: targetsOf('limits'),
  routes: targetsOf('routes'),
};
const SUMMARY_WORDS: Readonly<Record<string, readonly [one: string, many: string]>> = {
  created: ['new', 'new'],
  duplicate: ['already here, unchanged', 'already here, unchanged'],
  conflict: ['with another content under the same id, both kept', 'with another content under the same id, both kept'],
  pointsMade: ['point made', 'points made'],
  assetsMade: ['asset made', 'assets made'],
  sitesMade: ['site made', 'sites made'],
  buildingsMade: ['building made', 'buildings made'],
  roomsMade: ['room made', 'rooms made'],
  limitsMade: ['version of limits made', 'versions of limits made'],
  routesMade: ['route made', 'routes made'],
  skipped: ['row left out', 'rows left out'],
  timesThatExistTwice: ['time that exists twice, when clocks went back', 'times that exist twice, when clocks went back'],
};
/** What stands behind a count of the result. */
export const saySummary = (word: string, count: number): string => SUMMARY_WORDS[word]?.[count === 1 ? 0 : 1] ?? word;
const UNDO_WORDS: Readonly<Record<string, readonly [one: string, many: string]>> = {
  readings: ['reading', 'readings'],
  work: ['piece of work', 'pieces of work'],
  assets: ['asset', 'assets'],
  points: ['point', 'points'],
  limits: ['version of limits', 'versions of limits'],
  routes: ['route', 'routes'],
};
/** What goes back or stays, as a list of counts; '' when it is nothing. */
export const sayUndo = (counts: ImportUndo['goes']): string =>
  Object.entries(counts)
    .map(([word, count]) => `${count.toLocaleString('en-GB')} ${UNDO_WORDS[word]?.[count === 1 ? 0 : 1] ?? word}`)
    .join(', ');
/** A quantity in a list of choices. */
export const sayQuantity = (quantity: Quantity): string => {
  const name = nameOfQuantity(quantity);
  return name.charAt(0).toLowerCase() + name.slice(1);
};
