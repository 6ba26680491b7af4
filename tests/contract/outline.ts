/**
 * The contract in short lines: what may be sent and what must be, what comes back. Two outlines tell whether a newer contract still
 * understands an older caller, and still tells it what it reads.
 */
import { type EndpointDescription, endpoints, fact } from '@heatround/contract';
import * as z from 'zod';

type Json = Record<string, unknown> & {
  properties?: Record<string, Json>;
  required?: string[];
  items?: Json;
  anyOf?: Json[];
  oneOf?: Json[];
  enum?: unknown[];
  const?: unknown;
  $ref?: string;
  $defs?: Record<string, Json>;
};

/** Every line of the present contract, sorted. "!": must be sent; "=": a word that is understood; "<": comes back. */
export function outline(): string[] {
  const lines = new Set<string>();
  for (const one of Object.values(endpoints) as EndpointDescription[]) {
    lines.add(`${one.name}: ${one.method} ${one.path}`);
    if (one.query) describeSent(`${one.name} ?`, one.query, lines);
    if (one.body) describeSent(`${one.name} >`, one.body, lines);
    if (!one.isFile) walk(`${one.name} <`, json(one.response, 'output'), false, lines);
  }
  describeSent('fact >', fact, lines);
  return [...lines].sort();
}

const describeSent = (at: string, schema: z.ZodType, lines: Set<string>): void => walk(at, json(schema, 'input'), true, lines);

function json(schema: z.ZodType, io: 'input' | 'output'): Json {
  return z.toJSONSchema(schema, { io, unrepresentable: 'any', reused: 'inline' }) as Json;
}

function walk(
  at: string,
  schema: Json,
  isSent: boolean,
  lines: Set<string>,
  defs: Record<string, Json> = schema.$defs ?? {},
): void {
  if (schema.$ref) {
    const found = defs[schema.$ref.split('/').at(-1)!];
    // A shape inside itself says nothing new.
    if (found && !at.includes('…')) walk(at, found, isSent, lines, defs);
    return;
  }
  for (const choice of [...(schema.anyOf ?? []), ...(schema.oneOf ?? [])]) {
    const kind = choice.properties?.kind?.const;
    walk(kind === undefined ? at : `${at}<${String(kind)}>`, choice, isSent, lines, defs);
  }
  for (const [name, part] of Object.entries(schema.properties ?? {})) {
    const place = `${at} ${name}`;
    lines.add(place);
    // What comes back is read by name; whether it must be sent is the sender's business alone.
    if (isSent && schema.required?.includes(name)) lines.add(`${place} !`);
    walk(place, part, isSent, lines, defs);
  }
  if (schema.items) walk(`${at} []`, schema.items, isSent, lines, defs);
  if (isSent) for (const word of schema.enum ?? []) lines.add(`${at} = ${String(word)}`);
}

/** What an older caller would miss, or be refused for. */
export function broken(older: readonly string[], newer: readonly string[]): string[] {
  const [had, has] = [new Set(older), new Set(newer)];
  const parentOf = (place: string): string => place.slice(0, place.lastIndexOf(' '));
  const missing = older.filter((line) => !line.endsWith(' !') && !has.has(line));
  const demanded = newer
    .filter((line) => line.endsWith(' !') && !had.has(line))
    // Whoever never sent the object around it is not asked for what is inside.
    .filter((line) => {
      const around = parentOf(line.slice(0, -2))
        .replace(/<[^<>]*>$/, '')
        .replace(/( \[\])+$/, '');
      return had.has(around) || older.some((one) => one.startsWith(`${around} `));
    });
  return [...missing.map((line) => `gone: ${line}`), ...demanded.map((line) => `demanded: ${line.slice(0, -2)}`)];
}
