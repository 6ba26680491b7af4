import type { Accounts } from '@heatround/platform/accounts';
import type { Mailer } from '@heatround/platform/mail';
import type { Deps } from '../deps/index.ts';

/** What writing to people needs beside the database. */
export interface MailContext extends Deps {
  readonly accounts: Pick<Accounts, 'statesOf' | 'tokens'>;
  readonly mailer: Mailer;
  /** The address of the service as people type it, without a slash at the end. */
  readonly publicUrl: string;
}
