import type { TrendSample } from './theil-sen.ts';

/** What the lines of a class of like units have in common, and how much they differ. */
export interface ClassLines {
  readonly intercept: number;
  readonly slope: number;
  /** Standard deviations between the units, and their correlation (0 where one of them is nil). */
  readonly interceptSd: number;
  readonly slopeSd: number;
  readonly correlation: number;
  /** Of single values about the line of their unit. */
  readonly residualSd: number;
  readonly slopeSe: number;
  /** Restricted log-likelihood. */
  readonly logLikelihood: number;
  /** The line of each unit, drawn towards that of the class by as much as its own values leave open; in the order of the units. */
  readonly lines: readonly { readonly intercept: number; readonly slope: number }[];
}

/** Sums of one unit: all that the likelihood needs. */
interface Unit {
  readonly n: number;
  readonly t: number;
  readonly tt: number;
  readonly y: number;
  readonly ty: number;
  readonly yy: number;
}

/** Relative covariance factor [a 0; b c]: spread of intercepts, how slopes follow them, spread of slopes on their own. */
type Factor = readonly [a: number, b: number, c: number];

/** Units are told apart no further than this many residual standard deviations: beyond, rounding would decide. */
const MOST = 1000;

interface Fit {
  readonly deviance: number;
  readonly beta: readonly [number, number];
  readonly variance: number;
  readonly slopeVariance: number;
  readonly lines: readonly { readonly intercept: number; readonly slope: number }[];
}

/**
 * Random intercepts and slopes by restricted maximum likelihood: the class line, the spread of the units about it, and each
 * unit's own line shrunk towards it. Few readings of a unit lean on the class, many stand for themselves.
 * Laird and Ware 1982, Biometrics 38, 963; profiled as in Bates and others 2015, Journal of Statistical Software 67(1).
 *
 * @param units of one class and one quantity, in one unit and one zero of time; units without finite samples count for nothing.
 * @returns null with fewer than two units, five samples or two distinct times, or when nothing scatters. O(samples) once, then
 *   O(units) per step of a search in three figures.
 * @example fitClassLines(readingsOfThirtyLikeBearings)?.slopeSd // 0.012 K per day
 */
export function fitClassLines(units: readonly (readonly TrendSample[])[]): ClassLines | null {
  const kept = units.map((samples) => samples.filter(({ time, value }) => Number.isFinite(time) && Number.isFinite(value)));
  const all = kept.flat();
  const used = kept.filter((samples) => samples.length > 0).length;
  if (used < 2 || all.length < 5) return null;
  // Centred and scaled, so that the three figures of the search are near one whatever the units of time and value.
  const time0 = all.reduce((sum, { time }) => sum + time / all.length, 0);
  const span = Math.sqrt(all.reduce((sum, { time }) => sum + (time - time0) ** 2 / all.length, 0));
  const value0 = all.reduce((sum, { value }) => sum + value / all.length, 0);
  const scale = Math.sqrt(all.reduce((sum, { value }) => sum + (value - value0) ** 2 / all.length, 0));
  if (!(span > 0) || !(scale > 0) || !Number.isFinite(span) || !Number.isFinite(scale)) return null;
  const sums = kept.map((samples) =>
    sumsOf(samples.map(({ time, value }) => ({ time: (time - time0) / span, value: (value - value0) / scale }))),
  );
  // The factor belongs to the intercept at time 0 of the caller, so that its spread is that of the caller's intercept.
  const shift = time0 / span;
  const fitAt = (factor: Factor) => fitWith(sums, factor, shift, all.length);
  const best = minimise((factor) =>
    factor.some((one) => Math.abs(one) > MOST) ? Number.POSITIVE_INFINITY : (fitAt(factor)?.deviance ?? Number.POSITIVE_INFINITY),
  );
  const fit = fitAt(best);
  if (fit === null) return null;
  const toOwn = (line: { intercept: number; slope: number }) => {
    const slope = (line.slope * scale) / span;
    return { slope, intercept: value0 + line.intercept * scale - slope * time0 };
  };
  const [a, b, c] = best;
  const sigma = Math.sqrt(fit.variance) * scale;
  const slopeSd = (sigma * Math.hypot(b, c)) / span;
  const interceptSd = sigma * Math.abs(a);
  const own = toOwn({ intercept: fit.beta[0], slope: fit.beta[1] });
  return {
    ...own,
    interceptSd,
    slopeSd,
    correlation: interceptSd > 0 && slopeSd > 0 ? (Math.sign(a) * b) / Math.hypot(b, c) : 0,
    residualSd: sigma,
    slopeSe: (Math.sqrt(fit.slopeVariance) * scale) / span,
    // Scaling values and times moves the restricted likelihood by constants.
    logLikelihood: -fit.deviance / 2 - (all.length - 2) * Math.log(scale) - Math.log(span),
    lines: fit.lines.map(toOwn),
  };
}

function sumsOf(samples: readonly TrendSample[]): Unit {
  let [t, tt, y, ty, yy] = [0, 0, 0, 0, 0];
  for (const { time, value } of samples) {
    t += time;
    tt += time * time;
    y += value;
    ty += time * value;
    yy += value * value;
  }
  return { n: samples.length, t, tt, y, ty, yy };
}

/** Restricted deviance at one factor, with the fixed line and the variance that belong to it. */
function fitWith(units: readonly Unit[], [a, b, c]: Factor, shift: number, count: number): Fit | null {
  // Random part z = (1, time + shift); Λ = [a 0; b c]; M = I + Λ'Z'ZΛ of each unit is 2 × 2.
  let [logDet, xx, xt, tt, xy, ty, yy] = [0, 0, 0, 0, 0, 0, 0];
  const solved = units.map((unit) => {
    const { n, t, y } = unit;
    const [ts, tts] = [t + shift * n, unit.tt + 2 * shift * t + shift * shift * n];
    // Columns of ZΛ: u = a + b·s, v = c·s with s = time + shift.
    const uu = a * a * n + 2 * a * b * ts + b * b * tts;
    const uv = c * (a * ts + b * tts);
    const vv = c * c * tts;
    const [m11, m12, m22] = [1 + uu, uv, 1 + vv];
    const det = m11 * m22 - m12 * m12;
    logDet += Math.log(det);
    const tsOfTime = unit.tt + shift * t;
    const tys = unit.ty + shift * y;
    // Products of the two columns with 1, time and the value.
    const withOne: Pair = [a * n + b * ts, c * ts];
    const withTime: Pair = [a * t + b * tsOfTime, c * tsOfTime];
    const withValue: Pair = [a * y + b * tys, c * tys];
    const inner = (p: Pair, q: Pair) => (m22 * p[0] * q[0] - m12 * (p[0] * q[1] + p[1] * q[0]) + m11 * p[1] * q[1]) / det;
    xx += n - inner(withOne, withOne);
    xt += t - inner(withOne, withTime);
    tt += unit.tt - inner(withTime, withTime);
    xy += y - inner(withOne, withValue);
    ty += unit.ty - inner(withTime, withValue);
    yy += unit.yy - inner(withValue, withValue);
    return { withOne, withTime, withValue, m11, m12, m22, det };
  });
  const det = xx * tt - xt * xt;
  if (!(det > 0)) return null;
  const beta0 = (tt * xy - xt * ty) / det;
  const beta1 = (xx * ty - xt * xy) / det;
  const rest = yy - beta0 * xy - beta1 * ty;
  const freedom = count - 2;
  if (!(rest > 0) || freedom < 1) return null;
  const variance = rest / freedom;
  const deviance = logDet + Math.log(det) + freedom * (1 + Math.log(2 * Math.PI * variance));
  const lines = solved.map(({ withOne, withTime, withValue, m11, m12, m22, det: own }) => {
    const r0 = withValue[0] - beta0 * withOne[0] - beta1 * withTime[0];
    const r1 = withValue[1] - beta0 * withOne[1] - beta1 * withTime[1];
    const u = (m22 * r0 - m12 * r1) / own;
    const v = (m11 * r1 - m12 * r0) / own;
    const slope = beta1 + b * u + c * v;
    return { slope, intercept: beta0 + a * u + shift * (b * u + c * v) };
  });
  return { deviance, beta: [beta0, beta1], variance, slopeVariance: (variance * xx) / det, lines };
}

type Pair = readonly [number, number];

/** Nelder and Mead 1965, with restarts; the sign of a spread means nothing, so the search is free. */
function minimise(of: (factor: Factor) => number): Factor {
  let best: Factor = [1, 0, 1];
  let least = of(best);
  for (const size of [0.5, 0.1, 0.02, 0.5, 0.01]) {
    let simplex = [best, ...[0, 1, 2].map((i) => best.map((x, j) => (i === j ? x + size : x)) as unknown as Factor)].map(
      (at) => ({
        at,
        value: of(at),
      }),
    );
    for (let step = 0; step < 600; step++) {
      simplex = simplex.sort((p, q) => p.value - q.value);
      const worst = simplex[3]!;
      const middle = [0, 1, 2].map((j) => (simplex[0]!.at[j]! + simplex[1]!.at[j]! + simplex[2]!.at[j]!) / 3);
      const along = (share: number): { at: Factor; value: number } => {
        const at = middle.map((x, j) => x + share * (worst.at[j]! - x)) as unknown as Factor;
        return { at, value: of(at) };
      };
      const mirrored = along(-1);
      if (mirrored.value < simplex[0]!.value) {
        const further = along(-2);
        simplex[3] = further.value < mirrored.value ? further : mirrored;
      } else if (mirrored.value < simplex[2]!.value) simplex[3] = mirrored;
      else {
        const inside = along(mirrored.value < worst.value ? -0.5 : 0.5);
        if (inside.value < Math.min(worst.value, mirrored.value)) simplex[3] = inside;
        else {
          const [top] = simplex as [{ at: Factor; value: number }];
          simplex = simplex.map(({ at }) => {
            const nearer = at.map((x, j) => (x + top.at[j]!) / 2) as unknown as Factor;
            return { at: nearer, value: of(nearer) };
          });
        }
      }
      if (Math.abs(simplex[3]!.value - simplex[0]!.value) < 1e-13) break;
    }
    const found = simplex.sort((p, q) => p.value - q.value)[0]!;
    if (found.value < least) [best, least] = [found.at, found.value];
  }
  return best;
}
