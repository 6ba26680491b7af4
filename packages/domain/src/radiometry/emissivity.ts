/** Below it a temperature is made less sure; below the other only the apparent one is known (common practice, no source). */
export const EMISSIVITY_REDUCED = 0.8;
export const EMISSIVITY_UNRELIABLE = 0.5;

/** What a temperature read under an emissivity is good for. */
export type EmissivityReliability = 'reliable' | 'reduced' | 'unreliable';

/**
 * What a temperature is good for: from 0.8 quantitative, from 0.5 with more uncertainty, below or unknown only as apparent one.
 * @param emissivity 0 to 1, or null: unknown, or bare metal without tape or paint.
 * @example emissivityReliability(0.55) // 'reduced'
 */
export function emissivityReliability(emissivity: number | null): EmissivityReliability {
  if (emissivity === null || !(emissivity >= EMISSIVITY_UNRELIABLE)) return 'unreliable';
  return emissivity < EMISSIVITY_REDUCED ? 'reduced' : 'reliable';
}

/** A surface with its usual emissivity. */
export interface Surface {
  readonly name: string;
  readonly emissivity: number;
  /** Bare metal: an imager reads it only where tape or paint was put on. */
  readonly isBareMetal: boolean;
}

const bare = (name: string, emissivity: number): Surface => ({ name, emissivity, isBareMetal: true });
const coated = (name: string, emissivity: number): Surface => ({ name, emissivity, isBareMetal: false });

/**
 * Usual emissivities, total spectrum unless the name says otherwise (handbook compilations: Wolfe and Zissis; Bramson; Madding). A
 * value from a table is known to about 0.05; tape of a known emissivity to 0.02.
 */
export const SURFACES = {
  'cu-pol': bare('copper, polished', 0.03),
  'cu-scr': bare('copper, scraped', 0.07),
  'cu-ox': coated('copper, heavily oxidised', 0.78),
  'cu-blk': coated('copper, oxidised black', 0.88),
  'al-pol': bare('aluminium sheet, polished', 0.05),
  'al-recv': bare('aluminium plate, as received', 0.09),
  'al-anod': coated('aluminium, anodised', 0.55),
  'al-anod-bk': coated('aluminium, anodised black, 8 to 14 µm', 0.95),
  'brass-pol': bare('brass, highly polished', 0.03),
  'brass-ox': coated('brass, oxidised', 0.61),
  'steel-pol': bare('steel, polished', 0.07),
  'steel-ox': coated('steel, oxidised, 100 °C', 0.74),
  'steel-ox2': coated('steel, oxidised, 200 °C', 0.79),
  'steel-rust': coated('steel, heavily rusted', 0.69),
  'castiron-ox': coated('cast iron, oxidised', 0.64),
  brick: coated('brick, red', 0.93),
  concrete: coated('concrete', 0.92),
  plaster: coated('plaster, rough', 0.91),
  glass: coated('glass, smooth', 0.94),
  oilpaint: coated('oil paint of any colour', 0.94),
  tape: coated('black vinyl tape, 8 to 14 µm', 0.96),
  water: coated('water', 0.96),
  skin: coated('human skin', 0.98),
} as const satisfies Readonly<Record<string, Surface>>;

/** Key of a surface of the table. */
export type SurfaceKey = keyof typeof SURFACES;
