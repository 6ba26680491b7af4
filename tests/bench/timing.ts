/** Times in milliseconds of several runs, after warming up: the median. */
export async function medianMs(runs: number, work: () => unknown): Promise<number> {
  return (await mediansMs(runs, [work]))[0]!;
}

/** Medians of several works done in turns, so that all of them meet the same moments of the machine. */
export async function mediansMs(runs: number, works: readonly (() => unknown)[]): Promise<number[]> {
  const times = works.map(() => [] as number[]);
  const warmUp = Math.ceil(runs / 4);
  for (let run = -warmUp; run < runs; run++) {
    for (const [i, work] of works.entries()) {
      const start = performance.now();
      await work();
      if (run >= 0) times[i]!.push(performance.now() - start);
    }
  }
  return times.map((own) => own.sort((a, b) => a - b)[Math.floor(own.length / 2)]!);
}

export const ms = (value: number) => `${value < 10 ? value.toFixed(2) : value.toFixed(1)} ms`;
