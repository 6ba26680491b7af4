import { readFileSync } from 'node:fs';
import {
  cusum,
  ewma,
  fitExponentialLine,
  fitLine,
  levelChange,
  lineAt,
  lineCrossing,
  mannKendall,
  meanHolds,
  medianLine,
  neighbourCorrelation,
  pettitt,
  robustLine,
  smoothed,
  studentCdfExact,
  studentQuantile,
  type TrendSample,
  theilSen,
} from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type GoldenValue, goldenValues, inputOf, isWithin } from '../golden-values.ts';

interface Series {
  readonly id: string;
  readonly x: number[];
  readonly y: number[];
  readonly ols: {
    readonly slope: number;
    readonly slope_se?: number;
    readonly intercept_at_x0?: number;
    readonly df?: number;
    readonly p_two_sided?: number;
    readonly r2?: number;
    readonly sigma?: number;
    readonly rss?: number;
    readonly slope_ci80?: [number, number];
    readonly slope_ci95?: [number, number];
    readonly predict?: readonly Record<'x' | 'fit' | 'pi_low' | 'pi_high' | 'ci_low' | 'ci_high', number[]>[] &
      { level: number }[];
  };
  readonly crossing?: {
    readonly limit: number;
    readonly direction: 'up' | 'down';
    readonly p50_x: number;
    readonly pi80: { readonly p10_x: number | null; readonly p90_x: number | null };
    readonly ci80: { readonly p10_x: number | null; readonly p90_x: number | null };
  };
  readonly loglinear?: {
    readonly rate_per_x: number;
    readonly rate_se: number;
    readonly log_intercept_at_x0: number;
    readonly sigma_log: number;
    readonly x: number[];
    readonly median: number[];
    readonly pi80_low: number[];
    readonly pi80_high: number[];
    readonly aic_log_on_y_scale: number;
    readonly aic_linear: number;
  };
  readonly theil_sen: {
    readonly slope: number;
    readonly intercept_of_medians: number;
    readonly ci: readonly {
      level: number;
      low_interpolated: number;
      high_interpolated: number;
      rank_low: number;
      rank_high: number;
    }[];
    readonly n_slopes: number;
  };
  readonly mann_kendall: {
    readonly S: number;
    readonly var_no_ties: number;
    readonly var_y_ties: number;
    readonly var_xy_ties: number;
    readonly z_continuity: number | null;
    readonly p_two_sided_normal: number | null;
    readonly tau_b: number | null;
    readonly p_two_sided_exact?: number;
  };
  readonly changepoint_mean?: {
    readonly h_min_segment: number;
    readonly index_last_of_first_segment: number;
    readonly rss_two_means: number;
    readonly rss_one_mean: number;
    readonly mean_before: number;
    readonly mean_after: number;
    readonly ols_cusum: { readonly S0: number; readonly p: number };
  };
  readonly mm_robust?: { readonly slope: number; readonly scale: number; readonly converged: boolean };
  readonly median_regression?: { readonly slope: number };
  readonly control_charts?: {
    readonly baseline_n: number;
    readonly mean: number;
    readonly sd: number;
    readonly ewma: { readonly lambda: number; readonly L: number; readonly first_alarm_index: number | null };
    readonly cusum_tabular: {
      readonly k: number;
      readonly h: number;
      readonly first_alarm_index: number | null;
      readonly side: string | null;
    };
  };
}
// Source: R 4.2.2 (lm, robustbase::lmrob, quantreg::rq, strucchange), SciPy 1.10.1; series of R's datasets and MASS, and simulated ones.
const { series } = JSON.parse(readFileSync(new URL('../../../golden/regression.json', import.meta.url), 'utf8')) as {
  series: Series[];
};
const having = <K extends keyof Series>(key: K) =>
  series.filter((one) => one[key] !== undefined && one[key] !== null) as (Series & Required<Pick<Series, K>>)[];

const samplesOf = ({ x, y }: Pick<Series, 'x' | 'y'>): TrendSample[] => x.map((time, i) => ({ time, value: y[i]! }));
function expectClose(actual: number | null | undefined, expected: number, relative = 1e-8, least = 1e-9): void {
  const isClose = typeof actual === 'number' && Math.abs(actual - expected) <= relative * Math.abs(expected) + least;
  expect(isClose, `${actual} is not ${expected}`).toBe(true);
}

describe('a line by least squares against R', () => {
  it.each(series)('$id', (one) => {
    const line = fitLine(samplesOf(one))!;
    const { ols } = one;
    expectClose(line.slope, ols.slope);
    if (ols.sigma === undefined) {
      expect(line).toMatchObject({ slope: 0, residualSd: 0, slopeSe: 0, r2: null });
      return;
    }
    expectClose(line.intercept, ols.intercept_at_x0!, 1e-8, 1e-7);
    expectClose(line.residualSd, ols.sigma);
    expectClose(line.slopeSe, ols.slope_se!);
    expectClose(line.rss, ols.rss!);
    expectClose(line.r2, ols.r2!);
    const df = line.count - 2;
    expectClose(2 * studentCdfExact(-Math.abs(line.slope / line.slopeSe!), df), ols.p_two_sided!, 1e-7, 0);
    for (const [level, bounds] of [
      [0.8, ols.slope_ci80!],
      [0.95, ols.slope_ci95!],
    ] as const) {
      const half = studentQuantile(0.5 + level / 2, df) * line.slopeSe!;
      expectClose(line.slope - half, bounds[0]);
      expectClose(line.slope + half, bounds[1]);
    }
    for (const band of ols.predict!) {
      for (const [i, x] of band.x.entries()) {
        const reading = lineAt(line, x, band.level, 'reading');
        const own = lineAt(line, x, band.level, 'line');
        expectClose(reading.value, band.fit[i]!);
        expectClose(reading.low, band.pi_low[i]!, 1e-7);
        expectClose(reading.high, band.pi_high[i]!, 1e-7);
        expectClose(own.low, band.ci_low[i]!, 1e-7);
        expectClose(own.high, band.ci_high[i]!, 1e-7);
      }
    }
  });

  it.each(having('crossing'))('crossing a limit: $id', (one) => {
    const { limit, direction, p50_x, pi80, ci80 } = one.crossing;
    const line = fitLine(samplesOf(one))!;
    // The file looks no further than 60 spans.
    const seen = (time: number | null) =>
      time !== null && time <= line.lastTime + 60 * (line.lastTime - line.firstTime) ? time : null;
    for (const [kind, expected] of [
      ['reading', pi80],
      ['line', ci80],
    ] as const) {
      const { earliest, likely, latest } = lineCrossing(line, limit, direction, 0.8, kind);
      expectClose(likely, p50_x, 1e-7);
      for (const [found, at] of [
        [earliest, expected.p10_x],
        [latest, expected.p90_x],
      ] as const) {
        if (at === null) expect(seen(found)).toBeNull();
        else expectClose(found, at, 1e-6);
      }
    }
  });

  it.each(having('loglinear'))('exponential line: $id', (one) => {
    const wanted = one.loglinear;
    const { rate, line, aic, aicOfLine } = fitExponentialLine(samplesOf(one))!;
    expectClose(rate, wanted.rate_per_x);
    expectClose(line.slopeSe, wanted.rate_se);
    expectClose(line.intercept, wanted.log_intercept_at_x0);
    expectClose(line.residualSd, wanted.sigma_log);
    expectClose(aic, wanted.aic_log_on_y_scale);
    expectClose(aicOfLine, wanted.aic_linear);
    for (const [i, x] of wanted.x.entries()) {
      const { value, low, high } = lineAt(line, x, 0.8, 'reading');
      expectClose(Math.exp(value), wanted.median[i]!, 1e-7);
      expectClose(Math.exp(low!), wanted.pi80_low[i]!, 1e-6);
      expectClose(Math.exp(high!), wanted.pi80_high[i]!, 1e-6);
    }
  });
});

describe('Theil–Sen and Mann–Kendall against R and SciPy', () => {
  it.each(series)('$id', (one) => {
    const slope = theilSen(samplesOf(one))!;
    expectClose(slope.slope, one.theil_sen.slope);
    expectClose(slope.intercept, one.theil_sen.intercept_of_medians, 1e-8, 1e-7);
    const wanted = one.theil_sen.ci.find(({ level }) => level === 0.95)!;
    // Ranks outside the slopes: 95 % cannot be had from so few; the file gives the outermost slopes then, we give none.
    if (wanted.rank_low < 1 || wanted.rank_high > one.theil_sen.n_slopes) expect(slope.interval).toBeNull();
    else {
      expectClose(slope.interval?.low, wanted.low_interpolated, 1e-7);
      expectClose(slope.interval?.high, wanted.high_interpolated, 1e-7);
    }
    const { mann_kendall } = one;
    const test = mannKendall(one.y, one.x)!;
    expect(test.s).toBe(mann_kendall.S);
    expectClose(test.variance, mann_kendall.var_xy_ties);
    if (mann_kendall.tau_b === null) expect(test).toMatchObject({ z: 0, tau: null });
    else {
      expectClose(test.tau, mann_kendall.tau_b);
      expectClose(test.z, mann_kendall.z_continuity!);
      expectClose(test.pTwoSided, mann_kendall.p_two_sided_normal!, 1e-7, 0);
    }
    if (test.pRisingExact !== null && mann_kendall.p_two_sided_exact !== undefined) {
      // Two-sided: twice the smaller tail.
      const rising = mannKendall(one.y.map((value) => Math.sign(mann_kendall.S || 1) * value))!.pRisingExact!;
      expectClose(Math.min(1, 2 * rising), mann_kendall.p_two_sided_exact);
    }
  });
});

describe('robust and median lines against R', () => {
  it.each(having('mm_robust').filter(({ mm_robust }) => mm_robust.converged))('MM: $id', (one) => {
    const line = robustLine(samplesOf(one))!;
    // Both search by iteration; ours goes on for longer, so its scale is a hair smaller and never larger.
    expectClose(line.scale, one.mm_robust.scale, 2e-3);
    expect(line.scale).toBeLessThanOrEqual(one.mm_robust.scale * (1 + 1e-6));
    expectClose(line.slope, one.mm_robust.slope, 1e-4);
  });
  it.each(having('median_regression'))('least absolute residuals: $id', (one) => {
    const line = medianLine(samplesOf(one))!;
    const loss = ({ slope, intercept }: { slope: number; intercept: number }) =>
      samplesOf(one).reduce((sum, { time, value }) => sum + Math.abs(value - intercept - slope * time), 0);
    // Several lines may be equally good; then the loss of the file's slope, with its best intercept, is the same.
    const rest = samplesOf(one)
      .map(({ time, value }) => value - one.median_regression.slope * time)
      .sort((a, b) => a - b);
    const theirs = loss({ slope: one.median_regression.slope, intercept: rest[Math.floor(rest.length / 2)]! });
    expectClose(loss(line), theirs, 1e-8);
  });
});

describe('changes of level and control charts against R', () => {
  it.each(having('changepoint_mean'))('two means: $id', (one) => {
    const wanted = one.changepoint_mean;
    const found = levelChange(one.y, wanted.h_min_segment)!;
    expect(found.before).toBe(wanted.index_last_of_first_segment);
    expectClose(found.meanBefore, wanted.mean_before);
    expectClose(found.meanAfter, wanted.mean_after);
    expectClose(found.rssTwo, wanted.rss_two_means);
    expectClose(found.rssOne, wanted.rss_one_mean);
    const held = meanHolds(one.y)!;
    expectClose(held.statistic, wanted.ols_cusum.S0);
    expectClose(held.p, wanted.ols_cusum.p, 1e-6, 1e-12);
  });
  it.each(having('control_charts'))('EWMA and CUSUM: $id', (one) => {
    const { mean, sd, ewma: means, cusum_tabular: sums } = one.control_charts;
    const chart = ewma(one.y, { target: mean, sd, lambda: means.lambda, widths: means.L });
    expect(chart.firstOutside).toBe(means.first_alarm_index === null ? null : means.first_alarm_index - 1);
    const signal = cusum(one.y, { target: mean, allowance: sums.k * sd, decision: sums.h * sd }).firstSignal;
    if (sums.first_alarm_index === null) expect(signal).toBeNull();
    else expect(signal).toEqual({ index: sums.first_alarm_index - 1, side: sums.side === 'up' ? 'high' : 'low' });
  });
});

const expectAll = (actual: readonly number[] | undefined, value: GoldenValue) => {
  const expected = value.expected as number[];
  expect(actual).toHaveLength(expected.length);
  for (const [i, one] of expected.entries())
    expect(isWithin(actual![i], one, value.tolerance), `${actual![i]} at ${i}`).toBe(true);
};
const within = (actual: number | null | undefined, value: GoldenValue) =>
  expect(isWithin(actual, value.expected as number, value.tolerance.exact ? { abs: 0 } : value.tolerance), `${actual}`).toBe(
    true,
  );

describe('published examples', () => {
  const lineOf = (value: GoldenValue) => {
    const y = inputOf<number[]>(value, 'y');
    return fitLine(samplesOf({ x: inputOf<number[]>(value, 'x'), y }))!;
  };
  it.each(goldenValues('trend.ols.slope'))('%s', (_, value) => within(lineOf(value).slope, value));
  it.each(goldenValues('trend.ols.intercept'))('%s', (_, value) => within(lineOf(value).intercept, value));
  it.each(goldenValues('trend.ols.slopeSE'))('%s', (_, value) => within(lineOf(value).slopeSe, value));
  it.each(goldenValues('trend.ols.residualSD'))('%s', (_, value) => within(lineOf(value).residualSd, value));

  const sumsOf = (value: GoldenValue) =>
    cusum(inputOf(value, 'x'), {
      target: inputOf(value, 'target'),
      allowance: inputOf(value, 'k'),
      decision: inputOf(value, 'h'),
    });
  it.each(goldenValues('trend.cusum.high'))('%s', (_, value) => expectAll(sumsOf(value).high, value));
  it.each(goldenValues('trend.cusum.low'))('%s', (_, value) => expectAll(sumsOf(value).low, value));
  it.each(goldenValues('trend.cusum.firstSignal'))('%s', (_, value) =>
    expect(sumsOf(value).firstSignal!.index + 1).toBe(value.expected),
  );

  const chartOf = (value: GoldenValue) =>
    ewma(inputOf(value, 'x'), { target: inputOf(value, 'target'), sd: inputOf(value, 's'), lambda: inputOf(value, 'lambda') });
  it.each(goldenValues('trend.ewma.series'))('%s', (_, value) => expectAll(chartOf(value).values, value));
  it.each(goldenValues('trend.ewma.ucl'))('%s', (_, value) =>
    within(inputOf<number>(value, 'target') + chartOf(value).finalHalfWidth, value),
  );

  it.each(goldenValues('trend.ses.forecasts'))('%s', (_, value) =>
    expectAll(smoothed(inputOf(value, 'y'), inputOf(value, 'alpha'))?.forecasts, value),
  );
  it.each(goldenValues('trend.ses.mse'))('%s', (_, value) =>
    within(smoothed(inputOf(value, 'y'), inputOf(value, 'alpha'))?.meanSquaredError, value),
  );
  it.each(goldenValues('trend.lag1'))('%s', (_, value) => within(neighbourCorrelation(inputOf(value, 'x')), value));

  it.each(goldenValues('trend.pettitt.index'))('%s', (_, value) =>
    expect(pettitt(inputOf(value, 'x'))?.before).toBe(value.expected),
  );
  it.each(goldenValues('trend.pettitt.K'))('%s', (_, value) => expect(pettitt(inputOf(value, 'x'))?.k).toBe(value.expected));
  it.each(goldenValues('trend.pettitt.p'))('%s', (_, value) => within(pettitt(inputOf(value, 'x'))?.p, value));
  it.each(goldenValues('trend.step.index'))('%s', (_, value) =>
    expect(levelChange(inputOf(value, 'x'), 3)?.before).toBe(value.expected),
  );

  const growthOf = (value: GoldenValue) =>
    fitExponentialLine(inputOf<number[]>(value, 't').map((time, i) => ({ time, value: inputOf<number[]>(value, 'y')[i]! })));
  it.each(goldenValues('trend.exponential.rate'))('%s', (_, value) => within(growthOf(value)?.rate, value));
  it.each(goldenValues('trend.modelChoice'))('%s', (_, value) => within(growthOf(value)?.preference, value));

  it.each(goldenValues('prognosis.pointTime'))('%s', (_, value) => {
    const [level, slope, limit] = [
      inputOf<number>(value, 'level'),
      inputOf<number>(value, 'slope'),
      inputOf<number>(value, 'limit'),
    ];
    const line = fitLine([
      { time: -10, value: level - 10 * slope },
      { time: 0, value: level },
    ])!;
    within(lineCrossing(line, limit, 'up', 0.8, 'line').likely, value);
  });
});

describe('properties', () => {
  const sample = fc.record({
    // Days, to the millisecond and less: no clock tells moments closer together than that.
    time: fc.integer({ min: -1e13, max: 1e13 }).map((step) => step / 1e8),
    value: fc.double({ min: -1e4, max: 1e4, noNaN: true }),
  });
  it('no NaN or infinity leaves, and the order does not matter', () => {
    fc.assert(
      fc.property(fc.array(sample, { maxLength: 15 }), (samples) => {
        const line = fitLine(samples);
        const backwards = fitLine([...samples].reverse());
        if (line === null) {
          expect(backwards).toBeNull();
          return;
        }
        for (const figure of Object.values(line)) expect(figure === null || Number.isFinite(figure)).toBe(true);
        expectClose(backwards!.slope, line.slope, 1e-6, 1e-6 * Math.abs(line.meanValue) + 1e-6);
        const { earliest, likely, latest } = lineCrossing(line, 2e4, 'up', 0.8, 'reading');
        for (const at of [earliest, likely, latest]) expect(at === null || Number.isFinite(at)).toBe(true);
        if (earliest !== null && likely !== null)
          expect(earliest).toBeLessThanOrEqual(likely * (1 + 1e-9) + 1e-6 + Math.abs(likely) * 1e-6);
        if (likely !== null && latest !== null) expect(likely).toBeLessThanOrEqual(latest + 1e-6 + Math.abs(latest) * 1e-6);
      }),
    );
  });
  it('other rows have their answers too', () => {
    const row = fc.array(fc.double(), { maxLength: 30 });
    fc.assert(
      fc.property(row, (values) => {
        for (const one of [levelChange(values, 2), pettitt(values), meanHolds(values)]) {
          for (const figure of Object.values(one ?? {})) expect(Number.isNaN(figure)).toBe(false);
        }
        const test = mannKendall(values);
        if (test?.tau !== null && test?.tau !== undefined) expect(Math.abs(test.tau)).toBeLessThanOrEqual(1 + 1e-12);
      }),
    );
  });
});
