import type { Reading } from '../facts/types.ts';
import { ambientOf, type InputField } from './quantities/definition.ts';
import { DEFINITION_OF } from './quantities/index.ts';
import type { Point } from './types.ts';

/** Second radiation constant, µm·K (CODATA 2018). */
const C2 = 14_387.768_77;
/** What an imager of a round sees, µm. */
const BAND = [7.5, 14] as const;
const ZERO_C = 273.15;
const COLDEST_K = 100;
const HOTTEST_K = 3000;
const HALVINGS = 60;
/** Apparent temperature around indoors when nobody read it, °C (common practice, no source). */
const USUAL_AROUND_C = 20;

/** Share of a black body's radiation below a wavelength; series of Chang and Rhee 1984. @param z c₂/(λT). */
function shareBelow(z: number): number {
  let sum = 0;
  for (let n = 1; n < 1000; n++) {
    const term = (Math.exp(-n * z) / n) * (z ** 3 + (3 * z ** 2) / n + (6 * z) / n ** 2 + 6 / n ** 3);
    sum += term;
    if (term < 1e-15 * sum) break;
  }
  return (15 / Math.PI ** 4) * sum;
}

/** What a black body of this temperature radiates in the band, up to a constant that cancels. */
const radianceOf = (kelvin: number): number =>
  (shareBelow(C2 / (BAND[1] * kelvin)) - shareBelow(C2 / (BAND[0] * kelvin))) * kelvin ** 4;

/** The temperature that radiates so much, by halving: radiance rises with temperature. Null beyond 100 to 3000 K. */
function temperatureOf(radiance: number): number | null {
  let [low, high] = [COLDEST_K, HOTTEST_K];
  if (!(radiance >= radianceOf(low) && radiance <= radianceOf(high))) return null;
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (low + high) / 2;
    if (radianceOf(middle) < radiance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Settings of an imager. */
export interface ImagerSettings {
  readonly emissivity: number;
  /** Reflected apparent temperature, °C. */
  readonly reflectedC: number;
}

/**
 * The temperature an imager would have shown under other settings, 7.5 to 14 µm: what it received is undone with the settings of
 * the reading, then read with the true ones. State equation of radiometry without atmosphere (principles of ISO 18434-1).
 * @param temperatureC as shown. @param as and @param truly: emissivity above 0 to 1.
 * @returns °C, or null where the reflection alone is more than what was received.
 * @example underTrueSettings(75, { emissivity: 0.3, reflectedC: 22 }, { emissivity: 0.93, reflectedC: 22 }) // 41.7
 */
export function underTrueSettings(temperatureC: number, as: ImagerSettings, truly: ImagerSettings): number | null {
  for (const { emissivity } of [as, truly]) if (!(emissivity > 0 && emissivity <= 1)) return null;
  const received = as.emissivity * radianceOf(temperatureC + ZERO_C) + (1 - as.emissivity) * radianceOf(as.reflectedC + ZERO_C);
  const own = (received - (1 - truly.emissivity) * radianceOf(truly.reflectedC + ZERO_C)) / truly.emissivity;
  const kelvin = temperatureOf(own);
  return kelvin === null ? null : kelvin - ZERO_C;
}

/**
 * The reading as it would be under the true settings that a correction carries; the same object where it carries none. What the
 * imager saw is recomputed, everything else stays; what was typed is not touched, it lives in the fact.
 * A temperature that cannot be recomputed is left out, so that it is named as missing instead of being wrong.
 */
export function trueReading(point: Point, reading: Reading): Reading {
  const { trueEmissivity, trueReflected, ...conditions } = reading.conditions;
  if (!point.infrared || (trueEmissivity === undefined && trueReflected === undefined)) return reading;
  const around = conditions.reflected ?? ambientOf(reading) ?? USUAL_AROUND_C;
  const set = conditions.emissivity ?? point.emissivity ?? 1;
  const as = { emissivity: set, reflectedC: around };
  const truly = { emissivity: trueEmissivity ?? set, reflectedC: trueReflected ?? around };
  const inputs: Record<string, number> = { ...reading.inputs };
  for (const { name, isSeen } of DEFINITION_OF[point.quantity].inputs(point) as readonly InputField[]) {
    const shown = inputs[name];
    if (isSeen !== true || shown === undefined) continue;
    const recomputed = underTrueSettings(shown, as, truly);
    if (recomputed === null) delete inputs[name];
    else inputs[name] = recomputed;
  }
  return { ...reading, inputs, conditions: { ...conditions, emissivity: truly.emissivity, reflected: truly.reflectedC } };
}
