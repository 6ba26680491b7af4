import {
  type answerFinding as answerDescription,
  type BodyOf,
  endpoints,
  type moveOrder as moveDescription,
} from '@heatround/contract';
import {
  type Answer,
  type AskedMove,
  answerFinding,
  getOrder,
  listFindings,
  listOrders,
  lookAgainAt,
  moveOrder,
  nameMode,
  setTarget,
} from '@heatround/services/repairs';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

export function repairsEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.listFindings, ({ scope, query }) => listFindings(deps, scope, query));
  serve(app, deps, endpoints.answerFinding, ({ scope, params, body }) =>
    answerFinding(deps, scope, params.findingId, { version: body.version, answer: toAnswer(body.answer) }),
  );
  serve(app, deps, endpoints.lookAgainAt, ({ scope, params, body }) => lookAgainAt(deps, scope, params.findingId, body));
  serve(app, deps, endpoints.nameMode, ({ scope, params, body }) => nameMode(deps, scope, params.findingId, body.mode));
  serve(app, deps, endpoints.listOrders, ({ scope, query }) => listOrders(deps, scope, query));
  serve(app, deps, endpoints.getOrder, ({ scope, params }) => getOrder(deps, scope, params.orderId));
  serve(app, deps, endpoints.moveOrder, ({ scope, params, body }) =>
    moveOrder(deps, scope, params.orderId, { version: body.version, move: toMove(body.move) }),
  );
  serve(app, deps, endpoints.setTarget, ({ scope, params, body }) => setTarget(deps, scope, params.orderId, body.target));
}

const instant = (text: string | undefined): number | undefined => (text === undefined ? undefined : Date.parse(text));

function toAnswer(answer: BodyOf<typeof answerDescription>['answer']): Answer {
  switch (answer.kind) {
    case 'live-with':
    case 'ask-to-live-with':
      return { ...answer, until: Date.parse(answer.until) };
    case 'read-again':
      return { ...answer, latestAt: instant(answer.latestAt) };
    default:
      return answer;
  }
}

function toMove(move: BodyOf<typeof moveDescription>['move']): AskedMove {
  switch (move.kind) {
    case 'live-with':
    case 'ask-to-live-with':
      return { ...move, until: Date.parse(move.until) };
    case 'slot':
      return { ...move, from: instant(move.from), to: instant(move.to) };
    case 'finish':
      return { ...move, at: instant(move.at) };
    default:
      return move;
  }
}
