import type { Reading } from '../facts/types.ts';
import { underTrueSettings } from '../radiometry/index.ts';
import { ambientOf, type InputField } from './quantities/definition.ts';
import { DEFINITION_OF } from './quantities/index.ts';
import type { Point } from './types.ts';

/** Apparent temperature around indoors when nobody read it, °C (common practice, no source). */
const USUAL_AROUND_C = 20;

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
