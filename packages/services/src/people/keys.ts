import { createHash, randomBytes } from 'node:crypto';
import type { KeyScope } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';
import { mustBeAllowed, notFound, now, type Scope } from '../deps/index.ts';
import { mustBeSites, type WithAccounts } from './with-accounts.ts';

/** By this a key is known for what it is, in a log or a search for leaked ones. */
export const KEY_BEGIN = 'hrk_';

export interface KeyView {
  readonly id: string;
  readonly name: string;
  readonly scopes: KeyScope[];
  readonly siteIds: string[] | null;
  readonly madeAt: Date;
  readonly endsAt: Date | null;
  readonly hasEnded: boolean;
  readonly lastUsedAt: Date | null;
}

/** What is kept of a key. Keys are random and long, so a plain hash is enough. */
export const hashOfKey = (key: string): string => createHash('sha256').update(key).digest('hex');

export const keysOf = async (db: TenantDb, at: number): Promise<KeyView[]> =>
  db.$queryRaw<KeyView[]>(sql`
    SELECT k.id, m.name, k.scopes, m.site_ids AS "siteIds", k.made_at AS "madeAt", m.ends_at AS "endsAt", k.last_used_at AS "lastUsedAt",
      m.ends_at IS NOT NULL AND m.ends_at <= ${new Date(at)}::timestamptz AS "hasEnded"
    FROM service_key k JOIN membership m ON m.organisation_id = k.organisation_id AND m.person_id = k.id
    WHERE k.organisation_id = current_organisation() ORDER BY k.made_at DESC, k.id LIMIT 200`);

/**
 * A key for a program, good until its end; it is told once and kept as a hash. Making the same id again gives it a new key.
 * @throws Problem invalid-request for unknown sites.
 */
export async function makeKey(
  deps: WithAccounts,
  scope: Scope,
  wanted: {
    readonly id: string;
    readonly name: string;
    readonly scopes: readonly KeyScope[];
    readonly siteIds: readonly string[] | null;
    readonly endsAt: Date;
  },
): Promise<{ key: string }> {
  mustBeAllowed(scope, 'administer');
  const key = `${KEY_BEGIN}${randomBytes(32).toString('base64url')}`;
  const at = new Date(now(deps, scope));
  const sites = wanted.siteIds === null ? null : [...wanted.siteIds];
  await deps.database.inTenant(scope, async ({ db }) => {
    if (sites !== null) await mustBeSites(db, sites);
    const made = await db.$executeRaw(sql`
      INSERT INTO membership AS m (organisation_id, person_id, name, roles, site_ids, ends_at, mail_wanted)
      VALUES (current_organisation(), ${wanted.id}::uuid, ${wanted.name.trim()}, ARRAY['service-key'], ${sites}::uuid[], ${wanted.endsAt}, false)
      ON CONFLICT (organisation_id, person_id) DO UPDATE
        SET name = excluded.name, site_ids = excluded.site_ids, ends_at = excluded.ends_at WHERE m.roles = ARRAY['service-key']`);
    // A person is no key, whatever id was named.
    if (made === 0) throw notFound('key');
    await db.$executeRaw(sql`
      INSERT INTO service_key (organisation_id, id, key_hash, scopes, made_by, made_at)
      VALUES (current_organisation(), ${wanted.id}::uuid, ${hashOfKey(key)}, ${[...new Set(wanted.scopes)]}, ${scope.personId}::uuid, ${at})
      ON CONFLICT (organisation_id, id) DO UPDATE
        SET key_hash = excluded.key_hash, scopes = excluded.scopes, made_by = excluded.made_by, made_at = excluded.made_at`);
  });
  return { key };
}

/** From the next call on the key opens nothing. Withdrawing it twice changes nothing. */
export async function withdrawKey(deps: WithAccounts, scope: Scope, keyId: string): Promise<void> {
  mustBeAllowed(scope, 'administer');
  const at = new Date(now(deps, scope));
  const found = await deps.database.inTenant(scope, ({ db }) =>
    db.$executeRaw(sql`
      UPDATE membership SET ends_at = least(ends_at, ${at}::timestamptz)
      WHERE organisation_id = current_organisation() AND person_id = ${keyId}::uuid AND roles = ARRAY['service-key']`),
  );
  if (found === 0) throw notFound('key');
}
