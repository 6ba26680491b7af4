import { endpoints, type FactResult, fact } from '@heatround/contract';
import type { Fact, ProblemDetail } from '@heatround/domain';
import { listAnswers, listOtherContents, listReadings } from '@heatround/services/readings';
import { type Recorded, submitFacts } from '@heatround/services/submissions';
import { listForecasts } from '@heatround/services/trends';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';
import { badTexts } from '../plugins/plain-text.ts';

export function readingsEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.listReadings, ({ scope, params, query }) => listReadings(deps, scope, params.pointId, query));
  serve(app, deps, endpoints.listAnswers, async ({ scope, params }) => ({
    answers: await listAnswers(deps, scope, params.pointId),
  }));
  serve(app, deps, endpoints.listOtherContents, async ({ scope, params }) => ({
    contents: await listOtherContents(deps, scope, params.pointId),
  }));
  serve(app, deps, endpoints.listForecasts, async ({ scope, params }) => ({
    forecasts: await listForecasts(deps, scope, params.pointId),
  }));

  serve(
    app,
    deps,
    endpoints.submitFacts,
    async ({ scope, body }) => {
      const read = body.facts.map(readFact);
      const good = read.flatMap((one) => ('fact' in one ? [one.fact] : []));
      const { receivedAt, results } = await submitFacts(deps, scope, good);
      const answers = results.values();
      return {
        receivedAt: new Date(receivedAt),
        results: read.map((one, position) =>
          'fact' in one ? answered(one.fact.id, answers.next().value!) : unreadable(body.facts[position], one.errors),
        ),
      };
    },
    { bodyLimit: 8 * 1024 * 1024, ownTextCheck: ['facts'] },
  );
}

/** One fact as sent, or what is wrong with it. */
function readFact(sent: unknown): { fact: Fact } | { errors: ProblemDetail[] } {
  const errors = badTexts(sent, '');
  if (errors.length > 0) return { errors };
  const read = fact.safeParse(sent);
  if (read.success) return { fact: read.data as Fact };
  return {
    errors: read.error.issues.map(({ path, message }) => ({
      pointer: path.map((part) => `/${String(part)}`).join(''),
      detail: message,
    })),
  };
}

function answered(id: string, recorded: Recorded): FactResult {
  if (recorded.outcome !== 'refused')
    return { id, outcome: recorded.outcome, verdict: recorded.verdict, notice: recorded.notice, problem: null };
  const { code, detail, errors } = recorded;
  return { id, outcome: 'refused', verdict: null, notice: null, problem: { code, detail, errors } };
}

function unreadable(sent: unknown, errors: ProblemDetail[]): FactResult {
  const id = (sent as { id?: unknown } | null)?.id;
  return {
    id: typeof id === 'string' ? id : null,
    outcome: 'refused',
    verdict: null,
    notice: null,
    problem: { code: 'invalid-request', detail: 'This entry is not as expected. It stays on your device.', errors },
  };
}
