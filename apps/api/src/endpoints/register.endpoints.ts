import { randomUUID } from 'node:crypto';
import { endpoints, type pointDraft } from '@heatround/contract';
import {
  addPoint,
  changeAsset,
  changePoint,
  confirmBase,
  createAsset,
  createBuilding,
  createRoom,
  createSite,
  listAssets,
  listSites,
  type NewPoint,
} from '@heatround/services/assets';
import { now, type Scope } from '@heatround/services/deps';
import { addLimits, listLimits } from '@heatround/services/limits';
import { assetPage } from '@heatround/services/pages';
import { tryLimitsAt } from '@heatround/services/trends';
import type { FastifyInstance } from 'fastify';
import type * as z from 'zod';
import { type ApiDeps, serve } from '../endpoint.ts';

export function registerEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  const newPoint = (scope: Scope, { id, spot, limits, base, ...rest }: z.output<typeof pointDraft>): NewPoint => ({
    point: { ...rest, id: id ?? randomUUID(), base: base == null ? null : { value: base, state: 'confirmed' } },
    spot,
    limits: limits.map((draft) => ({
      ...draft,
      id: draft.id ?? randomUUID(),
      validFrom: draft.validFrom ? Date.parse(draft.validFrom) : now(deps, scope),
    })),
  });

  serve(app, deps, endpoints.listSites, async ({ scope }) => ({ sites: await listSites(deps, scope) }));
  serve(app, deps, endpoints.createSite, async ({ scope, body }) => {
    const site = { ...body, id: body.id ?? randomUUID() };
    await createSite(deps, scope, site);
    return { id: site.id };
  });
  serve(app, deps, endpoints.createBuilding, async ({ scope, params, body }) => {
    const building = { ...params, name: body.name, id: body.id ?? randomUUID() };
    await createBuilding(deps, scope, building);
    return { id: building.id };
  });
  serve(app, deps, endpoints.createRoom, async ({ scope, params, body }) => {
    const room = { ...params, name: body.name, id: body.id ?? randomUUID() };
    await createRoom(deps, scope, room);
    return { id: room.id };
  });

  serve(app, deps, endpoints.listAssets, ({ scope, query }) => listAssets(deps, scope, query));
  serve(app, deps, endpoints.getAsset, ({ scope, params, query }) => assetPage(deps, scope, params.assetId, query.readings));
  serve(app, deps, endpoints.createAsset, async ({ scope, body }) => {
    const asset = {
      ...body,
      id: body.id ?? randomUUID(),
      template: body.template ?? null,
      points: body.points.map((draft) => newPoint(scope, draft)),
    };
    return { id: asset.id, ...(await createAsset(deps, scope, asset)) };
  });
  serve(app, deps, endpoints.changeAsset, async ({ scope, params, body }) => ({
    id: params.assetId,
    ...(await changeAsset(deps, scope, params.assetId, body)),
  }));
  serve(app, deps, endpoints.changePoint, async ({ scope, params, body }) => ({
    id: params.pointId,
    ...(await changePoint(deps, scope, params.pointId, body)),
  }));
  serve(app, deps, endpoints.addPoint, async ({ scope, params, body }) => {
    const point = newPoint(scope, body);
    await addPoint(deps, scope, params.assetId, point);
    return { id: point.point.id };
  });
  serve(app, deps, endpoints.confirmBase, async ({ scope, params, body }) => ({
    id: params.pointId,
    ...(await confirmBase(deps, scope, params.pointId, body)),
  }));

  serve(app, deps, endpoints.addLimits, ({ scope, params, body }) =>
    addLimits(deps, scope, params.pointId, {
      ...body,
      id: body.id ?? randomUUID(),
      validFrom: body.validFrom ? Date.parse(body.validFrom) : undefined,
    }),
  );
  serve(app, deps, endpoints.tryLimits, ({ scope, params, body }) => tryLimitsAt(deps, scope, params.pointId, body));
  serve(app, deps, endpoints.listLimits, async ({ scope, params }) => ({
    limits: await listLimits(deps, scope, params.pointId),
  }));
}
