import { Problem } from '@heatround/domain';

/** The mark from which the next page goes on. */
export const writeMark = (...parts: readonly (string | number)[]): string =>
  Buffer.from(JSON.stringify(parts)).toString('base64url');

/** A mark as it was given out; anything else is refused. @param shape what each part must look like. */
export function readMark(text: string | undefined, shape: readonly RegExp[]): string[] | null {
  if (text === undefined) return null;
  try {
    const parts = JSON.parse(Buffer.from(text, 'base64url').toString()) as unknown[];
    const said = parts.map(String);
    if (said.length === shape.length && shape.every((one, i) => one.test(said[i]!))) return said;
  } catch {}
  throw new Problem('invalid-request', 'The page mark is not one of ours; start again without it.', [
    { pointer: '#/after', detail: 'expected the value of next from the page before' },
  ]);
}

export const ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
export const WHOLE = /^-?\d{1,9}$/;
/** An instant as the database says it, or that it never comes. */
export const INSTANT = /^(infinity|\d{4}-\d{2}-\d{2}[T ][\d:.]{8,12}(Z|[+-]\d{2}(:?\d{2})?)?)$/;
