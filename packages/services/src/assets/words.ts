import { searchWords } from '@heatround/domain';
import { sql, type TenantDb } from '@heatround/platform/database';

/** Writes anew the words by which these assets are found: tags old and new, name, place, point names. */
export async function reindexWords(db: TenantDb, organisationId: string, assetIds: readonly string[]): Promise<void> {
  const texts = await db.$queryRaw<{ id: string; text: string }[]>(sql`
    SELECT a.id, concat_ws(' ', a.name, r.name, b.name, s.name,
      (SELECT string_agg(t.tag, ' ') FROM asset_tag t WHERE t.organisation_id = a.organisation_id AND t.asset_id = a.id),
      (SELECT string_agg(p.name, ' ') FROM point p WHERE p.organisation_id = a.organisation_id AND p.asset_id = a.id)) AS text
    FROM asset a JOIN room r ON r.organisation_id = a.organisation_id AND r.id = a.room_id
      JOIN building b ON b.organisation_id = r.organisation_id AND b.id = r.building_id
      JOIN site s ON s.organisation_id = b.organisation_id AND s.id = b.site_id
    WHERE a.id = ANY (${[...assetIds]}::uuid[])`);
  const words = texts.flatMap(({ id, text }) => searchWords(text).map((word) => ({ id, word })));
  await db.$executeRaw(sql`DELETE FROM asset_word WHERE asset_id = ANY (${[...assetIds]}::uuid[])`);
  await db.$executeRaw(sql`
    INSERT INTO asset_word (organisation_id, word, asset_id)
    SELECT ${organisationId}::uuid, word, id FROM jsonb_to_recordset(${JSON.stringify(words)}::jsonb) AS r(id uuid, word text)
    ON CONFLICT DO NOTHING`);
}

/** What somebody typed, as patterns: every word must begin a word of the asset. At most eight words count. */
export function searchPatterns(search: string): string[] {
  return search
    .normalize('NFKD')
    .replace(/[\p{M}\p{Cf}]/gu, '')
    .toLowerCase()
    .split(/[\s,;:()/]+/u)
    .filter(Boolean)
    .slice(0, 8)
    .map((word) => `${word.slice(0, 60).replace(/[\\%_]/g, '\\$&')}%`);
}
