/**
 * What a unit measures. A temperature and a difference of temperatures are two kinds on purpose: 20 °F is −6.7 °C, yet a
 * difference of 20 °F is 11.1 K.
 */
export type UnitKind =
  | 'temperature'
  | 'temperature-difference'
  | 'vibration-velocity'
  | 'pressure'
  | 'voltage'
  | 'current'
  | 'ratio'
  | 'fraction'
  | 'level'
  | 'duration'
  | 'length'
  | 'angle'
  | 'rotation'
  | 'irradiance'
  | 'resistance'
  | 'air-speed'
  | 'flow'
  | 'pixel-angle';

/** Every unit a value can be entered or kept in. K is always a difference; a temperature is kept in °C. */
export const UNIT_CODES = [
  '°C',
  '°F',
  'K',
  'Δ°F',
  'mm/s',
  'in/s',
  'bar',
  'mbar',
  'kPa',
  'MPa',
  'psi',
  'V',
  'mV',
  'kV',
  'A',
  'kA',
  '%',
  '1',
  'dB',
  's',
  'min',
  'h',
  'd',
  'mm',
  'cm',
  'm',
  'in',
  'ft',
  '°',
  '1/min',
  'Hz',
  'W/m²',
  'MΩ',
  'kΩ',
  'GΩ',
  'm/s',
  'km/h',
  'm³/h',
  'l/s',
  'mrad',
] as const;
export type UnitCode = (typeof UNIT_CODES)[number];

interface UnitDefinition {
  readonly kind: UnitKind;
  /** base = (value + shift) · factor; the base of a kind is the unit with factor 1 and shift 0. */
  readonly factor: number;
  readonly shift: number;
}

const scaled = (kind: UnitKind, factor = 1, shift = 0): UnitDefinition => ({ kind, factor, shift });

/** The inch is 25.4 mm exactly, the pound 0.453 592 37 kg exactly, standard gravity 9.806 65 m/s² (NIST SP 811, appendix B.8). */
const INCH_MM = 25.4;
const PSI_BAR = (0.453_592_37 * 9.806_65) / (0.0254 * 0.0254) / 100_000;

const DEFINITIONS: Readonly<Record<UnitCode, UnitDefinition>> = {
  '°C': scaled('temperature'),
  // t/°C = (t/°F − 32)/1.8, exact (NIST SP 811, B.8).
  '°F': scaled('temperature', 1 / 1.8, -32),
  K: scaled('temperature-difference'),
  'Δ°F': scaled('temperature-difference', 1 / 1.8),
  'mm/s': scaled('vibration-velocity'),
  'in/s': scaled('vibration-velocity', INCH_MM),
  bar: scaled('pressure'),
  mbar: scaled('pressure', 0.001),
  kPa: scaled('pressure', 0.01),
  MPa: scaled('pressure', 10),
  psi: scaled('pressure', PSI_BAR),
  V: scaled('voltage'),
  mV: scaled('voltage', 0.001),
  kV: scaled('voltage', 1000),
  A: scaled('current'),
  kA: scaled('current', 1000),
  '%': scaled('ratio'),
  '1': scaled('fraction'),
  dB: scaled('level'),
  s: scaled('duration', 1 / 60),
  min: scaled('duration'),
  h: scaled('duration', 60),
  d: scaled('duration', 1440),
  mm: scaled('length', 0.001),
  cm: scaled('length', 0.01),
  m: scaled('length'),
  in: scaled('length', INCH_MM / 1000),
  ft: scaled('length', (12 * INCH_MM) / 1000),
  '°': scaled('angle'),
  '1/min': scaled('rotation'),
  Hz: scaled('rotation', 60),
  'W/m²': scaled('irradiance'),
  MΩ: scaled('resistance'),
  kΩ: scaled('resistance', 0.001),
  GΩ: scaled('resistance', 1000),
  'm/s': scaled('air-speed'),
  'km/h': scaled('air-speed', 1 / 3.6),
  'm³/h': scaled('flow'),
  'l/s': scaled('flow', 3.6),
  mrad: scaled('pixel-angle'),
};

/** Spellings that instruments, spreadsheets and people use, after lower-casing and removing spaces. */
const SPELLINGS: Readonly<Record<string, UnitCode>> = {
  c: '°C',
  degc: '°C',
  celsius: '°C',
  f: '°F',
  degf: '°F',
  fahrenheit: '°F',
  kelvin: 'K',
  'δ°f': 'Δ°F',
  ips: 'in/s',
  'inch/s': 'in/s',
  'mm/sec': 'mm/s',
  'in/sec': 'in/s',
  barg: 'bar',
  'bar(g)': 'bar',
  psig: 'psi',
  volt: 'V',
  volts: 'V',
  amp: 'A',
  amps: 'A',
  ampere: 'A',
  percent: '%',
  pct: '%',
  '': '1',
  db: 'dB',
  sec: 's',
  mins: 'min',
  minute: 'min',
  minutes: 'min',
  hr: 'h',
  hrs: 'h',
  hour: 'h',
  hours: 'h',
  day: 'd',
  days: 'd',
  inch: 'in',
  inches: 'in',
  feet: 'ft',
  deg: '°',
  degree: '°',
  degrees: '°',
  rpm: '1/min',
  'r/min': '1/min',
  'rev/min': '1/min',
  'min-1': '1/min',
  megohm: 'MΩ',
  kohm: 'kΩ',
  gohm: 'GΩ',
  'm3/h': 'm³/h',
  kph: 'km/h',
  'w/m2': 'W/m²',
  'w/m^2': 'W/m²',
};

const BY_LOWER_CASE: ReadonlyMap<string, UnitCode> = new Map([
  ...Object.entries(SPELLINGS),
  ...UNIT_CODES.map((code): [string, UnitCode] => [code.toLowerCase(), code]),
]);

/**
 * The unit meant by a spelling, or null when it is not one we know.
 * Upper and lower case count only where they decide: mV is not MV, so an unknown prefix is refused rather than guessed.
 * @example unitOf('degC') // '°C'
 */
export function unitOf(spelling: string): UnitCode | null {
  const compact = spelling
    .replace(/[\u00ba\u02da]/g, '°')
    .replace(/\u2103/g, '°C')
    .replace(/\u2109/g, '°F')
    .replace(/[\u0394\u2206]/g, 'Δ')
    .replace(/\u2126/g, 'Ω')
    .replace(/[\s\u00a0\u2009\u202f]/g, '');
  if ((UNIT_CODES as readonly string[]).includes(compact)) return compact as UnitCode;
  if (/^(MV|mPa|mΩ)$/.test(compact)) return null;
  return BY_LOWER_CASE.get(compact.toLowerCase()) ?? null;
}

/** What a unit measures. */
export function kindOf(unit: UnitCode): UnitKind {
  return DEFINITIONS[unit].kind;
}

/** Units a value of this unit can be entered in, itself first. */
export function unitsLike(unit: UnitCode): UnitCode[] {
  const kind = kindOf(unit);
  return [unit, ...UNIT_CODES.filter((code) => code !== unit && kindOf(code) === kind)];
}

/**
 * Converts a value between two units of one kind.
 * Exact factors: SI brochure (9th edition) for °C, bar and time; NIST SP 811 appendix B.8 for °F, inch, foot and psi.
 * @throws RangeError when the kinds differ: a temperature is never turned into a difference.
 * @example convert(68, '°F', '°C') // 20
 * @example convert(18, 'Δ°F', 'K') // 10
 */
export function convert(value: number, from: UnitCode, to: UnitCode): number {
  if (from === to) return value;
  const source = DEFINITIONS[from];
  const target = DEFINITIONS[to];
  if (source.kind !== target.kind) throw new RangeError(`${from} cannot be converted to ${to}`);
  return ((value + source.shift) * source.factor) / target.factor - target.shift;
}
