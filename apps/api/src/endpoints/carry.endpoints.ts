import { endpoints } from '@heatround/contract';
import { carryPage } from '@heatround/services/pages';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

export function carryEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.getCarry, ({ scope, query }) => carryPage(deps, scope, query));
}
