/**
 * What this process counts and measures, in the Prometheus text format (version 0.0.4). Hides the format. What always holds: labels come from short
 * lists of ours (a route as it is written, never as it was called), so that nothing here names a person, a machine or an
 * organisation, and the number of lines does not grow with use.
 */
import { createHash, timingSafeEqual } from 'node:crypto';

export interface Counter<L extends string> {
  count(labels: Readonly<Record<L, string | number>>): void;
}

export interface Histogram {
  /** Starts a watch. @returns what stops it and takes its time down. */
  begin(): () => void;
}

/** Every figure of the service by name; a process that does not do the work has it at nought. */
export interface Metrics {
  readonly requests: Counter<'method' | 'route' | 'status'>;
  readonly submissions: Counter<'answer'>;
  /** Computing the conclusion of one point; what is read and written around it does not count. */
  readonly refits: Histogram;
  /** A figure asked for whenever it is read; null: there is none at this moment, and its line is left out. */
  ask(name: string, help: string, figure: () => Promise<number | null>): void;
  text(): Promise<string>;
}

export const METRICS_TYPE = 'text/plain; version=0.0.4; charset=utf-8';

/** Answers of a submission; each stands there from the beginning, since a counter that appears late hides its first step. */
const ANSWERS = ['created', 'duplicate', 'conflict', 'refused'];
const SECONDS = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10];

/** Begins at nought. @param now milliseconds of a clock that only goes forward. */
export function openMetrics(now: () => number = () => performance.now()): Metrics {
  const startedAt = Date.now() / 1000;
  const requests = counter('heatround_http_requests_total', 'Requests answered, by route as it is written.', [
    'method',
    'route',
    'status',
  ]);
  const submissions = counter('heatround_submissions_total', 'Facts handed in, by answer.', ['answer']);
  for (const answer of ANSWERS) submissions.start({ answer });
  const refits = histogram(
    'heatround_refit_seconds',
    'Time to compute the conclusion of one point: trend, shapes, forecasts.',
    SECONDS,
    now,
  );
  const asked: { name: string; help: string; figure: () => Promise<number | null> }[] = [];
  const gauge = (name: string, help: string, value: number | null): string[] =>
    value === null ? [] : [`# HELP ${name} ${help}`, `# TYPE ${name} gauge`, `${name} ${value}`];
  return {
    requests,
    submissions,
    refits,
    ask: (name, help, figure) => void asked.push({ name, help, figure }),
    async text() {
      const figures = await Promise.all(
        // One that cannot be had must not hide the others; its absence is seen.
        asked.map(async ({ name, help, figure }) => gauge(name, help, await figure().catch(() => null))),
      );
      const lines = [
        ...requests.lines(),
        ...submissions.lines(),
        ...refits.lines(),
        ...figures.flat(),
        ...gauge('process_start_time_seconds', 'When this process began, seconds since 1970.', startedAt),
        ...gauge('process_resident_memory_bytes', 'Memory of this process.', process.memoryUsage.rss()),
      ];
      return `${lines.join('\n')}\n`;
    },
  };
}

/**
 * May this caller read them? With a token: whoever shows it. Without one: this machine alone, and nobody who came through a proxy.
 *
 * @param asked address: of the connection itself, not what a header says.
 */
export function mayReadMetrics(
  token: string | undefined,
  asked: { readonly authorization: string | undefined; readonly address: string | undefined; readonly isForwarded: boolean },
): boolean {
  if (token === undefined) return !asked.isForwarded && /^(127\.|::1$|::ffff:127\.)/.test(asked.address ?? '');
  const shown = /^Bearer (.+)$/i.exec(asked.authorization ?? '')?.[1] ?? '';
  const hash = (text: string) => createHash('sha256').update(text).digest();
  return timingSafeEqual(hash(shown), hash(token));
}

function counter<L extends string>(name: string, help: string, labels: readonly L[]) {
  const counts = new Map<string, number>();
  const key = (given: Readonly<Record<L, string | number>>): string =>
    labels.map((label) => `${label}="${escaped(String(given[label]))}"`).join(',');
  return {
    start: (given: Readonly<Record<L, string | number>>) => void counts.set(key(given), 0),
    count: (given: Readonly<Record<L, string | number>>) => void counts.set(key(given), (counts.get(key(given)) ?? 0) + 1),
    lines: () => [
      `# HELP ${name} ${help}`,
      `# TYPE ${name} counter`,
      ...[...counts].map(([of, count]) => `${name}{${of}} ${count}`),
    ],
  };
}

function histogram(name: string, help: string, upTo: readonly number[], now: () => number) {
  const counts = upTo.map(() => 0);
  let count = 0;
  let sum = 0;
  return {
    begin() {
      const from = now();
      return () => {
        const seconds = (now() - from) / 1000;
        count += 1;
        sum += seconds;
        // Each stands for everything up to its limit.
        for (const [i, limit] of upTo.entries()) if (seconds <= limit) counts[i]! += 1;
      };
    },
    lines: () => [
      `# HELP ${name} ${help}`,
      `# TYPE ${name} histogram`,
      ...upTo.map((limit, i) => `${name}_bucket{le="${limit}"} ${counts[i]}`),
      `${name}_bucket{le="+Inf"} ${count}`,
      `${name}_sum ${sum}`,
      `${name}_count ${count}`,
    ],
  };
}

const escaped = (text: string): string => text.replaceAll('\\', '\\\\').replaceAll('"', '\\"').replaceAll('\n', '\\n');
