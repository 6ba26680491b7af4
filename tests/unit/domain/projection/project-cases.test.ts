import { execFile } from 'node:child_process';
import { cp, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { GOLDEN, readGolden } from './cases.ts';

const run = promisify(execFile);
const REPOSITORY = fileURLToPath(new URL('../../', GOLDEN));
const SECRETS = ['truth', 'family', 'seasonal', 'rise_in_noise_sd', 'span_days'];
let root: string;
let file: string;

function projectCases(...args: string[]): Promise<{ stdout: string; stderr: string }> {
  const command = ['--import', 'tsx', 'packages/domain/bin/project-cases.ts', ...args];
  return run(process.execPath, command, { cwd: REPOSITORY, maxBuffer: 10_000_000 });
}

describe('the command project-cases', () => {
  beforeAll(async () => {
    root = await mkdtemp(join(tmpdir(), 'project-cases-'));
    file = join(root, 'simulated/cases.json');
    await cp(fileURLToPath(new URL('simulated', GOLDEN)), join(root, 'simulated'), { recursive: true });
  });
  afterAll(() => rm(root, { recursive: true, force: true }));

  it('answers every case, and nothing the scorer knows changes an answer', async () => {
    const { cases } = JSON.parse(readGolden('simulated/cases.json')) as { cases: Record<string, unknown>[] };
    const bare = cases.map((each) => Object.fromEntries(Object.entries(each).filter(([key]) => !SECRETS.includes(key))));
    const bareFile = join(root, 'bare.json');
    await writeFile(bareFile, JSON.stringify({ cases: bare }));
    const whole = await projectCases('--root', root, '--cases', file);
    const stripped = await projectCases('--root', root, '--cases', bareFile);
    expect(stripped.stdout).toBe(whole.stdout);
    const predictions = JSON.parse(whole.stdout) as Record<string, { status: string }>;
    expect(Object.keys(predictions)).toHaveLength(231);
    expect(predictions['S001@12']).toEqual({ status: 'no_projection', reason: 'no-usable-trend' });
  });

  it('takes several files, in one list or several', async () => {
    const one = { case_id: 'a', series: 'a.csv', limit: 80, direction: 'up', cut_date: '2026-02-10', repair_date: null };
    const rows = [50.2, 51.9, 54.4, 55.8, 58.1, 60].map((value, i) => `2026-01-${String(1 + 5 * i).padStart(2, '0')},${value}`);
    await writeFile(join(root, 'a.csv'), `date,value\n${rows.join('\n')}\n`);
    await writeFile(join(root, 'a.json'), JSON.stringify({ cases: [one] }));
    await writeFile(join(root, 'b.json'), JSON.stringify({ cases: [{ ...one, case_id: 'b' }] }));
    const list = await projectCases('--root', root, '--cases', `${join(root, 'a.json')},${join(root, 'b.json')}`);
    const flags = await projectCases('--root', root, '--cases', join(root, 'a.json'), '--cases', join(root, 'b.json'));
    expect(flags.stdout).toBe(list.stdout);
    const predictions = JSON.parse(list.stdout) as Record<string, object>;
    expect(Object.keys(predictions)).toEqual(['a', 'b']);
    expect(Object.keys(predictions.a ?? {})).toEqual(['status', 'p10', 'p50', 'p90']);
  });

  it('says what is wrong with its arguments', async () => {
    await expect(projectCases()).rejects.toMatchObject({ code: 1, stderr: expect.stringContaining('--root is missing') });
    await expect(projectCases('--root', root)).rejects.toMatchObject({ stderr: expect.stringContaining('--cases is missing') });
    await expect(projectCases('--root', root, '--cases', 'no.json')).rejects.toMatchObject({
      stderr: expect.stringContaining('cannot read no.json'),
    });
    await expect(projectCases('--root', root, '--file', 'x')).rejects.toMatchObject({
      stderr: expect.stringContaining('usage:'),
    });
  });
});
