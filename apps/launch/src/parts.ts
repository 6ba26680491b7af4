/** What the launcher hands to the parts of the service, and the one part a checkout may lack: the demo organisation. */
import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Accounts } from '@heatround/platform/accounts';
import type { Clock } from '@heatround/platform/clock';
import type { Config } from '@heatround/platform/config';
import type { Database } from '@heatround/platform/database';
import type { Jobs } from '@heatround/platform/jobs';
import type { Logger } from '@heatround/platform/log';

export const root = resolve(import.meta.dirname, '../../..');

/** Everything a part may use; each takes what it needs. */
export interface LaunchDeps {
  config: Config;
  /** The installation's secret, given or kept in the data folder. */
  secret: string;
  log: Logger;
  clock: Clock;
  database: Database;
  accounts: Accounts;
  jobs: Jobs;
  /** The built web client, or null when it is not there. */
  webFolder: string | null;
}

export interface SignIn {
  /** Who this is, such as "Technician Jonas Weber". */
  name: string;
  email: string;
  password: string;
}

/** `packages/services/src/demo/index.ts` */
interface DemoPart {
  /** Fills an installation without any organisation; answers with the demo's sign-ins whenever the demo is there, else with none. */
  loadDemoIfEmpty(deps: LaunchDeps): Promise<readonly SignIn[]>;
}

/** Loads the demo organisation where the checkout has it and the installation is empty. */
export async function loadDemoIfEmpty(deps: LaunchDeps): Promise<readonly SignIn[]> {
  const file = join(root, 'packages/services/src/demo/index.ts');
  if (!existsSync(file)) return [];
  const demo = (await import(pathToFileURL(file).href)) as DemoPart;
  return demo.loadDemoIfEmpty(deps);
}
