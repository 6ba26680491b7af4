import { endpoints, type FactResult } from '@heatround/contract';
import type { ProblemDetail } from '@heatround/domain';
import { countersign, listAnswers, listOtherContents, listReadings, listToCountersign } from '@heatround/services/readings';
import { type Recorded, submitFacts } from '@heatround/services/submissions';
import { hitRates, listForecasts } from '@heatround/services/trends';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';
import { idOf, notAsExpected, readFact } from '../sent-fact.ts';

export function readingsEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.listToCountersign, ({ scope, query }) => listToCountersign(deps, scope, query));
  serve(app, deps, endpoints.countersign, async ({ scope, body }) => ({
    results: await countersign(deps, scope, body.factIds, body.words),
  }));

  serve(app, deps, endpoints.listReadings, ({ scope, params, query }) => listReadings(deps, scope, params.pointId, query));
  serve(app, deps, endpoints.listAnswers, async ({ scope, params }) => ({
    answers: await listAnswers(deps, scope, params.pointId),
  }));
  serve(app, deps, endpoints.listOtherContents, async ({ scope, params }) => ({
    contents: await listOtherContents(deps, scope, params.pointId),
  }));
  serve(app, deps, endpoints.getHitRates, ({ scope }) => hitRates(deps, scope));
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
      const told = read.map((one, position) =>
        'fact' in one ? answered(one.fact.id, answers.next().value!) : unreadable(body.facts[position], one.errors),
      );
      for (const { outcome } of told) deps.metrics?.submissions.count({ answer: outcome });
      return { receivedAt: new Date(receivedAt), results: told };
    },
    { bodyLimit: 8 * 1024 * 1024, ownTextCheck: ['facts'] },
  );
}

function answered(id: string, recorded: Recorded): FactResult {
  if (recorded.outcome !== 'refused')
    return { id, outcome: recorded.outcome, verdict: recorded.verdict, notice: recorded.notice, problem: null };
  const { code, detail, errors } = recorded;
  return { id, outcome: 'refused', verdict: null, notice: null, problem: { code, detail, errors } };
}

function unreadable(sent: unknown, errors: ProblemDetail[]): FactResult {
  return { id: idOf(sent), outcome: 'refused', verdict: null, notice: null, problem: notAsExpected(errors) };
}
