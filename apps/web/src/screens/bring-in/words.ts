import type { ImportKind, ImportView } from '@heatround/contract';
import type { Quantity } from '@heatround/domain';

export const IMPORT_KINDS = ['readings', 'work', 'assets'] as const satisfies readonly ImportKind[];
export const KIND_NAMES: Readonly<Record<ImportKind, { readonly name: string; readonly what: string }>> = {
  readings: { name: 'Readings', what: 'One row per reading: when, at which point, what was read.' },
  work: { name: 'Work recorded', what: 'One row per piece of work: when, on what, what was done.' },
  assets: { name: 'Assets', what: 'One row per asset: tag, name, building and room.' },
};
export const STATE_WORDS: Readonly<Record<ImportView['state'], string>> = {
  uploaded: 'columns to be named',
  checking: 'being checked',
  checked: 'checked, not brought in',
  'bringing-in': 'being brought in',
  'brought-in': 'brought in',
  refused: 'nothing brought in',
};

/** A meaning that a column may have; the unusual ones stand behind "more". */
export interface Target {
  readonly word: string;
  readonly label: string;
  readonly hint: string;
  readonly example?: string;
  readonly isUnusual?: boolean;
}
const WHERE: readonly Target[] = [
  { word: 'tag', label: 'Tag', hint: 'of the asset', example: 'B-IRO-01' },
  { word: 'letter', label: 'Point', hint: 'letter of the point', example: 'a' },
];
const WHEN: readonly Target[] = [
  { word: 'takenAt', label: 'When', hint: 'date, or date and time' },
  { word: 'hour', label: 'Hour of day', hint: 'where the file has dates only', example: '08:00' },
  { word: 'zone', label: 'Time zone', hint: 'where times have none', example: 'Europe/Dublin' },
  { word: 'date', label: 'Date', hint: 'where date and time are two columns', isUnusual: true },
  { word: 'time', label: 'Time', hint: 'beside the date', isUnusual: true },
  { word: 'dateOrder', label: 'Order of dates', hint: 'where 3/4 could be two days', example: 'day-first', isUnusual: true },
  { word: 'decimal', label: 'Decimal sign', hint: 'comma or point', example: 'comma', isUnusual: true },
];
const unusual = (word: string, label: string, hint = '', example?: string): Target => ({
  word,
  label,
  hint,
  isUnusual: true,
  ...(example === undefined ? {} : { example }),
});
export const TARGETS: Readonly<Record<ImportKind, readonly Target[]>> = {
  readings: [
    ...WHERE,
    ...WHEN,
    { word: 'value', label: 'Value', hint: '' },
    { word: 'unit', label: 'Unit', hint: 'of the value', example: '°C' },
    { word: 'load', label: 'Load %', hint: '' },
    { word: 'ambient', label: 'Room', hint: 'air temperature' },
    { word: 'words', label: 'Words', hint: '' },
    unusual('part', 'Part', 'for a rise over the air'),
    unusual('air', 'Air', 'for a rise over the air'),
    unusual('warm', 'Warm side'),
    unusual('cold', 'Cold side'),
    unusual('L1', 'L1', 'like part'),
    unusual('L2', 'L2', 'like part'),
    unusual('L3', 'L3', 'like part'),
    unusual('amps:L1', 'Current L1'),
    unusual('amps:L2', 'Current L2'),
    unusual('amps:L3', 'Current L3'),
    unusual('current', 'Current', 'of the machine'),
    unusual('emissivity', 'Emissivity set'),
    unusual('ambientUnit', 'Unit of the room', '', '°C'),
    unusual('running', 'Running', 'yes or no'),
    unusual('instrument', 'Instrument'),
    unusual('quantity', 'Quantity', 'for points that are made'),
    unusual('limit', 'Limit', 'for points that are made'),
  ],
  work: [
    ...WHERE,
    ...WHEN,
    { word: 'work', label: 'Work', hint: 'repaired, cleaned, regreased …', example: 'repaired' },
    { word: 'words', label: 'Words', hint: '' },
  ],
  assets: [
    { word: 'tag', label: 'Tag', hint: '', example: 'B-IRO-01' },
    { word: 'name', label: 'Name', hint: '' },
    { word: 'site', label: 'Site', hint: '' },
    { word: 'zone', label: 'Time zone', hint: 'of a new site', example: 'Europe/Dublin' },
    { word: 'building', label: 'Building', hint: '' },
    { word: 'room', label: 'Room', hint: '' },
    { word: 'criticality', label: 'Criticality', hint: 'A, B or C', example: 'B' },
    { word: 'criticalityReason', label: 'Why', hint: 'that criticality' },
    { word: 'template', label: 'Template', hint: '', example: 'pump' },
    { word: 'letter', label: 'Point', hint: 'letter of the point', example: 'a' },
    { word: 'pointName', label: 'Name of the point', hint: '' },
    { word: 'quantity', label: 'Quantity', hint: '', example: 'temperature' },
    { word: 'watch', label: 'Watch', hint: 'limit' },
    { word: 'plan', label: 'Plan', hint: 'limit' },
    { word: 'soon', label: 'Soon', hint: 'limit' },
    { word: 'now', label: 'Now', hint: 'limit' },
    { word: 'source', label: 'Source', hint: 'of the limits' },
    { word: 'reason', label: 'Reason', hint: 'of the limits' },
    unusual('unit', 'Unit', 'of the limits', '°C'),
    unusual('criterion', 'Compared', '', 'absolute'),
    unusual('direction', 'Bad is', 'high or low', 'high'),
    unusual('lifeSafety', 'Protects lives', 'yes or no'),
    unusual('referenceLoad', 'Reference load %'),
    unusual('minimumLoad', 'Least load %'),
    unusual('ratedCurrent', 'Rated current A'),
    unusual('emissivity', 'Emissivity'),
    unusual('spot', 'Where to aim'),
    unusual('decimal', 'Decimal sign', 'comma or point', 'comma'),
  ],
};
export const SUMMARY_WORDS: Readonly<Record<string, string>> = {
  created: 'new',
  duplicate: 'already here, unchanged',
  conflict: 'another content under the same id, both kept',
  pointsMade: 'points made',
  assetsMade: 'assets made',
  skipped: 'left out',
  timesThatExistTwice: 'times that exist twice, when clocks went back',
};
export const QUANTITY_WORDS: Readonly<Record<Quantity, string>> = {
  temperature: 'temperature',
  'rise-over-ambient': 'rise over the air of the room',
  'like-part-difference': 'difference between like parts',
  'above-base': 'temperature above its base',
  approach: 'difference between two sides',
  'vibration-velocity': 'vibration velocity',
  'sound-level': 'sound level',
  pressure: 'pressure',
  voltage: 'voltage',
};
