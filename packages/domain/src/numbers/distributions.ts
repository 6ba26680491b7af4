import { erfc, erfcScaled } from './erfc.ts';

/**
 * Distribution function of the standard normal, through erfc so that the lower tail keeps its digits.
 * https://en.wikipedia.org/wiki/Normal_distribution#Cumulative_distribution_function
 *
 * @param z standard deviations; −∞ gives 0, +∞ gives 1.
 * @returns probability of a value at or below z. O(1).
 * @example normalCdf(-1.959963984540054) // 0.025
 */
export function normalCdf(z: number): number {
  return 0.5 * erfc(-z * Math.SQRT1_2);
}

/**
 * Distribution function of Student's t by Wallace's normal approximation (D. L. Wallace, "Bounds on normal approximations to
 * Student's and the chi-square distributions", Annals of Mathematical Statistics 30, 1959).
 * https://en.wikipedia.org/wiki/Student%27s_t-distribution
 *
 * Absolute error at most 3.5e-4 at 5 degrees of freedom, 1.5e-4 at 8, 3e-5 at 20.
 *
 * @param x any number; −∞ gives 0, +∞ gives 1.
 * @param degreesOfFreedom above 0; meant for 3 and more.
 * @returns probability of a value at or below x. O(1), one square root, logarithm and exponential.
 * @example studentCdf(2.015, 5) // 0.950
 */
export function studentCdf(x: number, degreesOfFreedom: number): number {
  const stretch = (8 * degreesOfFreedom + 1) / (8 * degreesOfFreedom + 3);
  const normalised = stretch * Math.sqrt(degreesOfFreedom * Math.log1p((x * x) / degreesOfFreedom));
  return 0.5 * erfc((x < 0 ? normalised : -normalised) * Math.SQRT1_2);
}

/**
 * Quantile of the standard normal: the inverse of normalCdf by Halley steps from a rough start, both tails to full precision.
 * https://en.wikipedia.org/wiki/Normal_distribution#Quantile_function
 *
 * @param p between 0 and 1; 0 gives −∞, 1 gives +∞.
 * @returns standard deviations. O(1), at most a dozen steps.
 * @example normalQuantile(0.975) // 1.959963984540054
 */
export function normalQuantile(p: number): number {
  if (!(p > 0)) return Number.NEGATIVE_INFINITY;
  if (p >= 1) return Number.POSITIVE_INFINITY;
  if (p > 0.5) return -normalQuantile(1 - p);
  // In the tail Φ(z) ≈ φ(z)/|z|, so z ≈ −√(−2 ln p) is near enough to begin with.
  let z = p < 0.1 ? -Math.sqrt(-2 * Math.log(p)) : 0;
  for (let step = 0; step < 50; step++) {
    const ratio = (normalCdf(z) - p) / (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI));
    const change = ratio / (1 + (z * ratio) / 2);
    z -= change;
    if (Math.abs(change) <= 1e-15 * Math.max(1, Math.abs(z))) break;
  }
  return z;
}

/**
 * Natural logarithm of the gamma function, by Stirling's series above 10 and the recurrence below.
 * https://en.wikipedia.org/wiki/Stirling%27s_approximation
 * @param x above 0. @example logGamma(0.5) // 0.5723649429247001
 */
export function logGamma(x: number): number {
  let shift = 0;
  let z = x;
  for (; z < 10; z++) shift += Math.log(z);
  const r = 1 / (z * z);
  const series = (1 / 12 - r * (1 / 360 - r * (1 / 1260 - r * (1 / 1680 - r * (1 / 1188 - (r * 691) / 360360))))) / z;
  return (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series - shift;
}

/** Regularised incomplete beta function by Lentz's continued fraction; https://dlmf.nist.gov/8.17 */
function incompleteBeta(x: number, a: number, b: number): number {
  if (!(x > 0)) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const least = 1e-300;
  const away = (value: number) => (Math.abs(value) < least ? least : value);
  let c = 1;
  let d = 1 / away(1 - ((a + b) * x) / (a + 1));
  let fraction = d;
  for (let m = 1; m < 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away(1 + even * d);
    c = away(1 + even / c);
    fraction *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away(1 + odd * d);
    c = away(1 + odd / c);
    const change = d * c;
    fraction *= change;
    if (Math.abs(change - 1) < 1e-16) break;
  }
  const front = Math.exp(a * Math.log(x) + b * Math.log1p(-x) + logGamma(a + b) - logGamma(a) - logGamma(b));
  return (front * fraction) / a;
}

/**
 * Distribution function of Student's t to full precision; studentCdf is the faster approximation of hot loops.
 * https://en.wikipedia.org/wiki/Student%27s_t-distribution#Cumulative_distribution_function
 *
 * @param degreesOfFreedom above 0. @returns probability of a value at or below x.
 * @example studentCdfExact(2, 1) // 0.8524163823495667
 */
export function studentCdfExact(x: number, degreesOfFreedom: number): number {
  if (x === 0) return 0.5;
  const ratio = x * x > degreesOfFreedom ? degreesOfFreedom / (x * x) : (x * x) / degreesOfFreedom;
  // Whichever of the two arguments of the beta function is small keeps its digits.
  const tail =
    x * x > degreesOfFreedom
      ? incompleteBeta(ratio / (1 + ratio), degreesOfFreedom / 2, 0.5) / 2
      : 0.5 - incompleteBeta(ratio / (1 + ratio), 0.5, degreesOfFreedom / 2) / 2;
  return x < 0 ? tail : 1 - tail;
}

/**
 * Quantile of Student's t: bisection on the lower tail, so that far tails keep their digits.
 * @param p between 0 and 1; 0 gives −∞, 1 gives +∞. @param degreesOfFreedom above 0.
 * @example studentQuantile(0.9, 1) // 3.0776835371752536
 */
export function studentQuantile(p: number, degreesOfFreedom: number): number {
  if (!(p > 0)) return Number.NEGATIVE_INFINITY;
  if (p >= 1) return Number.POSITIVE_INFINITY;
  if (p === 0.5) return 0;
  if (p > 0.5) return -studentQuantile(1 - p, degreesOfFreedom);
  let low = -1;
  while (studentCdfExact(low, degreesOfFreedom) > p) low *= 2;
  return bisect(low, low === -1 ? 0 : low / 2, (x) => studentCdfExact(x, degreesOfFreedom) >= p);
}

/** Where a rising condition becomes true between two numbers, to the last bit but one. */
function bisect(from: number, to: number, isReached: (x: number) => boolean): number {
  let [low, high] = [from, to];
  for (let step = 0; step < 200; step++) {
    const middle = low / 2 + high / 2;
    if (middle <= low || middle >= high) break;
    if (isReached(middle)) high = middle;
    else low = middle;
  }
  return high;
}

/** The inverse Gaussian: the first time at which a drifting Wiener process meets a level. Folks and Chhikara 1978, JRSS B 40, 263. */
export interface InverseGaussian {
  /** Above 0. */
  readonly mean: number;
  /** λ, above 0, in the unit of the mean: mean³/variance. */
  readonly shape: number;
}

/**
 * The time that a level needs to travel a gap at a steady drift under diffusion.
 * @param gap to the limit, above 0. @param drift per unit of time towards it, above 0. @param diffusion standard deviation per
 *   square root of a unit of time, above 0.
 * @returns its distribution, or null where one of the three is not above 0: then it need never arrive.
 * @example firstPassage(12, 6 / 13, 1.2)?.mean // 26
 */
export function firstPassage(gap: number, drift: number, diffusion: number): InverseGaussian | null {
  if (!(gap > 0) || !(drift > 0) || !(diffusion > 0)) return null;
  const law = { mean: gap / drift, shape: (gap / diffusion) ** 2 };
  return Number.isFinite(law.mean) && Number.isFinite(law.shape) && law.shape > 0 ? law : null;
}

/**
 * Distribution function of the inverse Gaussian. Its second term, e^(2λ/μ)·Φ(…), is kept as a logarithm of a tail, since neither
 * factor is a number for large λ/μ.
 * https://en.wikipedia.org/wiki/Inverse_Gaussian_distribution
 * @param x any number; 0 at and below 0. @example inverseGaussianCdf(100, { mean: 100, shape: 2500 }) // 0.5395
 */
export function inverseGaussianCdf(x: number, law: InverseGaussian): number {
  if (!(x > 0)) return 0;
  if (x === Number.POSITIVE_INFINITY) return 1;
  const root = Math.sqrt(law.shape / x);
  return normalCdf(root * (x / law.mean - 1)) + mirrored(x, law);
}

/** Probability of a value above x, without the loss of 1 − F in the far tail. */
export function inverseGaussianTail(x: number, law: InverseGaussian): number {
  if (!(x > 0)) return 1;
  if (x === Number.POSITIVE_INFINITY) return 0;
  if (x <= law.mean) return 1 - inverseGaussianCdf(x, law);
  const { mean, shape } = law;
  const root = Math.sqrt(shape / (2 * x));
  // Both terms carry the same exponential; without it their difference keeps its digits.
  const difference = erfcScaled(root * (x / mean - 1)) - erfcScaled(root * (x / mean + 1));
  return 0.5 * Math.exp((-shape * (x - mean) ** 2) / (2 * mean * mean * x)) * difference;
}

/** e^(2λ/μ)·Φ(−√(λ/x)(x/μ + 1)) by the scaled tail, where both exponents cancel: −λ(x − μ)²/(2μ²x). */
function mirrored(x: number, { mean, shape }: InverseGaussian): number {
  const z = Math.sqrt(shape / x) * (x / mean + 1);
  const exponent = (-shape * (x - mean) ** 2) / (2 * mean * mean * x);
  return 0.5 * Math.exp(exponent) * erfcScaled(z * Math.SQRT1_2);
}

/**
 * Quantile of the inverse Gaussian by bisection on whichever tail is smaller.
 * @param p between 0 and 1; 0 gives 0, 1 gives +∞. @example inverseGaussianQuantile(0.5, { mean: 1, shape: 0.5 }) // 0.5142298922921857
 */
export function inverseGaussianQuantile(p: number, law: InverseGaussian): number {
  if (!(p > 0)) return 0;
  if (p >= 1) return Number.POSITIVE_INFINITY;
  const isReached = (x: number) => (p <= 0.5 ? inverseGaussianCdf(x, law) >= p : inverseGaussianTail(x, law) <= 1 - p);
  let high = law.mean;
  while (!isReached(high)) high *= 2;
  return bisect(0, high, isReached);
}
