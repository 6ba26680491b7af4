/**
 * Limits of temperature and rise for electrical parts. Type-test limits of new and clean equipment at rated current; those of the
 * maker and of the site go first. Always: a limit carries its source.
 */
import type { Grade } from '../limits/types.ts';

/** A limit in K over an ambient of at most 40 °C, or in °C. */
export interface ElectricalLimit {
  readonly rise: number | null;
  readonly temperature: number | null;
  readonly source: string;
}

const assembly = (rise: number, seen = 'from memory'): ElectricalLimit => ({
  rise,
  temperature: null,
  source: `IEC 61439-1, table 6 (${seen})`,
});
const terminal = (rise: number): ElectricalLimit => ({ rise, temperature: null, source: 'IEC 60947-1, table 2 (from memory)' });
const accessible = (rise: number): ElectricalLimit => ({ rise, temperature: null, source: 'IEC 60947-1, table 3 (from memory)' });
const switchgear = (temperature: number): ElectricalLimit => ({
  rise: temperature - 40,
  temperature,
  source: 'IEC 60694, table 3; IEC 62271-1',
});
const conductor = (temperature: number): ElectricalLimit & { readonly temperature: number } => ({
  rise: null,
  temperature,
  source: 'IEC 60364-5-52, table 52.1 (from memory)',
});

/** Every limit by the part it belongs to. */
export const ELECTRICAL_LIMITS = {
  'assembly-terminal': assembly(70, 'published'),
  'assembly-handle-metal': assembly(15),
  'assembly-handle-insulating': assembly(25),
  'assembly-cover-metal': assembly(30),
  'assembly-cover-insulating': assembly(40),
  'assembly-cover-metal-untouched': assembly(40),
  'assembly-cover-insulating-untouched': assembly(50),
  'assembly-busbar-bare-copper': assembly(105, 'often quoted, from memory'),
  'device-terminal-copper': terminal(60),
  'device-terminal-brass': terminal(65),
  'device-terminal-tin': terminal(65),
  'device-terminal-silver-or-nickel': terminal(70),
  'device-handle-metal': accessible(15),
  'device-handle-insulating': accessible(25),
  'device-touchable-metal': accessible(30),
  'device-touchable-insulating': accessible(40),
  'device-untouched-metal': accessible(40),
  'device-untouched-insulating': accessible(50),
  'switchgear-contact-bare': switchgear(75),
  'switchgear-contact-tin': switchgear(90),
  'switchgear-contact-silver-or-nickel': switchgear(105),
  'switchgear-connection-bare': switchgear(90),
  'switchgear-connection-tin': switchgear(105),
  'switchgear-connection-silver-or-nickel': switchgear(115),
  'switchgear-terminal-bare': switchgear(90),
  'switchgear-terminal-coated': switchgear(105),
  'conductor-pvc': conductor(70),
  'conductor-xlpe-or-epr': conductor(90),
} as const satisfies Readonly<Record<string, ElectricalLimit>>;
export type ElectricalPart = keyof typeof ELECTRICAL_LIMITS;
export type ConductorInsulation = Extract<ElectricalPart, `conductor-${string}`>;

/**
 * The limit of a part with its source.
 * @example electricalLimit('switchgear-connection-bare').rise // 50
 */
export function electricalLimit(part: ElectricalPart): ElectricalLimit {
  return ELECTRICAL_LIMITS[part];
}

/** Shares of the limit rise from which a terminal is graded; common practice, no source. */
export const RISE_SHARES = { plan: 0.9, soon: 1, now: 1.2 } as const;

export interface LowerMargin {
  /** K that are left; negative: exceeded. */
  readonly margin: number;
  /** Which limit leaves less, with its source. */
  readonly part: ElectricalPart;
  readonly source: string;
  /** Rise over the limit rise. */
  readonly ratio: number;
  readonly grade: Grade;
}

/**
 * What is left at a terminal below its rise limit and below the temperature of the conductor's insulation; the lower wins and is
 * named. A terminal may meet its standard and still be too hot for the cable in it: 70 K over 35 °C is 105 °C. On a tie the
 * conductor is named, since its insulation does not recover.
 * @param rise at rated load, K. @param ambient °C, that in which the temperature is looked at.
 * @param terminalPart a part that has a rise limit.
 * @returns null when a figure is not finite or the part has no rise limit.
 * @example lowerMargin(60, 35, 'assembly-terminal', 'conductor-pvc')?.margin // -25
 */
export function lowerMargin(
  rise: number,
  ambient: number,
  terminalPart: ElectricalPart,
  insulation: ConductorInsulation,
): LowerMargin | null {
  const riseLimit = ELECTRICAL_LIMITS[terminalPart].rise;
  if (riseLimit === null || !Number.isFinite(rise + ambient)) return null;
  const ofTerminal = riseLimit - rise;
  const ofConductor = ELECTRICAL_LIMITS[insulation].temperature - (ambient + rise);
  const part = ofTerminal < ofConductor ? terminalPart : insulation;
  const ratio = rise / riseLimit;
  return {
    margin: Math.min(ofTerminal, ofConductor),
    part,
    source: ELECTRICAL_LIMITS[part].source,
    ratio,
    grade: gradeOf(ratio, ofConductor),
  };
}

function gradeOf(ratio: number, ofConductor: number): Grade {
  if (ratio >= RISE_SHARES.now || ofConductor < 0) return 'now';
  if (ratio >= RISE_SHARES.soon) return 'soon';
  return ratio >= RISE_SHARES.plan ? 'plan' : 'fine';
}
