import { createHash } from 'node:crypto';
import { uuidV7 } from '@heatround/domain';

/** Everything invented here follows from names alone, so that loading again, or twice at once, makes the same. */
const IDS = 'heatround demo, first edition';
/** One of a dozen: with it no quiet point drifts by chance and each story passes its limits in the weeks it names. */
const SCATTER = 'h';

const digest = (space: string, name: string): Buffer => createHash('sha256').update(`${space}\n${name}`).digest();

/** A name-based id (UUID version 8, RFC 9562 section 5.8). @example stableId('site campus') === stableId('site campus') */
export function stableId(name: string): string {
  const bytes = digest(IDS, name).subarray(0, 16);
  bytes[6] = 0x80 | (bytes[6]! & 0x0f);
  bytes[8] = 0x80 | (bytes[8]! & 0x3f);
  const hex = bytes.toString('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/** Id of a fact as a phone would make it at that moment. */
export const factId = (name: string, takenAt: number): string => uuidV7(takenAt, digest(IDS, name));

/**
 * Noise that belongs to a name: standard normal, cut at ±2.2, so that a quiet point stays quiet.
 * Box and Muller. https://en.wikipedia.org/wiki/Box%E2%80%93Muller_transform
 */
export function noise(name: string): number {
  const bytes = digest(SCATTER, `noise ${name}`);
  const [first, second] = [bytes.readUInt32BE(0), bytes.readUInt32BE(4)].map((word) => (word + 0.5) / 2 ** 32) as [
    number,
    number,
  ];
  const normal = Math.sqrt(-2 * Math.log(first)) * Math.cos(2 * Math.PI * second);
  return Math.max(-2.2, Math.min(2.2, normal));
}
