import type { DeviceClock } from '@heatround/domain';

/**
 * Offset of the organisation's time to the device clock: the server's clock at the middle of the call, plus what the
 * organisation's own clock is ahead.
 */
export function offsetFrom(askedAt: number, answeredAt: number, serverAt: number, clockOffsetMs: number): number {
  return Math.round(serverAt + clockOffsetMs - (askedAt + answeredAt) / 2);
}

/** The clock part of a fact and its takenAt, computed once. */
export function stamp(deviceMs: number, monotonicMs: number, offsetMs: number | null): { takenAt: string; clock: DeviceClock } {
  return {
    takenAt: new Date(deviceMs + (offsetMs ?? 0)).toISOString(),
    clock: { deviceAt: new Date(deviceMs).toISOString(), monotonicMs: Math.round(monotonicMs), offsetMs },
  };
}
