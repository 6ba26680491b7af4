import { createHash } from 'node:crypto';

/**
 * An id that follows from what it names, shaped as a UUID of version 8 (RFC 9562, 5.8): the same parts give the same id, so that
 * whoever comes first and however often it is sent, the same thing is met. The first 122 free bits of SHA-256.
 */
export function idOf(...parts: readonly unknown[]): string {
  const bytes = createHash('sha256').update(JSON.stringify(parts)).digest().subarray(0, 16);
  bytes[6] = 0x80 | (bytes[6]! & 0x0f);
  bytes[8] = 0x80 | (bytes[8]! & 0x3f);
  const hex = bytes.toString('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}
