/** What a chart needs: the averaged level of the past and the 80 % band of the level ahead. Only made when asked for. */
import { studentCdf } from '../numbers/index.ts';
import { type Forecast, meanAt, varianceAt } from './first-passage.ts';
import type { Fit } from './fit.ts';
import { type Frame, toPointUnit } from './sample.ts';
import { HORIZON_SPANS } from './setting.ts';
import { isMoving } from './shapes.ts';
import type { CurveSample, FanSample } from './types.ts';

const CURVE_DAYS = 40;
const FAN_DAYS = 28;
/** The fan ends a bit past P90, but shows no more than three spans unless P10 itself lies further. */
const PAST_P90 = 1.15;
const FAN_SPANS = 3;
const PAST_P10 = 1.2;
/** Levels are clipped this many margins below the baseline and above the limit, so that a chart keeps its scale. */
const CLIP_MARGINS = 5;
/** Halvings of eleven margins: a hundred-millionth of the margin. */
const HALVINGS = 30;

/** Quantiles of the time to limit in spans from the day of asking. */
interface TimesInSpans {
  readonly p10: number;
  readonly p50: number | null;
  readonly p90: number | null;
}

/**
 * Samples the averaged level behind and the band ahead, in the unit of the point at reference conditions.
 * The band is 10, 50 and 90 % of the level, given that something moves; it never crosses and is clipped, never infinite.
 */
export function drawLevels(
  fit: Fit,
  forecasts: readonly Forecast[],
  frame: Frame,
  elapsed: number,
  times: TimesInSpans,
): { curve: CurveSample[]; fan: FanSample[] } {
  return {
    curve: drawCurve(forecasts, frame),
    fan: drawFan(
      fit,
      forecasts.filter((f) => isMoving(f.shape)),
      frame,
      elapsed,
      times,
    ),
  };
}

/** Averaged over all kept hypotheses, still ones too. */
function drawCurve(forecasts: readonly Forecast[], frame: Frame): CurveSample[] {
  const mass = forecasts.reduce((sum, forecast) => sum + forecast.probability, 0);
  return Array.from({ length: CURVE_DAYS }, (_, i) => {
    const u = i / (CURVE_DAYS - 1);
    let level = 0;
    for (const forecast of forecasts) level += (forecast.probability / mass) * meanAt(forecast, u);
    return { day: frame.firstDay + u * frame.spanDays, level: toPointUnit(frame, level) };
  });
}

/** Given that something moves, as the times are: the band meets the limit about where the range of dates says. */
function drawFan(fit: Fit, moving: readonly Forecast[], frame: Frame, elapsed: number, { p10, p90 }: TimesInSpans): FanSample[] {
  const end = Math.max(
    Math.min(PAST_P90 * (p90 ?? Number.POSITIVE_INFINITY), FAN_SPANS),
    Math.min(PAST_P10 * p10, HORIZON_SPANS),
  );
  if (!(end > 0)) return [];
  const now = moving.map((forecast) => meanAt(forecast, elapsed));
  return Array.from({ length: FAN_DAYS }, (_, i) => {
    const u = elapsed + (end * i) / (FAN_DAYS - 1);
    const quantile = quantilesAt(fit, moving, now, frame.limit, u);
    const levels = [quantile(0.1), quantile(0.5), quantile(0.9)].map((level) => toPointUnit(frame, level));
    if (frame.sign < 0) levels.reverse();
    return { day: frame.firstDay + u * frame.spanDays, low: levels[0]!, mid: levels[1]!, high: levels[2]! };
  });
}

/** Quantile function of the averaged level at a scaled time, by bisection on the mixture of Student distributions. */
function quantilesAt(fit: Fit, moving: readonly Forecast[], now: readonly number[], limit: number, u: number) {
  const means = moving.map((forecast) => meanAt(forecast, u));
  const smallest = 1e-10 * fit.margin;
  const sds = moving.map((forecast, f) => Math.sqrt(varianceAt(forecast, u, means[f]! - now[f]!)) + smallest);
  const mass = moving.reduce((sum, forecast) => sum + forecast.probability, 0);
  return (probability: number): number => {
    let low = limit - (1 + CLIP_MARGINS) * fit.margin;
    let high = limit + CLIP_MARGINS * fit.margin;
    for (let halving = 0; halving < HALVINGS; halving++) {
      const middle = (low + high) / 2;
      let below = 0;
      for (let f = 0; f < moving.length; f++) {
        below += moving[f]!.probability * studentCdf((middle - means[f]!) / sds[f]!, fit.freedom);
      }
      if (below < probability * mass) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
}
