/** The parts of docker-compose.yml, as a container engine would understand them: in order, with their commands and settings. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'yaml';

export interface ComposePart {
  readonly name: string;
  readonly image: string;
  readonly command: readonly string[];
  readonly environment: Readonly<Record<string, string>>;
  /** Name of a part and what must be true of it before this one starts. */
  readonly after: Readonly<Record<string, string>>;
  /** Arguments after CMD or CMD-SHELL; null: not looked at. */
  readonly health: readonly string[] | null;
  /** Everything, as written. */
  readonly raw: Readonly<Record<string, unknown>>;
}

/**
 * Reads the file.
 *
 * @param given what stands in the environment of whoever calls the engine.
 * @returns every part, each after those it depends on.
 */
export function readCompose(root: string, given: Readonly<Record<string, string>>): ComposePart[] {
  const text = readFileSync(join(root, 'docker-compose.yml'), 'utf8');
  const { services } = parse(text, { merge: true }) as { services: Record<string, Record<string, unknown>> };
  const fill = (value: unknown): string => interpolate(String(value), given);
  const parts = Object.entries(services).map(([name, raw]): ComposePart => {
    const { healthcheck, depends_on, environment, command } = raw as {
      healthcheck?: { test?: string[]; disable?: boolean };
      depends_on?: Record<string, { condition: string }>;
      environment?: Record<string, string>;
      command?: string[];
    };
    return {
      name,
      image: String(raw.image),
      command: (command ?? []).map(fill),
      environment: Object.fromEntries(Object.entries(environment ?? {}).map(([key, value]) => [key, fill(value)])),
      after: Object.fromEntries(Object.entries(depends_on ?? {}).map(([key, { condition }]) => [key, condition])),
      health: healthcheck?.test && !healthcheck.disable ? healthcheck.test.slice(1) : null,
      raw,
    };
  });
  return inOrder(parts);
}

/** `${NAME}`, `${NAME:-otherwise}` and `${NAME:?refusal}`, as the engine fills them in. */
export function interpolate(text: string, given: Readonly<Record<string, string>>): string {
  return text.replace(/\$\{(\w+)(?::([-?])([^}]*))?\}/g, (_, name: string, kind: string | undefined, words: string) => {
    const value = given[name];
    if (value) return value;
    if (kind === '-') return words;
    throw new Error(`${name}: ${kind === '?' ? words : 'not set'}`);
  });
}

function inOrder(parts: readonly ComposePart[]): ComposePart[] {
  const sorted: ComposePart[] = [];
  const rest = [...parts];
  while (rest.length > 0) {
    const next = rest.findIndex(({ after }) => Object.keys(after).every((name) => sorted.some((one) => one.name === name)));
    if (next < 0) throw new Error(`nothing can start: ${rest.map(({ name }) => name).join(', ')}`);
    sorted.push(...rest.splice(next, 1));
  }
  return sorted;
}
