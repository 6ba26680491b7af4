import type { LimitGrade } from '../limits/types.ts';
import type { Verdict } from '../verdict/types.ts';

/** What a person typed: the text and its unit, never replaced by what was computed from it. */
export interface Entry {
  readonly text: string;
  readonly unit: string;
}

/**
 * The clock of the device. takenAt = deviceAt + offset, computed once on the device; the offset is what the device knew
 * from its last contact with the server, null when it never had one.
 */
export interface DeviceClock {
  /** ISO 8601 */
  readonly deviceAt: string;
  /** Milliseconds of the device's monotonic clock; differences are true even when the wall clock jumps. */
  readonly monotonicMs: number;
  readonly offsetMs: number | null;
}

export const COULD_NOT_READ = ['not-running', 'no-way-in', 'unsafe', 'instrument-trouble', 'left-out'] as const;
export type CouldNotRead = (typeof COULD_NOT_READ)[number];

export const KINDS_OF_WORK = [
  'regreased',
  'tightened',
  'cleaned',
  'adjusted',
  'repaired',
  'replaced',
  'instrument-changed',
] as const;
export type KindOfWork = (typeof KINDS_OF_WORK)[number];

interface FactCommon {
  /** UUIDv7, made by the device. */
  readonly id: string;
  /** ISO 8601 with offset. */
  readonly takenAt: string;
  readonly clock: DeviceClock;
  /** Words of the person, kept as written. */
  readonly words?: string | undefined;
}

/** A reading: named raw inputs and the conditions beside them, at one point at one time. */
export interface ReadingTaken extends FactCommon {
  readonly kind: 'reading-taken';
  readonly pointId: string;
  /** The round in which it was taken. */
  readonly roundId?: string | undefined;
  readonly inputs: Readonly<Record<string, Entry>>;
  readonly conditions: Readonly<Record<string, Entry>>;
  /** Running state as seen; absent when it means nothing. */
  readonly running?: boolean | undefined;
  readonly instrument?: string | undefined;
  /** Id of the reading this one corrects; the corrected one stays stored and no longer counts. */
  readonly corrects?: string | undefined;
  /** An unlikely value that the person confirmed when asked. */
  readonly confirmedUnlikely?: boolean | undefined;
  /** What the phone judged, with the version of the domain package that judged it. */
  readonly phoneVerdict?: { readonly domainVersion: string; readonly verdict: Verdict } | undefined;
}

/** The stop was answered without a reading. */
export interface StopAnswered extends FactCommon {
  readonly kind: 'stop-answered';
  readonly pointId: string;
  readonly roundId?: string | undefined;
  readonly answer: CouldNotRead;
}

/** Work done on an asset or one of its points. */
export interface WorkRecorded extends FactCommon {
  readonly kind: 'work-recorded';
  readonly assetId: string;
  /** Absent: the whole asset. */
  readonly pointId?: string | undefined;
  readonly work: KindOfWork;
}

/** Something seen at a point, reported in words; a reading may or may not stand beside it. */
export interface FindingReported extends FactCommon {
  readonly kind: 'finding-reported';
  readonly pointId: string;
  readonly roundId?: string | undefined;
  /** How soon somebody must act, in the eyes of whoever saw it. */
  readonly grade: LimitGrade;
  readonly words: string;
}

/** Tightened, greased or cleaned at the stop, between a reading before and one after. */
export interface PutRight extends FactCommon {
  readonly kind: 'put-right';
  readonly pointId: string;
  readonly roundId?: string | undefined;
  readonly work: KindOfWork;
  readonly found: string;
  readonly did: string;
  /** The reading that showed it. */
  readonly beforeId: string;
}

/** Somebody set out on a round, with these points on the phone. */
export interface RoundTaken extends FactCommon {
  readonly kind: 'round-taken';
  readonly roundId: string;
  readonly packed: readonly string[];
}

/** A half-walked round goes to a named person. */
export interface RoundGiven extends FactCommon {
  readonly kind: 'round-given';
  readonly roundId: string;
  readonly toPersonId: string;
  /** Extra stops walked with it that go along, unanswered. */
  readonly extraStopIds?: readonly string[] | undefined;
}

export interface RoundHandedIn extends FactCommon {
  readonly kind: 'round-handed-in';
  readonly roundId: string;
}

export type Fact =
  | ReadingTaken
  | StopAnswered
  | WorkRecorded
  | FindingReported
  | PutRight
  | RoundTaken
  | RoundGiven
  | RoundHandedIn;
export type FactKind = Fact['kind'];

/** A reading after parsing: everything canonical, ready to be judged. */
export interface Reading {
  readonly id: string;
  /** Epoch milliseconds. */
  readonly takenAt: number;
  /** Canonical values by input name; see points/inputs. */
  readonly inputs: Readonly<Record<string, number>>;
  /** Canonical values by condition name. */
  readonly conditions: Readonly<Record<string, number>>;
  readonly running: boolean | null;
  readonly instrument: string | null;
}

/** Work as the trend needs it. */
export interface WorkEvent {
  readonly id: string;
  readonly takenAt: number;
  readonly work: KindOfWork;
  readonly words: string | null;
}
