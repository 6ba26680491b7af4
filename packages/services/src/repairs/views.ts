import {
  answersAllowed,
  type Finding,
  type FindingState,
  type MoveRecord,
  may,
  type OrderState,
  orderMovesAllowed,
  overdueDays,
  type WorkOrder,
} from '@heatround/domain';
import type { Scope } from '../deps/index.ts';
import type { WindowAhead, WindowView } from '../rounds/index.ts';
import type { About, Subject } from './about.ts';
import type { LateEvidence } from './second-look.ts';

export interface PersonName {
  readonly id: string;
  readonly name: string;
}

type AboutPoint = Omit<Subject, 'about'>;

export interface FindingLine extends AboutPoint {
  readonly id: string;
  readonly number: number;
  readonly grade: Finding['grade'];
  readonly state: FindingState;
  readonly finding: Finding;
  readonly reportedAt: Date;
  readonly reportedBy: string;
  readonly words: string | null;
  readonly evidence: number;
  readonly answerDueAt: Date | null;
  /** Number of the proved finding that this one repeats. */
  readonly repeats: number | null;
  /** Something came after it had been answered. */
  readonly asksPlanner: boolean;
  /** What came, the newest few; none where nobody is asked to look. */
  readonly late: readonly LateEvidence[];
  readonly risk: number;
  readonly allowed: string[];
  readonly orderNumber: number | null;
}

export interface OrderLine extends AboutPoint {
  readonly id: string;
  readonly number: number;
  readonly grade: Finding['grade'];
  readonly state: OrderState;
  readonly order: WorkOrder;
  readonly owner: PersonName | null;
  readonly dueAt: Date | null;
  readonly overdueDays: number;
  readonly risk: number;
  readonly consequence: number;
  readonly createdAt: Date;
  readonly endedAt: Date | null;
  readonly findingNumber: number;
  readonly reportedBy: string;
  readonly reportedAt: Date;
  readonly proofDueAt: Date | null;
  readonly allowed: string[];
}

export interface MoveView {
  readonly move: string;
  readonly from: string;
  readonly to: string;
  readonly by: PersonName | null;
  readonly at: Date;
  readonly why: string | null;
  readonly given: MoveRecord<string, { kind: string }>['given'];
}

/** A finding as its row tells it. */
export type FindingRow = Pick<
  FindingLine,
  | 'number'
  | 'finding'
  | 'reportedAt'
  | 'reportedBy'
  | 'words'
  | 'evidence'
  | 'answerDueAt'
  | 'repeats'
  | 'asksPlanner'
  | 'orderNumber'
>;

/** An order as its row tells it. */
export type OrderRow = Pick<
  OrderLine,
  | 'number'
  | 'order'
  | 'dueAt'
  | 'risk'
  | 'consequence'
  | 'createdAt'
  | 'endedAt'
  | 'findingNumber'
  | 'reportedBy'
  | 'reportedAt'
  | 'proofDueAt'
> & { readonly pointId: string; readonly ownerName: string | null };

type SubjectWithAbout = Subject & { readonly about: About };

/** A finding as a line of its queue, with what this person may answer. */
export function toFindingLine(
  row: FindingRow,
  subject: SubjectWithAbout,
  risk: number,
  scope: Scope,
  now: number,
  late: readonly LateEvidence[] = [],
): FindingLine {
  const { about: _, ...point } = subject;
  const { finding } = row;
  return {
    ...point,
    ...row,
    id: finding.id,
    grade: finding.grade,
    state: finding.state,
    risk,
    late,
    allowed: answersOpen(finding, scope, now),
  };
}

/** Answers the person may give now, with the two that are no move of the table. */
function answersOpen(finding: Finding, scope: Scope, at: number): string[] {
  const answers: string[] = answersAllowed(finding, { by: scope.personId, roles: scope.roles, at });
  const isWaiting = finding.ended === null && (finding.state === 'living-with' || finding.state === 'read-again');
  if (isWaiting && may(scope.roles, 'answer-findings')) answers.push('come-back');
  if (finding.ended === null && finding.state === 'reported' && mayAsk(scope)) answers.push('ask-to-live-with');
  return answers;
}

const mayAsk = ({ roles }: Scope): boolean => may(roles, 'submit-facts') || may(roles, 'answer-findings');

/** An order as a line of its queue, with the moves open to this person. */
export function toOrderLine(row: OrderRow, subject: SubjectWithAbout, scope: Scope, now: number): OrderLine {
  const { about: _, ...point } = subject;
  const { pointId: __, ownerName, ...rest } = row;
  const { order } = row;
  // What is done waits for its proof and what is lived with for its end; each has a date of its own.
  const isOverdueNever = order.state === 'done' || order.state === 'living-with';
  const until = Math.min(now, row.endedAt?.getTime() ?? now);
  return {
    ...point,
    ...rest,
    id: order.id,
    grade: order.grade,
    state: order.state,
    owner: order.ownerId ? { id: order.ownerId, name: ownerName ?? 'somebody no longer here' } : null,
    overdueDays: isOverdueNever ? 0 : overdueDays(row.dueAt?.getTime() ?? null, until, subject.place.zone),
    allowed: movesOpen(order, scope, now),
  };
}

function movesOpen(order: WorkOrder, scope: Scope, at: number): string[] {
  const mover = { by: scope.personId, roles: scope.roles, at, isOwner: order.ownerId === scope.personId };
  // A proof is a reading, not a move somebody asks for.
  const moves: string[] = orderMovesAllowed(order, mover).filter((kind) => kind !== 'prove');
  if (order.state === 'agreed' && mayAsk(scope)) moves.push('ask-to-live-with');
  if (order.endedAt === null && may(scope.roles, 'answer-findings')) moves.push('give');
  return moves;
}

export const toWindowView = ({ window: _, ...view }: WindowAhead): WindowView => view;
