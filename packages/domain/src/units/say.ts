/** Thin space that no line break may split: between a figure and its unit. */
export const THIN_SPACE = '\u202f';

/**
 * A figure in words of the sentences: point, fixed decimals, − as minus, never −0.
 * @example sayNumber(-4.04, 1) // '−4.0'
 */
export function sayNumber(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return '–';
  const places = Math.min(Math.max(Math.trunc(decimals) || 0, 0), 10);
  const text = Math.abs(value).toFixed(places);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

/**
 * A figure without idle zeros, for limits: 8 and not 8.0, 2.8 and not 2.80.
 * @example sayFigure(70) // '70'
 */
export function sayFigure(value: number, mostDecimals = 3): string {
  const text = sayNumber(value, mostDecimals);
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

/** A figure text with its unit behind a thin space; a pure number has none. */
export function withUnit(figure: string, unit: string): string {
  return unit === '1' || unit === '' ? figure : `${figure}${THIN_SPACE}${unit}`;
}

/** The unit in which two values of a unit differ: kelvin for temperatures. @example differenceUnit('°C') // 'K' */
export function differenceUnit(unit: string): string {
  return unit === '°C' ? 'K' : unit;
}
