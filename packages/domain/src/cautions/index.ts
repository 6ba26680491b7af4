/**
 * Cautions: what a person is told about danger at a stop, and what a grade does and does not promise.
 * Hides the texts. Always holds: each text defers to local law, the rules of the site and the licensed person; none tells
 * anybody to switch, to defeat an interlock or to change the load of a machine.
 */

/** Flags of an asset; a stop shows only the texts of its own, once a visit, to be acknowledged. */
export const HAZARDS = [
  'live-panel',
  'rotating',
  'hot-surface',
  'hot-water',
  'steam',
  'pressure',
  'automatic-start',
  'fire-protection',
  'roof',
  'aerosol',
  'refrigerant',
  'confined-space',
  'ladder',
  'lone-work',
] as const;
export type Hazard = (typeof HAZARDS)[number];

export interface Caution {
  /** Two or three words, to be seen before the text is. */
  readonly title: string;
  readonly text: string;
}

/** Texts by hazard. Figures and orders of local law and of the site go before every one of them. */
export const CAUTIONS: Readonly<Record<Hazard, Caution>> = {
  'live-panel': {
    title: 'Live parts',
    text: 'Open this panel only if your local rules let you, with the permit, the protection and the distances its label asks for. No label or permit in sight: leave it shut and answer "Unsafe". Read through a window where there is one. Touch, tighten and switch nothing; have a second person with you.',
  },
  rotating: {
    title: 'Turning parts',
    text: 'Guards stay on, and you stay outside their line. Sleeves, hair and cords tied back. A spot that can only be seen through an open guard is not read.',
  },
  'hot-surface': {
    title: 'Hot surfaces',
    text: 'Bare metal from about 60 °C burns within seconds, longer contact burns from about 50 °C (thresholds: ISO 13732-1). Read it without touching it.',
  },
  'hot-water': {
    title: 'Scalding water',
    text: 'Water above 55 °C scalds within seconds. Open no vent, drain or joint for a reading.',
  },
  steam: {
    title: 'Steam',
    text: 'Keep to the side of traps, vents and relief outlets: even a cold trap may blow off without warning. Wet lagging hides leaks, and banging pipes mean water where steam should be: go away from them and report it.',
  },
  pressure: {
    title: 'Under pressure',
    text: 'Loosen nothing. Keep out of the line of relief outlets and of end caps.',
  },
  'automatic-start': {
    title: 'Starts by itself',
    text: 'This machine may start at any moment without a sound before it. Treat it as if it were running.',
  },
  'fire-protection': {
    title: 'Fire protection',
    text: 'Whatever takes this set out of readiness needs the site’s permit for it. Test runs belong to the people named for them; for a reading you start and stop nothing.',
  },
  roof: {
    title: 'On the roof',
    text: 'Go up only with the fall protection of the site, never alone, not in wind, ice or thunder. Glass tubes may burst; what runs in them is hot.',
  },
  aerosol: {
    title: 'Spray in the air',
    text: 'Mist from cooling water may carry legionella. Wear what the site prescribes against it, or read from outside the plume.',
  },
  refrigerant: {
    title: 'Refrigerant',
    text: 'Work on the circuit is for licensed people. A smell, a hiss or an alarm in the room: out, and report it from outside.',
  },
  'confined-space': {
    title: 'Confined space',
    text: 'Do not enter without the permit and the watcher that the site asks for. Without them the answer is "No way in".',
  },
  ladder: {
    title: 'Ladder',
    text: 'Use an inspected ladder, both hands free for climbing. Where a reading needs a hand you do not have, leave it out and say so.',
  },
  'lone-work': {
    title: 'Alone here',
    text: 'Tell somebody where you are and when you will be out, as the rules of the site for working alone ask.',
  },
};

/** Shown in the client and printed on reports. */
export const FINE_MEANS =
  'Fine means: no limit was reached when this was read. It promises nothing about later, and this service is no protection device.';

/** Shown at the worst grade. What to do at the machine is written and signed by the site, never by this service. */
export const NOW_MEANS = 'Now: act at once, from a safe place.';

/** At a live part graded Now. */
export const NOW_AT_LIVE_PARTS =
  'Step back from the open panel, keep others away and call the person responsible for the electrical plant. Whether it is switched off is for that person to decide.';

/** The cautions of an asset in the order of HAZARDS; unknown flags are skipped. */
export function cautionsFor(hazards: readonly string[]): (Caution & { readonly hazard: Hazard })[] {
  return HAZARDS.filter((hazard) => hazards.includes(hazard)).map((hazard) => ({ hazard, ...CAUTIONS[hazard] }));
}
