import { Problem } from '@heatround/domain';
import type { Accounts } from '@heatround/platform/accounts';
import type { TenantDb } from '@heatround/platform/database';
import type { Deps } from '../deps/index.ts';

export type WithAccounts = Deps & { readonly accounts: Accounts };

/** @throws Problem invalid-request for a site that is not here. */
export async function mustBeSites(db: TenantDb, siteIds: readonly string[]): Promise<void> {
  const known = await db.site.findMany({ where: { id: { in: [...siteIds] } }, select: { id: true } });
  const missing = siteIds.filter((id) => !known.some((one) => one.id === id));
  if (missing.length > 0)
    throw new Problem('invalid-request', 'A site named is not here; nothing was changed.', [
      { pointer: '#/siteIds', detail: 'expected ids of sites of this organisation' },
    ]);
}
