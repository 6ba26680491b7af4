import { randomUUID } from 'node:crypto';
import { endpoints } from '@heatround/contract';
import { jumpClock, listPeople } from '@heatround/services/identity';
import { roundPack } from '@heatround/services/pages';
import {
  askForStop,
  callOffRound,
  changeRoute,
  changeWindow,
  createRoute,
  createWindow,
  getRound,
  giveRound,
  listDue,
  listRoutes,
  listWindows,
  lookOverRound,
  myWalk,
} from '@heatround/services/rounds';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

export function roundsEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.listRoutes, ({ scope, query }) => listRoutes(deps, scope, query));
  serve(app, deps, endpoints.createRoute, async ({ scope, body }) => {
    const route = { ...body, id: body.id ?? randomUUID() };
    await createRoute(deps, scope, route);
    return { id: route.id };
  });
  serve(app, deps, endpoints.changeRoute, async ({ scope, params, body }) => ({
    id: params.routeId,
    ...(await changeRoute(deps, scope, params.routeId, body)),
  }));

  serve(app, deps, endpoints.listDue, ({ scope, query }) => listDue(deps, scope, query));
  serve(app, deps, endpoints.myWalk, ({ scope }) => myWalk(deps, scope));
  serve(app, deps, endpoints.getRound, ({ scope, params }) => getRound(deps, scope, params.roundId));
  serve(app, deps, endpoints.roundPack, ({ scope, params, query }) => roundPack(deps, scope, params.roundId, query.readings));
  serve(app, deps, endpoints.lookOverRound, ({ scope, params }) => lookOverRound(deps, scope, params.roundId));
  serve(app, deps, endpoints.callOffRound, ({ scope, params, body }) => callOffRound(deps, scope, params.roundId, body.reason));
  serve(app, deps, endpoints.giveRound, ({ scope, params, body }) => giveRound(deps, scope, params.roundId, body.walkerId));
  serve(app, deps, endpoints.askForStop, async ({ scope, params, body }) => {
    const stop = { ...body, ...params, id: body.id ?? randomUUID() };
    await askForStop(deps, scope, stop);
    return { id: stop.id };
  });

  serve(app, deps, endpoints.listWindows, async ({ scope, query }) => ({ windows: await listWindows(deps, scope, query) }));
  serve(app, deps, endpoints.createWindow, async ({ scope, body }) => {
    const window = { ...body, id: body.id ?? randomUUID() };
    await createWindow(deps, scope, window);
    return { id: window.id };
  });
  serve(app, deps, endpoints.changeWindow, async ({ scope, params, body }) => ({
    id: params.windowId,
    ...(await changeWindow(deps, scope, params.windowId, body)),
  }));

  serve(app, deps, endpoints.listPeople, async ({ scope }) => ({ people: await listPeople(deps, scope) }));
  serve(app, deps, endpoints.jumpClock, ({ scope, body }) => jumpClock(deps, scope, body.aheadMinutes));
}
