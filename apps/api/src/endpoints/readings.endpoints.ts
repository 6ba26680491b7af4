import { endpoints, type FactResult, fact } from '@heatround/contract';
import type { Fact } from '@heatround/domain';
import { listAnswers, listOtherContents, listReadings } from '@heatround/services/readings';
import { type Recorded, submitFacts } from '@heatround/services/submissions';
import { listForecasts } from '@heatround/services/trends';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

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
      const read = body.facts.map((one) => fact.safeParse(one));
      const good = read.flatMap((one) => (one.success ? [one.data as Fact] : []));
      const { receivedAt, results } = await submitFacts(deps, scope, good);
      const answers = results.values();
      return {
        receivedAt: new Date(receivedAt),
        results: read.map((one, position) =>
          one.success ? answered(one.data.id, answers.next().value!) : unreadable(body.facts[position], one.error.issues),
        ),
      };
    },
    { bodyLimit: 8 * 1024 * 1024 },
  );
}

function answered(id: string, recorded: Recorded): FactResult {
  if (recorded.outcome !== 'refused')
    return { id, outcome: recorded.outcome, verdict: recorded.verdict, notice: recorded.notice, problem: null };
  const { code, detail, errors } = recorded;
  return { id, outcome: 'refused', verdict: null, notice: null, problem: { code, detail, errors } };
}

function unreadable(sent: unknown, issues: readonly { path: readonly PropertyKey[]; message: string }[]): FactResult {
  const id = (sent as { id?: unknown } | null)?.id;
  const errors = issues.map(({ path, message }) => ({
    pointer: path.map((part) => `/${String(part)}`).join(''),
    detail: message,
  }));
  return {
    id: typeof id === 'string' ? id : null,
    outcome: 'refused',
    verdict: null,
    notice: null,
    problem: { code: 'invalid-request', detail: 'This entry is not as expected. It stays on your device.', errors },
  };
}
