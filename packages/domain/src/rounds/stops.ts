import { COULD_NOT_READ, type CouldNotRead } from '../facts/types.ts';

export const STOP_STATES = ['to-read', 'read', ...COULD_NOT_READ] as const;
export type StopState = (typeof STOP_STATES)[number];

/** An answer at a stop within its round: a reading that counts (corrected ones are left out by the caller) or why there is none. */
export interface StopAnswer {
  /** Id of the fact. */
  readonly id: string;
  readonly pointId: string;
  /** Epoch milliseconds. */
  readonly takenAt: number;
  readonly answer: 'read' | CouldNotRead;
}

/** How one stop of a round stands. */
export interface Stop {
  readonly pointId: string;
  readonly state: StopState;
  /** The answer that counts; null: none yet. */
  readonly answerId: string | null;
  /** The others, kept as evidence, in the order of time and id. */
  readonly furtherIds: readonly string[];
  /** Came onto the route after this round was packed: its walker never saw it. */
  readonly isAdded: boolean;
}

/**
 * How a stop stands. A reading counts before any other answer, since the point has been seen; among readings, and among answers
 * without one, the first counts: smallest time, then smallest id. So two people at one stop get the same result in any order of
 * arrival, and both answers are kept.
 *
 * @param answers those of this point in this round, any order; a repeated id counts once.
 * @example stopOf('p', [{ id: 'b', pointId: 'p', takenAt: 9, answer: 'no-way-in' }, { id: 'c', pointId: 'p', takenAt: 12, answer: 'read' }]).state // 'read'
 */
export function stopOf(pointId: string, answers: readonly StopAnswer[], isAdded = false): Stop {
  const byId = new Map(answers.filter((one) => one.pointId === pointId).map((one) => [one.id, one]));
  const inOrder = [...byId.values()].sort(byTime);
  const counts = inOrder.find(({ answer }) => answer === 'read') ?? inOrder[0];
  if (counts === undefined) return { pointId, state: 'to-read', answerId: null, furtherIds: [], isAdded };
  const furtherIds = inOrder.filter((one) => one !== counts).map(({ id }) => id);
  return { pointId, state: counts.answer, answerId: counts.id, furtherIds, isAdded };
}

function byTime(a: StopAnswer, b: StopAnswer): number {
  return a.takenAt - b.takenAt || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0);
}

/** The stops of a round and what was answered beside them. */
export interface StopsOfRound {
  /** In the order of the route as it is now. */
  readonly stops: readonly Stop[];
  /** Answers at points that are no longer on the route: they stay as readings. */
  readonly besideRoute: readonly StopAnswer[];
}

/**
 * The stops of a round whose route may have been edited while it was walked without signal. The route as it is now says what the
 * stops are; points that came onto it are to be read and marked as added; answers at points taken off stay what they are, readings;
 * an order changed under the walker changes no answer.
 *
 * @param packed points as the phone had them at the start; null: not packed yet, then nothing counts as added.
 * @param current points of the route when the round ended, or now while it is open; a point named twice is one stop.
 * @param answers facts of the round, any order. O(stops + answers).
 */
export function stopsOfRound(
  packed: readonly string[] | null,
  current: readonly string[],
  answers: readonly StopAnswer[],
): StopsOfRound {
  const known = new Set(packed ?? current);
  const onRoute = new Set(current);
  const byPoint = groupByPoint(answers);
  return {
    stops: [...onRoute].map((pointId) => stopOf(pointId, byPoint.get(pointId) ?? [], !known.has(pointId))),
    besideRoute: answers.filter(({ pointId }) => !onRoute.has(pointId)).sort(byTime),
  };
}

function groupByPoint(answers: readonly StopAnswer[]): Map<string, StopAnswer[]> {
  const byPoint = new Map<string, StopAnswer[]>();
  for (const one of answers) {
    const group = byPoint.get(one.pointId);
    if (group === undefined) byPoint.set(one.pointId, [one]);
    else group.push(one);
  }
  return byPoint;
}

/** How far a round is. */
export interface Progress {
  readonly total: number;
  /** Read or answered with a reason. */
  readonly answered: number;
  readonly read: number;
  readonly toRead: number;
  readonly byState: Readonly<Record<StopState, number>>;
  /** Every stop has its answer; false for a round without stops. */
  readonly isComplete: boolean;
  /** Some stops have an answer and some have not. */
  readonly isHalfWalked: boolean;
  /** Nothing was read and every stop has this same answer: it counts as answered, and is said. */
  readonly sameAnswer: CouldNotRead | null;
}

/**
 * How far a round is. What was answered and what was read are two figures, and never stand in for each other.
 * @example progress([stopOf('p', [])]) // { total: 1, answered: 0, read: 0, toRead: 1, isComplete: false, … }
 */
export function progress(stops: readonly Stop[]): Progress {
  const byState = Object.fromEntries(STOP_STATES.map((state) => [state, 0])) as Record<StopState, number>;
  for (const { state } of stops) byState[state] += 1;
  const total = stops.length;
  const toRead = byState['to-read'];
  const answered = total - toRead;
  const sameAnswer = total === 0 ? null : (COULD_NOT_READ.find((answer) => byState[answer] === total) ?? null);
  return {
    total,
    answered,
    read: byState.read,
    toRead,
    byState,
    isComplete: total > 0 && toRead === 0,
    isHalfWalked: answered > 0 && toRead > 0,
    sameAnswer,
  };
}

/** The states of a stop as they are spoken. */
export const STOP_WORDS: Readonly<Record<StopState, string>> = {
  'to-read': 'to read',
  read: 'read',
  'not-running': 'not running',
  'no-way-in': 'no way in',
  unsafe: 'unsafe',
  'instrument-trouble': 'instrument trouble',
  'left-out': 'left out',
};

/**
 * How far a round is, in a sentence.
 * @example sayProgress(progress(stops)) // '25 of 25 stops answered: 22 read, 3 not running.'
 */
export function sayProgress({ total, answered, byState, sameAnswer }: Progress): string {
  if (total === 0) return 'This round has no stops.';
  const stops = `${answered} of ${total} ${total === 1 ? 'stop' : 'stops'} answered`;
  if (sameAnswer !== null && total > 1) return `${stops}, nothing read: ${STOP_WORDS[sameAnswer]} throughout.`;
  const parts = STOP_STATES.filter((state) => state !== 'to-read' && byState[state] > 0);
  return answered === 0 ? `${stops}.` : `${stops}: ${parts.map((state) => `${byState[state]} ${STOP_WORDS[state]}`).join(', ')}.`;
}

/** Most stops on one route. */
export const STOPS_AT_MOST = 500;

/**
 * What is wrong with the stops of a route that rounds are to be planned from; empty: nothing. A route may be kept without stops
 * while it is being made, but no round is planned from it.
 */
export function checkStops(pointIds: readonly string[]): readonly string[] {
  const wrong: string[] = [];
  if (pointIds.length === 0) wrong.push('A route needs at least one stop before rounds are planned: add a point.');
  if (pointIds.length > STOPS_AT_MOST) wrong.push(`A route has at most ${STOPS_AT_MOST} stops: make two routes of it.`);
  if (new Set(pointIds).size < pointIds.length) wrong.push('A point is on a route once: take the second one off.');
  return wrong;
}
