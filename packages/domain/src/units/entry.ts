import type { Entry } from '../facts/types.ts';
import { convert, kindOf, type UnitCode, type UnitKind, unitOf } from './units.ts';

export const ENTRY_PROBLEMS = [
  'empty',
  'not-a-number',
  /** 1.234 or 1,234 where both one and one thousand would be possible, or two different separators. */
  'ambiguous',
  /** "<0.2": the instrument saw less than it can show. No figure is made up; the stop is answered in words instead. */
  'below-detection',
  'unit-unknown',
  'unit-not-fitting',
  'out-of-range',
] as const;
export type EntryProblem = (typeof ENTRY_PROBLEMS)[number];

/** What an input takes: its canonical unit and, where the unit's own range is too wide, a narrower one. */
export interface Expectation {
  readonly unit: UnitCode;
  /** Words for the message, such as "An emissivity"; otherwise words of the unit. */
  readonly what?: string | undefined;
  readonly min?: number | undefined;
  readonly max?: number | undefined;
  /** False: min itself is refused, as for an emissivity of 0. */
  readonly minIncluded?: boolean | undefined;
  /** Two ways of writing one example, otherwise those of the unit. */
  readonly example?: string | undefined;
}

export type ParsedEntry = { readonly value: number } | { readonly problem: EntryProblem; readonly expected: string };

const WORDS: Readonly<
  Record<UnitKind, { readonly what: string; readonly example: string; readonly min: number; readonly max: number }>
> = {
  // Thermocouples of type K end near 1370 °C; nothing on a round is hotter.
  temperature: { what: 'A temperature', example: '87 or 87,5', min: -273.15, max: 1500 },
  'temperature-difference': { what: 'A difference of temperatures', example: '8 or 8,5', min: -1500, max: 1500 },
  'vibration-velocity': { what: 'A vibration velocity', example: '2.8 or 2,8', min: 0, max: 1000 },
  pressure: { what: 'A pressure', example: '7 or 7,2', min: -1.013_25, max: 1000 },
  voltage: { what: 'A voltage', example: '25.2 or 25,2', min: -50_000, max: 50_000 },
  current: { what: 'A current', example: '120 or 120,5', min: 0, max: 20_000 },
  ratio: { what: 'A percentage', example: '85 or 85,5', min: 0, max: 400 },
  fraction: { what: 'A number', example: '0.95 or 0,95', min: -1e9, max: 1e9 },
  level: { what: 'A level', example: '12 or 12,5', min: -200, max: 200 },
  duration: { what: 'A time', example: '30 or 45', min: 0, max: 60_000_000 },
  length: { what: 'A distance', example: '1.5 or 1,5', min: 0, max: 10_000 },
  angle: { what: 'An angle', example: '30 or 45', min: 0, max: 90 },
  rotation: { what: 'A speed', example: '1480 or 1480,5', min: 0, max: 200_000 },
  irradiance: { what: 'An irradiance', example: '650 or 800', min: 0, max: 1500 },
  resistance: { what: 'An insulation resistance', example: '120 or 0,8', min: 0, max: 1e8 },
  'air-speed': { what: 'A wind speed', example: '3 or 3,5', min: 0, max: 100 },
  flow: { what: 'A flow', example: '45 or 45,5', min: 0, max: 100_000 },
  'pixel-angle': { what: 'The angle of one picture element', example: '1.4 or 1,4', min: 0, max: 50 },
};

/** What was expected, in one sentence with an example. */
export function expectedWords(expectation: Expectation): string {
  const words = WORDS[kindOf(expectation.unit)];
  const what = expectation.what ?? words.what;
  const unit = expectation.unit === '1' ? '' : ` in ${expectation.unit === '°' ? 'degrees' : expectation.unit}`;
  return `${what}${unit}, such as ${expectation.example ?? words.example}.`;
}

/** First code points of the decimal digits of scripts that phones type: Arabic-Indic, Devanagari, Bengali, Thai and others. */
const ZEROS = [
  0x0660, 0x06f0, 0x0966, 0x09e6, 0x0a66, 0x0ae6, 0x0b66, 0x0be6, 0x0c66, 0x0ce6, 0x0d66, 0x0e50, 0x0ed0, 0x0f20, 0x1040, 0x17e0,
];

function plainDigit(character: string): string {
  const code = character.codePointAt(0) ?? 0;
  const zero = ZEROS.find((first) => code >= first && code <= first + 9);
  return zero === undefined ? character : String(code - zero);
}

/** Fullwidth and other digits to 0–9, every minus to -, invisible direction marks away, every space to one plain space. */
function plainText(text: string): string {
  // What nearly everybody types needs nothing of this.
  if (/^[!-~]*$/.test(text)) return text;
  return [...text.normalize('NFKC')]
    .map(plainDigit)
    .join('')
    .replace(/[\u061c\u200b-\u200f\u202a-\u202e\u2060\u2066-\u2069\ufeff]/g, '')
    .replace(/[\u2010-\u2015\u2212\ufe58\ufe63]/g, '-')
    .replace(/\u066b/g, ',')
    .replace(/[\s\u00a0\u2000-\u200a\u202f\u3000]+/g, ' ')
    .trim();
}

const NUMBER = /^([+-]?)\s?(\d*)(?:([.,])(\d*))?(?:[eE]([+-]?\d{1,3}))?(?![\d.,])\s?(.*)$/;

/**
 * Reads what a person typed, or a file holds, into the canonical unit.
 *
 * Takes comma and point, every kind of minus sign, digits of other scripts, spaces around, a unit behind the number (it
 * counts before the unit of the form, since the person wrote it) and exponents such as 1e3. A unit left empty means the
 * expected one. Thousands separators are refused: 1,250 is either 1.25 or 1250. Where only one of the two is possible (0,125; 2,125 mm/s,
 * because 2125 mm/s does not exist) it is taken. NaN, infinity and "<0.2" are no figures.
 * Where a difference is expected, °C and °F mean differences, so that no offset of 32 can slip in.
 *
 * @returns the canonical value, or the problem and what was expected. Never NaN, never infinite, never −0.
 * @example parseEntry({ text: '54,4 °F', unit: '' }, { unit: '°C' }) // { value: 12.44… }
 */
export function parseEntry(entry: Entry, expectation: Expectation): ParsedEntry {
  const refuse = (problem: EntryProblem): ParsedEntry => ({ problem, expected: expectedWords(expectation) });
  if (typeof entry?.text !== 'string' || typeof entry.unit !== 'string') return refuse('not-a-number');
  if (entry.text.length > 80) return refuse('not-a-number');
  const text = plainText(entry.text);
  if (text === '') return refuse('empty');
  if (/^[<≤]/.test(text)) return refuse('below-detection');
  if (/\d[ '’]\d{3}(\D|$)/.test(text) || /\d[.,]\d+[.,]/.test(text) || /\d\u066c\d/.test(text)) return refuse('ambiguous');
  const match = NUMBER.exec(text);
  if (match === null) return refuse('not-a-number');
  const [, sign = '', whole = '', separator = '', decimals = '', exponent, written = ''] = match;
  if (whole === '' && decimals === '') return refuse('not-a-number');
  // A second figure behind the first ("12 5", "2 bar 3") is not a unit.
  if (/\d/.test(written) && unitOf(written) === null) return refuse('not-a-number');

  const unit = unitMeant(written === '' ? entry.unit : written, expectation.unit);
  if (unit === null) return refuse('unit-unknown');
  if (kindOf(unit) !== kindOf(expectation.unit)) return refuse('unit-not-fitting');

  const words = WORDS[kindOf(expectation.unit)];
  const min = expectation.min ?? words.min;
  const max = expectation.max ?? words.max;
  const canonical = (figure: number): number | null => {
    const value = convert(figure, unit, expectation.unit) + 0;
    const tooLow = expectation.minIncluded === false ? value <= min : value < min;
    return Number.isFinite(value) && !tooLow && value <= max ? value : null;
  };
  const power = exponent === undefined ? '' : `e${exponent}`;
  const figure = Number(`${sign}${whole === '' ? '0' : whole}.${decimals === '' ? '0' : decimals}${power}`);
  const couldBeThousands = separator !== '' && decimals.length === 3 && exponent === undefined && /^[1-9]\d{0,2}$/.test(whole);
  if (couldBeThousands && canonical(Number(`${sign}${whole}${decimals}`)) !== null) return refuse('ambiguous');
  const value = canonical(figure);
  return value === null ? refuse('out-of-range') : { value: value === 0 ? 0 : value };
}

/** The unit a spelling means here: where a difference is expected, °C and °F are differences; empty is the expected unit. */
function unitMeant(spelling: string, expected: UnitCode): UnitCode | null {
  const plain = plainText(spelling);
  if (plain === '') return expected;
  const unit = unitOf(plain);
  if (kindOf(expected) === 'temperature-difference') {
    if (unit === '°C') return 'K';
    if (unit === '°F') return 'Δ°F';
  }
  return unit;
}
