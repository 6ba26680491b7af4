import { createLog } from '@heatround/platform/log';
import { expect, test } from 'vitest';

const written = (write: (log: ReturnType<typeof createLog>) => void): string => {
  const lines: string[] = [];
  write(createLog('info', { write: (line: string) => void lines.push(line) }));
  return lines.join('');
};

test('a line is one JSON object with level, time, fields and message', () => {
  const line = JSON.parse(written((log) => log.child({ organisationId: 'o' }).info({ created: 2 }, 'readings submitted')));
  expect(line).toMatchObject({ level: 'info', organisationId: 'o', created: 2, msg: 'readings submitted' });
  expect(Date.parse(line.time)).toBeGreaterThan(0);
});

test('secrets and addresses in known fields are blanked', () => {
  const line = written((log) => log.info({ password: 'p4ss', request: { cookie: 'p4ss', email: 'p4ss' } }, 'signed in'));
  expect(line).not.toContain('p4ss');
});

test('what the database quotes of an entry is left out, its own names are not', () => {
  const error = new Error('invalid input syntax for type integer: "the key "K7" hangs\nbehind the door"');
  const line = written((log) => log.error({ err: error }, 'trouble'));
  for (const part of ['key', 'K7', 'door']) expect(line).not.toContain(part);
  expect(JSON.parse(line).err.message).toBe('invalid input syntax for type integer: "[blanked]"');
  const named = written((log) => log.error({ err: new Error('violates check constraint "fact_kind"') }, 'trouble'));
  expect(named).toContain('fact_kind');
});

test('what a library hangs on an error is left out', () => {
  const error = Object.assign(new Error('connection lost'), { code: '57P01', client: { secretKey: 'p4ss' } });
  const line = written((log) => log.error({ err: error }, 'trouble'));
  expect(line).not.toContain('p4ss');
  expect(JSON.parse(line).err).toMatchObject({ message: 'connection lost', code: '57P01' });
});
