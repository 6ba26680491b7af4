/** Uploading, checking and bringing in within a test: the jobs run at once, as the worker would run them. */
import { randomUUID } from 'node:crypto';
import { checkImportJob, runImportJob, undoImportJob } from '@heatround/services/imports';
import type { Harness, Person, Reply } from '../../support/harness.ts';

export interface TestFile {
  readonly id?: string;
  readonly kind?: 'readings' | 'work' | 'assets' | 'points' | 'limits' | 'routes';
  readonly text: string;
  readonly mapping?: object;
}

export async function upload(person: Person, { id = randomUUID(), kind = 'readings', text }: TestFile): Promise<Reply> {
  return person.call('startImport', { body: { id, kind, fileName: 'file.csv', text } });
}

export async function look(person: Person, importId: string) {
  return (await person.call('getImport', { params: { importId } })).body;
}

/** Uploads and checks; without a mapping the proposed one is used. Answers with the view after the check. */
export async function check(service: Harness, person: Person, file: TestFile) {
  const started = await upload(person, file);
  if (started.status !== 201) throw new Error(JSON.stringify(started.body));
  const importId = started.body.id as string;
  const mapping = file.mapping ?? started.body.proposal;
  const asked = await person.call('checkImport', { params: { importId }, body: { mapping } });
  if (asked.status !== 202) throw new Error(JSON.stringify(asked.body));
  await checkImportJob.handle(service.deps, { organisationId: person.scope.organisationId, importId });
  return look(person, importId);
}

/** Brings in a checked import and answers with the view afterwards. */
export async function run(service: Harness, person: Person, importId: string, skipBadRows = false) {
  const asked = await person.call('runImport', { params: { importId }, body: { skipBadRows } });
  if (asked.status !== 202) throw new Error(JSON.stringify(asked.body));
  await runImportJob.handle(service.deps, { organisationId: person.scope.organisationId, importId });
  return look(person, importId);
}

/** Takes an import back and answers with the view afterwards. */
export async function takeBack(service: Harness, person: Person, importId: string) {
  const asked = await person.call('undoImport', { params: { importId } });
  if (asked.status !== 202) throw new Error(JSON.stringify(asked.body));
  await undoImportJob.handle(service.deps, { organisationId: person.scope.organisationId, importId });
  return look(person, importId);
}

export const readingsOf = async (person: Person, pointId: string) =>
  (await person.call('listReadings', { params: { pointId }, query: { pageSize: '500' } })).body.readings;

/** The one limit of points that a file makes. */
export const makeMissing = (roomId: string, over: object = {}) => ({
  roomId,
  quantity: 'temperature',
  criticality: 'C',
  criticalityReason: 'brought in from a file',
  limit: 90,
  source: 'site practice',
  reason: 'figure of the old sheets',
  ...over,
});
