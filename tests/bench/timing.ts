/** Median of the times of several runs, milliseconds, after warming up. */
export async function medianMs(runs: number, work: (run: number) => unknown, warmUp = Math.ceil(runs / 4)): Promise<number> {
  const times: number[] = [];
  for (let run = -warmUp; run < runs; run++) {
    const start = performance.now();
    await work(run + warmUp);
    if (run >= 0) times.push(performance.now() - start);
  }
  times.sort((a, b) => a - b);
  return times[Math.floor(times.length / 2)]!;
}

export const ms = (value: number) => `${value < 10 ? value.toFixed(2) : value.toFixed(1)} ms`;
