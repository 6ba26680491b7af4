/** Every repeating job on one page. What is due is asked of the database, so a missed beat only costs time. */
import type { Jobs } from '@heatround/platform/jobs';
import type { Deps } from '@heatround/services/deps';
import { findDueImports } from '@heatround/services/imports';
import { composeDailyJob, findDailyDue, findMailToSend, sendMailJob } from '@heatround/services/mail';
import {
  bringBackJob,
  findLivingOver,
  findMissingStops,
  findOrdersToRank,
  missingStopsJob,
  rankOrdersJob,
} from '@heatround/services/repairs';
import { closeRoundsJob, findRoundsToClose, findRoutesToPlan, planRoundsJob } from '@heatround/services/rounds';
import { concludePointsJob, findClassesToLearn, findDueConclusions, learnClassesJob } from '@heatround/services/trends';

/** Most points asked for in one sweep; the next one goes on where this one ends. */
const MOST_DUE = 2000;

/** Starts sweeping; the returned function stops it and waits for the sweep under way. */
export function startSchedule(deps: Deps, jobs: Jobs, sweepIntervalSeconds: number): () => Promise<void> {
  let running: Promise<void> = Promise.resolve();
  let stopped = false;
  let timer: NodeJS.Timeout | undefined;
  const beat = async () => {
    try {
      const due = await findDueConclusions(deps, MOST_DUE);
      if (due.length > 0) await jobs.enqueueMany(concludePointsJob, due);
      await jobs.enqueueMany(closeRoundsJob, await findRoundsToClose(deps));
      await jobs.enqueueMany(planRoundsJob, await findRoutesToPlan(deps, MOST_DUE));
      await jobs.enqueueMany(bringBackJob, await findLivingOver(deps, MOST_DUE));
      await jobs.enqueueMany(missingStopsJob, await findMissingStops(deps));
      await jobs.enqueueMany(rankOrdersJob, await findOrdersToRank(deps, MOST_DUE));
      await jobs.enqueueMany(learnClassesJob, await findClassesToLearn(deps));
      await jobs.enqueueMany(composeDailyJob, await findDailyDue(deps, MOST_DUE));
      await jobs.enqueueMany(sendMailJob, await findMailToSend(deps, MOST_DUE));
      for (const { job, payload } of await findDueImports(deps, MOST_DUE)) await jobs.enqueue(job, payload);
    } catch (error) {
      deps.log.warn({ reason: String(error) }, 'a sweep failed and will be tried again');
    }
    if (!stopped) timer = setTimeout(() => (running = beat()), sweepIntervalSeconds * 1000);
  };
  running = beat();
  return async () => {
    stopped = true;
    clearTimeout(timer);
    await running;
  };
}
