/** A device that has lost its session: only its token is left. */
import type { Harness, Person, Reply } from '../../support/harness.ts';

/** The token of a signed-in contact, for the person's organisation. */
export async function tokenOf(person: Person): Promise<string> {
  const me = await person.call('whoAmI');
  const found = me.body.handOver.find((one: { organisationId: string }) => one.organisationId === person.scope.organisationId);
  if (!found) throw new Error(`no token: ${JSON.stringify(me.body)}`);
  return found.token;
}

export const handOver = (service: Harness, token: string, facts: readonly unknown[]): Promise<Reply> =>
  service.call('handOver', { body: { token, facts } });

export const outcomes = (reply: Reply): string[] => reply.body.results.map((one: { outcome: string }) => one.outcome);

export const waitingFor = async (planner: Person) => (await planner.call('listHandedOver')).body.entries;

export const accept = (planner: Person, ids: readonly string[], more: object = {}): Promise<Reply> =>
  planner.call('acceptHandedOver', { body: { ids, ...more } });

export const turnAway = (planner: Person, ids: readonly string[], reason = 'taken at the wrong machine'): Promise<Reply> =>
  planner.call('turnAwayHandedOver', { body: { ids, reason } });
