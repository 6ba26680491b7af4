import { type Answer, call } from '../../client/index.ts';
import type { OpenFault } from '../../outbox/index.ts';

/** Open faults of the organisation, the hundred that moved last; throws without signal. */
export async function openFaults(): Promise<OpenFault[]> {
  return toFaults(await call('listFindings', { query: { which: 'all', pageSize: 100 } }));
}

/** The same at one point. */
export async function openFaultsAt(pointId: string): Promise<OpenFault[]> {
  return toFaults(await call('listFindings', { query: { which: 'all', pointId, pageSize: 20 } }));
}

const toFaults = ({ findings }: Answer<'listFindings'>): OpenFault[] =>
  findings
    .filter(({ state, finding }) => finding.ended === null && state !== 'turned-down' && state !== 'same-as')
    .map(({ pointId, number, reportedAt, reportedBy, state, orderNumber }) => ({
      pointId,
      number,
      reportedAt,
      reportedBy,
      state,
      orderNumber,
    }));
