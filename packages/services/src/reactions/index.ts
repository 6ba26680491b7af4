/**
 * All cause and effect on one page: what is announced after a commit, and which jobs it asks for. A lost hint costs time, never
 * a conclusion: the sweep finds in the database what is due.
 */
import type { Announcement } from '@heatround/platform/database';
import type { JobDefinition, Jobs } from '@heatround/platform/jobs';
import { checkImportJob, type ImportPayload, runImportJob, undoImportJob } from '../imports/index.ts';
import { bringBackJob, rankOrdersJob } from '../repairs/index.ts';
import { closeRoundsJob, planRoundsJob } from '../rounds/index.ts';
import { type ConclusionContext, concludePointJob, concludePointsJob, learnClassesJob } from '../trends/index.ts';

/** Every kind of job, for the worker. */
export const JOBS: readonly JobDefinition<unknown, ConclusionContext>[] = [
  concludePointJob as JobDefinition<unknown, ConclusionContext>,
  concludePointsJob as JobDefinition<unknown, ConclusionContext>,
  learnClassesJob as JobDefinition<unknown, ConclusionContext>,
  planRoundsJob as JobDefinition<unknown, ConclusionContext>,
  closeRoundsJob as JobDefinition<unknown, ConclusionContext>,
  bringBackJob as JobDefinition<unknown, ConclusionContext>,
  rankOrdersJob as JobDefinition<unknown, ConclusionContext>,
  checkImportJob as JobDefinition<unknown, ConclusionContext>,
  runImportJob as JobDefinition<unknown, ConclusionContext>,
  undoImportJob as JobDefinition<unknown, ConclusionContext>,
];

/** Turns announcements into jobs; never throws and never waits. */
export function reactTo(jobs: Jobs): (organisationId: string, announcements: readonly Announcement[]) => void {
  return (organisationId, announcements) => {
    const changed = announcements
      .filter(({ name }) => name === 'point-changed')
      .flatMap(({ payload }) => (payload as { pointIds: readonly string[] }).pointIds);
    const payloads = [...new Set(changed)].map((pointId) => ({ organisationId, pointId }));
    if (payloads.length > 0) void jobs.enqueueMany(concludePointJob, payloads);
    for (const { name, payload } of announcements) {
      const asked = () => ({ organisationId, importId: (payload as Pick<ImportPayload, 'importId'>).importId });
      if (name === 'import-check-asked') void jobs.enqueue(checkImportJob, asked());
      if (name === 'import-run-asked') void jobs.enqueue(runImportJob, asked());
      if (name === 'import-undo-asked') void jobs.enqueue(undoImportJob, asked());
    }
  };
}
