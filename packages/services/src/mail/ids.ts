import { createHash } from 'node:crypto';

/** The same letter has the same id, whoever makes it how often: organisation, person, day. */
export function idOfMail(...parts: readonly string[]): string {
  const hex = createHash('sha256')
    .update(['mail', ...parts].join('\n'))
    .digest('hex');
  // Shaped as a version 8 UUID (RFC 9562, 5.8).
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-a${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}
