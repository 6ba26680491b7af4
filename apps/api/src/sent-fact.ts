/** Facts as devices send them, read one by one, so that one bad fact never takes another down. */
import { fact } from '@heatround/contract';
import type { Fact, ProblemDetail } from '@heatround/domain';
import { badTexts } from './plugins/plain-text.ts';

/** One fact as sent, or what is wrong with it. */
export function readFact(sent: unknown): { fact: Fact } | { errors: ProblemDetail[] } {
  const errors = badTexts(sent, '');
  if (errors.length > 0) return { errors };
  const read = fact.safeParse(sent);
  if (read.success) return { fact: read.data as Fact };
  return {
    errors: read.error.issues.map(({ path, message }) => ({
      pointer: path.map((part) => `/${String(part)}`).join(''),
      detail: message,
    })),
  };
}

/** The id of something that could not be read as a fact, as far as it has one. */
export function idOf(sent: unknown): string | null {
  const id = (sent as { id?: unknown } | null)?.id;
  return typeof id === 'string' ? id : null;
}

/** What the device is told of it. */
export const notAsExpected = (errors: ProblemDetail[]) => ({
  code: 'invalid-request',
  detail: 'This entry is not as expected. It stays on your device.',
  errors,
});
