import { endpoints } from '@heatround/contract';
import {
  checkImport,
  getImport,
  importTemplate,
  listImports,
  previewUndo,
  runImport,
  startImport,
  undoImport,
} from '@heatround/services/imports';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

/** The longest text the contract takes, with room for characters of several bytes and for escaped line ends. */
const LARGEST_FILE = 48 * 1024 * 1024;

export function importsEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.startImport, ({ scope, body }) => startImport(deps, scope, body), {
    bodyLimit: LARGEST_FILE,
    ownTextCheck: ['text'],
  });
  serve(app, deps, endpoints.checkImport, ({ scope, params, body }) => checkImport(deps, scope, params.importId, body.mapping));
  serve(app, deps, endpoints.runImport, ({ scope, params, body }) => runImport(deps, scope, params.importId, body.skipBadRows));
  serve(app, deps, endpoints.getImport, ({ scope, params }) => getImport(deps, scope, params.importId));
  serve(app, deps, endpoints.listImports, async ({ scope, query }) => ({
    imports: await listImports(deps, scope, query.pageSize),
  }));
  serve(app, deps, endpoints.previewUndo, ({ scope, params }) => previewUndo(deps, scope, params.importId));
  serve(app, deps, endpoints.undoImport, ({ scope, params }) => undoImport(deps, scope, params.importId));
  serve(app, deps, endpoints.importTemplate, async ({ params }) => importTemplate(params.kind));
}
