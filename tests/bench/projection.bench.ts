import { projectTimeToLimit } from '@heatround/domain';
import type { Line } from './main.ts';
import { ms } from './timing.ts';

/** One refit at growing histories; the twin is the refit at 50 readings, so a flat cost shows as a ratio that stops falling. */
export function projectionBench(): Line[] {
  let seed = 7;
  const noise = () => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return seed / 2147483648 - 0.5;
  };
  const time = (count: number, withConditions: boolean): number => {
    const readings = Array.from({ length: count }, (_, i) => ({
      day: i * 7,
      value: 55 + 12 * (i / count) ** 2 + 1.5 * noise(),
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
    const times: number[] = [];
    for (let run = 0; run < 120; run++) {
      const start = performance.now();
      projectTimeToLimit(input);
      if (run >= 40) times.push(performance.now() - start);
    }
    return times.sort((a, b) => a - b)[Math.floor(times.length / 2)]!;
  };
  return [false, true].flatMap((withConditions) => {
    const base = time(50, withConditions);
    return [50, 500, 5000].map((count) => {
      const taken = time(count, withConditions);
      const what = `refit, ${count} readings${withConditions ? ' with load and ambient' : ''}`;
      return { what, ours: ms(taken), twin: `${ms(base)} at 50`, ratio: (base / taken).toFixed(2) };
    });
  });
}
