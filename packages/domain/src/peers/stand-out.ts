/** Which of several like components, read on one visit, is unlike the others; each at its own load, and without any history. */
import { median, normalCdf } from '../numbers/index.ts';

/** One of several like components on one visit. */
export interface LikeComponent {
  readonly name: string;
  /** °C */
  readonly temperature: number;
  /** Air beside it, °C; null: not read, so that only components under one load can be compared. */
  readonly ambient: number | null;
  /** % of rated, or of the greatest of them; null: not read, or it means nothing. */
  readonly load: number | null;
}

/** How like ones differ, in K at rated load, and how often one is unlike the others. Common practice, no source; held by the check against known truth. */
export interface Likeness {
  /** Usual standard deviation between healthy ones at rated load, K, and by what factor it may differ. */
  readonly scatterK: number;
  readonly factor: number;
  /** Repeatability of a reading against the others, whatever the load, K. */
  readonly repeatK: number;
  /** Share of those that are hotter, and colder, than they should be. */
  readonly hotter: number;
  readonly colder: number;
}

export const LIKENESS = {
  /** Phases of one device under one load: in one picture, of one make and age. */
  phases: { scatterK: 1.2, factor: 1.35, repeatK: 0.9, hotter: 0.08, colder: 0.02 },
  /** Each a device of its own under a load of its own: breakers of a board, bearings of sister machines, traps on a header. */
  devices: { scatterK: 2.4, factor: 1.42, repeatK: 0.9, hotter: 0.08, colder: 0.02 },
  /** Of one make in one picture, where load means nothing: tubes of a collector, strips of a panel, cells. Either side is a fault. */
  neighbours: { scatterK: 1.2, factor: 1.6, repeatK: 0.5, hotter: 0.04, colder: 0.04 },
} as const satisfies Readonly<Record<string, Likeness>>;

/** What is unlike by more than this at rated load is not rarer for it, K: all excesses up to here are equally likely. */
const EXCESS_K = 45;
/** Exponents of rise ∝ load^n between forced flow and constant film, with the weight of each before anything is read. */
const EXPONENTS = [1, 1.2, 1.4, 1.6, 1.8, 2] as const;
const USUAL_EXPONENT = { mean: 1.5, deviation: 0.3 } as const;
/** Scatters looked at, in standard deviations of its logarithm round the usual one. */
const SCATTERS = [-2.4, -1.6, -0.8, 0, 0.8, 1.6, 2.4] as const;
/** A density is no narrower than this many standard deviations, so that what carries no load tells nothing. */
const WIDTH = 2.5;
/** With fewer there is nothing to compare. */
export const LEAST_LIKE = 3;
/** Loads within this of the greatest, %, count as one load. */
const ONE_LOAD_PERCENT = 10;
/** What carries less carries nothing, %. */
const LEAST_LOAD_PERCENT = 1;
const MOST_STEPS = 50;

/** How one component stands among its like. */
export interface LikeStanding {
  readonly name: string;
  /** K over what its like would show at its load; below 0: colder. */
  readonly excess: number;
  /** That it is hotter, and that it is colder, than the scatter of healthy ones explains, 0 to 1. */
  readonly hotter: number;
  readonly colder: number;
  /** More likely than not. */
  readonly standsOut: 'hotter' | 'colder' | null;
}

/** What could be compared; null: fewer than three, or unlike loads without the air. */
export type LikeCompared = { readonly standings: readonly LikeStanding[]; readonly leftOut: readonly string[] } | null;

/**
 * Finds the faulty ones among like components on one visit, from the first visit on and each at its own load.
 *
 * Model: rise = (R + scatter)·(load/100)^n + repeatability, and a share of components with an excess that grows with the load as
 * well. R is fitted so that those which look unlike the others do not pull it (expectation and maximisation); the exponent and the
 * scatter, which few components cannot tell, are averaged over their likely values (Bayes). Components without a load where
 * others have one, or without a finite temperature, are left out and named.
 *
 * @param components any order. O(42 · n · steps).
 * @returns standings in the order given; null where nothing can be compared.
 * @example compareLike([50, 51, 49, 62].map((temperature, i) => ({ name: `${i}`, temperature, ambient: 22, load: 90 })), LIKENESS.devices)?.standings[3]?.standsOut // 'hotter'
 */
export function compareLike(components: readonly LikeComponent[], likeness: Likeness): LikeCompared {
  const finite = components.filter(({ temperature }) => Number.isFinite(temperature));
  const hasLoads = finite.some(({ load }) => load !== null);
  const kept = hasLoads
    ? finite.filter(({ load }) => load !== null && load >= LEAST_LOAD_PERCENT && Number.isFinite(load))
    : finite;
  if (kept.length < LEAST_LIKE) return null;
  const greatest = Math.max(...kept.map(({ load }) => load ?? 100));
  const isOneLoad = kept.every(({ load }) => load === null || load >= greatest * (1 - ONE_LOAD_PERCENT / 100));
  const hasAir = kept.every(({ ambient }) => ambient !== null && Number.isFinite(ambient));
  if (!hasAir && !isOneLoad) return null;
  const rises = kept.map(({ temperature, ambient }) => temperature - (hasAir ? ambient! : 0));
  // Without the air a rise is not known, and its share that grows with the load neither: one load is then taken as equal.
  const loads = kept.map(({ load }) => (hasAir ? (load ?? 100) : greatest) / 100);
  const standings = average(rises, loads, likeness);
  if (standings === null) return null;
  const names = new Set(kept.map(({ name }) => name));
  return {
    standings: standings.map((one, index) => ({ name: kept[index]!.name, ...one })),
    leftOut: components.flatMap(({ name }) => (names.has(name) ? [] : name)),
  };
}

type Figures = Omit<LikeStanding, 'name'>;

/** One exponent and one scatter, with everything fitted under them. */
interface Fit {
  readonly logEvidence: number;
  readonly figures: readonly { readonly excess: number; readonly hotter: number; readonly colder: number }[];
}

/** The fits averaged by how well each explains what was read. */
function average(rises: readonly number[], loads: readonly number[], likeness: Likeness): Figures[] | null {
  const isEqual = loads.every((load) => load === loads[0]);
  const exponents: readonly number[] = isEqual ? [USUAL_EXPONENT.mean] : EXPONENTS;
  const fits = exponents.flatMap((exponent) =>
    SCATTERS.map((deviations) => {
      const scatterK = likeness.scatterK * likeness.factor ** deviations;
      const far = (exponent - USUAL_EXPONENT.mean) / USUAL_EXPONENT.deviation;
      return fit(
        rises,
        loads.map((load) => load ** exponent),
        scatterK,
        likeness,
        -(deviations ** 2 + far ** 2) / 2,
      );
    }),
  );
  const best = Math.max(...fits.map(({ logEvidence }) => logEvidence));
  const weights = fits.map(({ logEvidence }) => Math.exp(logEvidence - best));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  if (!Number.isFinite(total) || total === 0) return null;
  return rises.map((_, index) => {
    const mean = (of: 'excess' | 'hotter' | 'colder'): number =>
      fits.reduce((sum, { figures }, k) => sum + (weights[k]! / total) * figures[index]![of], 0);
    // Shares of weights that add up to a rounding more than one.
    const [excess, hotter, colder] = [mean('excess'), Math.min(1, mean('hotter')), Math.min(1, mean('colder'))];
    return { excess, hotter, colder, standsOut: hotter > 0.5 ? 'hotter' : colder > 0.5 ? 'colder' : null };
  });
}

/** R, the rise at rated load, for one exponent and scatter. */
function fit(
  rises: readonly number[],
  factors: readonly number[],
  scatterK: number,
  { repeatK, hotter, colder }: Likeness,
  logPrior: number,
): Fit {
  const deviations = factors.map((factor) => Math.hypot(scatterK * factor, repeatK));
  const widths = factors.map((factor, i) => Math.hypot(EXCESS_K * factor, WIDTH * deviations[i]!));
  let rated = median(rises.map((rise, i) => rise / factors[i]!)) ?? 0;
  for (let step = 0; ; step++) {
    let [known, seen, logLikelihood] = [0, 0, 0];
    const figures = rises.map((rise, i) => {
      const [factor, deviation] = [factors[i]!, deviations[i]!];
      const excess = rise - rated * factor;
      const score = excess / deviation;
      const sound = ((1 - hotter - colder) * Math.exp(-(score ** 2) / 2)) / (Math.sqrt(2 * Math.PI) * deviation);
      const above = (hotter * normalCdf(score)) / widths[i]!;
      const below = (colder * normalCdf(-score)) / widths[i]!;
      const all = sound + above + below;
      const weight = sound / all / deviation ** 2;
      known += weight * factor ** 2;
      seen += weight * factor * rise;
      logLikelihood += Math.log(all);
      return { excess, hotter: above / all, colder: below / all };
    });
    const next = known > 0 ? seen / known : rated;
    if (step >= MOST_STEPS || !(Math.abs(next - rated) > 1e-4))
      // R is known no better than 1/√known; what it could be otherwise counts as well.
      return { logEvidence: logLikelihood + logPrior - Math.log(Math.max(known, 1e-9)) / 2, figures };
    rated = next;
  }
}
