import { agreeOrder, type Because, type Grade, type OrderMover, type Verdict, type WorkOrder } from '@heatround/domain';

const because: Because = {
  criterion: 'absolute',
  basis: 'raw',
  unit: '°C',
  value: 60,
  rawValue: 60,
  band: null,
  limitGrade: 'watch',
  limit: 70,
  direction: 'high',
  source: 'site practice',
  reason: 'grease life',
  limitSetId: 'limits',
  limitVersion: 1,
  uncertainty: 1,
  capped: false,
};

/** A comparable verdict of a grade; null: not judged for want of load. */
export function aVerdict(grade: Grade | null, overrides: Partial<Verdict> = {}): Verdict {
  return {
    grade,
    comparability: grade === null ? 'not-judged' : 'like-for-like',
    atLeast: false,
    check: null,
    gate: grade === null ? 'load-missing' : null,
    notes: [],
    firm: grade !== null,
    because,
    sentence: grade === null ? 'Not judged.' : `60 °C is ${grade}.`,
    ...overrides,
  };
}

export function anOrder(overrides: Partial<WorkOrder> = {}): WorkOrder {
  const made = { id: 'order', grade: 'plan', ownerId: 'mara', originalDueAt: 5000, needsSecondProof: false } as const;
  return { ...agreeOrder(made), ...overrides };
}

export const planner: OrderMover = { by: 'jonas', roles: ['planner'], isOwner: false, at: 1000 };
export const manager: OrderMover = { by: 'ruth', roles: ['manager'], isOwner: false, at: 1000 };
export const owner: OrderMover = { by: 'mara', roles: ['technician'], isOwner: true, at: 1000 };
export const stranger: OrderMover = { by: 'tomasz', roles: ['technician'], isOwner: false, at: 1000 };
export const guest: OrderMover = { by: 'selma', roles: ['guest-reader'], isOwner: false, at: 1000 };
export const service: OrderMover = { by: null, roles: [], isOwner: false, at: 1000 };
