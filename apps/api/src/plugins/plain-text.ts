/**
 * The one place that keeps characters out which PostgreSQL cannot store: U+0000, and halves of surrogate pairs, which are no
 * characters. Asked before validation, of everything a caller sends.
 */
import type { ProblemDetail } from '@heatround/domain';

const MOST_NAMED = 20;

/** What is wrong with a text; null for nearly every one. */
function complaint(text: string): string | null {
  if (text.includes('\u0000')) return 'must not contain the character U+0000';
  return (text as string & { isWellFormed(): boolean }).isWellFormed()
    ? null
    : 'must not contain half of a surrogate pair (U+D800 to U+DFFF)';
}

const escaped = (key: string): string =>
  key
    .replaceAll('~', '~0')
    .replaceAll('/', '~1')
    .replaceAll('\u0000', '\\u0000')
    .replace(/\p{Surrogate}/gu, '\ufffd');

/** A value on its way, with the way it came: pointers are only written down for what is wrong. */
interface Step {
  readonly value: unknown;
  readonly key: string;
  readonly above: Step | null;
}

function pointerOf(step: Step, key: string | null): string {
  const keys = key === null ? [] : [key];
  for (let at: Step | null = step; at?.above; at = at.above) keys.unshift(at.key);
  return keys.map((one) => `/${escaped(one)}`).join('');
}

/**
 * Where texts and names inside a value hold such a character, as JSON pointers below the one given; at most 20. Walks without
 * recursion, since a body may be nested as deep as it is long.
 */
export function badTexts(value: unknown, pointer: string): ProblemDetail[] {
  const found: ProblemDetail[] = [];
  const left: Step[] = [{ value, key: '', above: null }];
  while (left.length > 0 && found.length < MOST_NAMED) {
    const step = left.pop()!;
    const { value: one } = step;
    if (typeof one === 'string') {
      const detail = complaint(one);
      if (detail !== null) found.push({ pointer: `${pointer}${pointerOf(step, null)}`, detail });
    } else if (typeof one === 'object' && one !== null) {
      for (const key of Object.keys(one)) {
        const detail = complaint(key);
        if (detail !== null) found.push({ pointer: `${pointer}${pointerOf(step, key)}`, detail });
        const inside = (one as Record<string, unknown>)[key];
        if (typeof inside === 'string' || (typeof inside === 'object' && inside !== null))
          left.push({ value: inside, key, above: step });
      }
    }
  }
  return found;
}
