import { spawnSync } from 'node:child_process';
import { projectTimeToLimit } from '@heatround/domain';
import type { Line } from './main.ts';
import { mediansMs, ms } from './timing.ts';

/** How many of the newest readings show the drift: the older ones only make the history longer, not the question harder. */
const DRIFTING = 500;

/** One refit at growing histories; the twin is the refit at 50 readings, so a flat cost shows as a ratio that stops falling. */
export async function projectionBench(): Promise<Line[]> {
  let seed = 7;
  const noise = () => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return seed / 2147483648 - 0.5;
  };
  const refit = (count: number, withConditions: boolean) => {
    const readings = Array.from({ length: count }, (_, i) => ({
      day: i * 7,
      value: 55 + 12 * Math.max(0, 1 - (count - i) / Math.min(count, DRIFTING)) ** 2 + 1.5 * noise(),
      loadPercent: withConditions ? 70 + 20 * noise() : null,
      ambientC: withConditions ? 21 + 4 * noise() : null,
    }));
    const input = {
      readings,
      cutDay: count * 7,
      repairDay: null,
      limit: 90,
      direction: 'up' as const,
      referenceLoadPercent: withConditions ? 78 : null,
      referenceAmbientC: withConditions ? 21 : null,
    };
    return () => projectTimeToLimit(input);
  };
  const lines: Line[] = [];
  for (const withConditions of [false, true]) {
    const counts = [50, 500, 5000];
    // Once for nothing, so that the compiler has seen every size before any is measured.
    for (let turn = 0; turn < 2; turn++) {
      const times = await mediansMs(
        160,
        counts.map((count) => refit(count, withConditions)),
      );
      if (turn === 0) continue;
      for (const [i, count] of counts.entries()) {
        const what = `refit, ${count} readings${withConditions ? ' with load and ambient' : ''}`;
        lines.push({ what, ours: ms(times[i]!), twin: `${ms(times[0]!)} at 50`, ratio: (times[0]! / times[i]!).toFixed(2) });
      }
    }
  }
  return lines;
}

/** Median time of one call in milliseconds, in a tool's own process, by a script that reads a series as JSON. */
const SCIPY = `
import json, sys, time
from scipy import stats
given = json.load(sys.stdin)
def median(work):
    times = []
    for run in range(30):
        start = time.perf_counter(); work(); times.append(1000 * (time.perf_counter() - start))
    return sorted(times)[15]
print(json.dumps({
  'theilslopes with kendalltau': median(lambda: (stats.theilslopes(given['y'], given['x'], 0.8), stats.kendalltau(given['x'], given['y']))),
  'linregress': median(lambda: stats.linregress(given['x'], given['y'])),
}))`;
const R = `
given <- jsonlite::fromJSON(file("stdin"))
times <- replicate(30, system.time(for (i in 1:10) lm(y ~ x, data = given))[["elapsed"]] * 100)
cat(jsonlite::toJSON(list(lm = median(times)), auto_unbox = TRUE))`;

/** The whole estimate beside what reference tools need for one line through the same readings; a tool that is not installed is said so. */
export async function toolsBench(): Promise<Line[]> {
  const x = Array.from({ length: 260 }, (_, i) => 7 * i);
  const y = x.map((_, i) => 55 + 12 * (i / 260) ** 2 + Math.sin(12.9898 * i));
  const readings = x.map((day, i) => ({ day, value: y[i]!, loadPercent: null, ambientC: null }));
  const input = { readings, cutDay: x.at(-1)!, repairDay: null, limit: 90, direction: 'up' as const };
  const own = (
    await mediansMs(120, [() => projectTimeToLimit({ ...input, referenceLoadPercent: null, referenceAmbientC: null })])
  )[0]!;
  return [
    ['SciPy', 'python3', ['-c', SCIPY]],
    ['R', 'Rscript', ['-e', R]],
  ].flatMap(([tool, command, args]): Line[] => {
    const run = spawnSync(command as string, args as string[], { input: JSON.stringify({ x, y }), encoding: 'utf8' });
    if (run.status !== 0) return [{ what: `beside ${tool as string}: not installed here`, ours: ms(own), twin: '–', ratio: '–' }];
    return Object.entries(JSON.parse(run.stdout) as Record<string, number>).map(([what, time]) => ({
      what: `estimate of 260 readings beside ${tool as string} ${what}`,
      ours: ms(own),
      twin: ms(time),
      ratio: (time / own).toFixed(2),
    }));
  });
}
