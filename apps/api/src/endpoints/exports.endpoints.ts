import { endpoints } from '@heatround/contract';
import { exportTable } from '@heatround/services/exports';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

export function exportsEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.exportTable, ({ scope, params, query }) => exportTable(deps, scope, params.table, query.format));
}
