/**
 * Time-ordered ids (UUIDv7, RFC 9562 section 5.7), made by whoever writes the fact: a phone without signal needs no server for one.
 *
 * @param nowMs epoch milliseconds, whole, 0 … 2^48−1; a wrong clock only spoils the order, never the uniqueness.
 * @param random 10 random bytes from a cryptographic source, passed in so that this package stays pure.
 * @returns canonical lower-case text. Throws RangeError for fewer than 10 bytes.
 * @example uuidV7(Date.now(), crypto.getRandomValues(new Uint8Array(10)))
 */
export function uuidV7(nowMs: number, random: Uint8Array): string {
  if (random.length < 10) throw new RangeError('uuidV7 needs 10 random bytes');
  const bytes = new Uint8Array(16);
  let rest = Math.max(0, Math.floor(nowMs));
  for (let i = 5; i >= 0; i--) {
    bytes[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes.set(random.subarray(0, 10), 6);
  bytes[6] = 0x70 | (bytes[6]! & 0x0f);
  bytes[8] = 0x80 | (bytes[8]! & 0x3f);
  const hex = Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/** Any UUID in canonical form, any version. @example isUuid('018f…') // false */
export function isUuid(text: string): boolean {
  return /^[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/i.test(text);
}
