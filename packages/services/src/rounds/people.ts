import { sql, type TenantDb } from '@heatround/platform/database';
import { notFound } from '../deps/index.ts';

/** Refuses a person who is not, or no longer, a member of this organisation. */
export async function mustBePerson(db: TenantDb, personId: string, now: number): Promise<void> {
  const found = await db.$queryRaw<unknown[]>(sql`
    SELECT 1 FROM membership WHERE organisation_id = current_organisation() AND person_id = ${personId}::uuid
      AND (ends_at IS NULL OR ends_at > ${new Date(now)}::timestamptz)`);
  if (found.length === 0) throw notFound('person');
}
