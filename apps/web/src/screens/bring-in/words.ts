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

/** A meaning that a column may have. */
export interface Target {
  readonly word: string;
  readonly label: string;
  readonly hint: string;
  readonly example?: string;
}
export const TARGETS: Readonly<Record<ImportKind, readonly Target[]>> = {
  readings: [
    { word: 'tag', label: 'Tag', hint: 'of the asset', example: 'B-IRO-01' },
    { word: 'letter', label: 'Point', hint: 'letter of the point', example: 'a' },
    { word: 'takenAt', label: 'When', hint: 'date, or date and time' },
    { word: 'hour', label: 'Hour of day', hint: 'where the file has dates only', example: '08:00' },
    { word: 'zone', label: 'Time zone', hint: 'where times have none', example: 'Europe/Dublin' },
    { word: 'value', label: 'Value', hint: '' },
    { word: 'unit', label: 'Unit', hint: '', example: '°C' },
    { word: 'load', label: 'Load %', hint: '' },
    { word: 'ambient', label: 'Room °C', hint: '' },
    { word: 'words', label: 'Words', hint: '' },
  ],
  work: [
    { word: 'tag', label: 'Tag', hint: 'of the asset', example: 'B-IRO-01' },
    { word: 'letter', label: 'Point', hint: 'empty: the whole asset', example: 'a' },
    { word: 'takenAt', label: 'When', hint: 'date, or date and time' },
    { word: 'hour', label: 'Hour of day', hint: 'where the file has dates only', example: '08:00' },
    { word: 'zone', label: 'Time zone', hint: 'where times have none', example: 'Europe/Dublin' },
    { word: 'work', label: 'Work', hint: 'repaired, cleaned, regreased …', example: 'repaired' },
    { word: 'words', label: 'Words', hint: '' },
  ],
  assets: [
    { word: 'tag', label: 'Tag', hint: '', example: 'B-IRO-01' },
    { word: 'name', label: 'Name', hint: '' },
    { word: 'site', label: 'Site', hint: '' },
    { word: 'building', label: 'Building', hint: '' },
    { word: 'room', label: 'Room', hint: '' },
    { word: 'criticality', label: 'Criticality', hint: 'A, B or C', example: 'B' },
    { word: 'criticalityReason', label: 'Why', hint: '' },
    { word: 'template', label: 'Template', hint: '' },
  ],
};
export const SUMMARY_WORDS: Readonly<Record<string, string>> = {
  created: 'new',
  duplicate: 'already here, unchanged',
  conflict: 'another content under the same id, both kept',
  pointsMade: 'points made',
  assetsMade: 'assets made',
  skipped: 'left out',
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
