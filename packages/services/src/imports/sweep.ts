import { sql } from '@heatround/platform/database';
import type { JobDefinition } from '@heatround/platform/jobs';
import type { Deps } from '../deps/index.ts';
import { checkImportJob, type ImportPayload } from './check.job.ts';
import { runImportJob } from './run.job.ts';
import { undoImportJob } from './undo.job.ts';

/**
 * Jobs of imports that are to be checked, brought in or taken back, across organisations. One that is worked on is found too: its hint waits
 * behind the work and then finds nothing to do.
 */
export async function findDueImports(
  { database }: Pick<Deps, 'database'>,
  most: number,
): Promise<{ job: JobDefinition<ImportPayload, Deps>; payload: ImportPayload }[]> {
  const due = await database.acrossTenants('imports under way', (db) =>
    db.$queryRaw<(ImportPayload & { state: 'checking' | 'bringing-in' | 'taking-back' })[]>(sql`
      SELECT organisation_id AS "organisationId", id AS "importId", state FROM import WHERE state IN ('checking', 'bringing-in', 'taking-back')
      ORDER BY organisation_id, id LIMIT ${most}`),
  );
  const jobs = { checking: checkImportJob, 'bringing-in': runImportJob, 'taking-back': undoImportJob };
  return due.map(({ state, ...payload }) => ({ job: jobs[state], payload }));
}
