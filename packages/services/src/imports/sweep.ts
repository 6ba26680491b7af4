import { sql } from '@heatround/platform/database';
import type { JobDefinition } from '@heatround/platform/jobs';
import type { Deps } from '../deps/index.ts';
import { checkImportJob, type ImportPayload } from './check.job.ts';
import { runImportJob } from './run.job.ts';

/**
 * Jobs of imports that are to be checked or brought in, across organisations. One that is worked on is found too: its hint waits
 * behind the work and then finds nothing to do.
 */
export async function findDueImports(
  { database }: Pick<Deps, 'database'>,
  most: number,
): Promise<{ job: JobDefinition<ImportPayload, Deps>; payload: ImportPayload }[]> {
  const due = await database.acrossTenants('imports under way', (db) =>
    db.$queryRaw<(ImportPayload & { state: string })[]>(sql`
      SELECT organisation_id AS "organisationId", id AS "importId", state FROM import WHERE state IN ('checking', 'bringing-in')
      ORDER BY organisation_id, id LIMIT ${most}`),
  );
  return due.map(({ state, ...payload }) => ({ job: state === 'checking' ? checkImportJob : runImportJob, payload }));
}
