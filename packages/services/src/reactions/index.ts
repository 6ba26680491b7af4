/**
 * All cause and effect on one page: what is announced after a commit, and which jobs it asks for. A lost hint costs time, never
 * a conclusion: the sweep finds in the database what is due.
 */
import type { Announcement } from '@heatround/platform/database';
import type { JobDefinition, Jobs } from '@heatround/platform/jobs';
import { checkImportJob, type ImportPayload, runImportJob, undoImportJob } from '../imports/index.ts';
import { composeDailyJob, type MailContext, sendMailJob } from '../mail/index.ts';
import { bringBackJob, missingStopsJob, rankOrdersJob } from '../repairs/index.ts';
import { closeRoundsJob, planRoundsJob } from '../rounds/index.ts';
import { concludePointJob, concludePointsJob, learnClassesJob } from '../trends/index.ts';

/** Every kind of job, for the worker. */
export const JOBS: readonly JobDefinition<unknown, MailContext>[] = [
  concludePointJob as JobDefinition<unknown, MailContext>,
  concludePointsJob as JobDefinition<unknown, MailContext>,
  learnClassesJob as JobDefinition<unknown, MailContext>,
  planRoundsJob as JobDefinition<unknown, MailContext>,
  closeRoundsJob as JobDefinition<unknown, MailContext>,
  bringBackJob as JobDefinition<unknown, MailContext>,
  rankOrdersJob as JobDefinition<unknown, MailContext>,
  missingStopsJob as JobDefinition<unknown, MailContext>,
  checkImportJob as JobDefinition<unknown, MailContext>,
  runImportJob as JobDefinition<unknown, MailContext>,
  composeDailyJob as JobDefinition<unknown, MailContext>,
  sendMailJob as JobDefinition<unknown, MailContext>,
  undoImportJob as JobDefinition<unknown, MailContext>,
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
      if (name === 'mail-waits')
        void jobs.enqueue(sendMailJob, { organisationId, mailId: (payload as { mailId: string }).mailId });
      if (name === 'asset-out-or-back') void jobs.enqueue(missingStopsJob, { organisationId });
      if (name === 'import-undo-asked') void jobs.enqueue(undoImportJob, asked());
    }
  };
}
