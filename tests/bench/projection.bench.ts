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
