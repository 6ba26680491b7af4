/** Refuses a try to sign in when too many have failed; see FailedTries of the accounts. */
import { Problem } from '@heatround/domain';
import type { Accounts } from '@heatround/platform/accounts';
import type { Clock } from '@heatround/platform/clock';

/** More tries than are allowed; says when the next one is. */
export class TooManyTries extends Problem {
  readonly retryAfterSeconds: number;
  constructor(retryAfterSeconds: number) {
    const minutes = Math.ceil(retryAfterSeconds / 60);
    super(
      'too-many-requests',
      `Too many failed tries with this e-mail from this address; try again in ${minutes === 1 ? 'a minute' : `${minutes} minutes`}.`,
    );
    this.retryAfterSeconds = retryAfterSeconds;
  }
}

/** @throws TooManyTries when as many have failed as are allowed; else this one counts as failed until it is cleared. */
export async function beginTry(
  { accounts, clock }: { readonly accounts: Accounts; readonly clock: Clock },
  address: string,
  email: string,
): Promise<{ succeeded(): Promise<void> }> {
  const waitMs = await accounts.failedTries.begin(address, email, clock.now());
  if (waitMs !== null) throw new TooManyTries(Math.ceil(waitMs / 1000));
  return { succeeded: () => accounts.failedTries.clear(address, email) };
}
