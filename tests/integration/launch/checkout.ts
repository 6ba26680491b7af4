/** A copy of the work tree to start the service from, and the processes started from it. */
import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';

const source = resolve(import.meta.dirname, '../../..');

/** The files git knows, as they are in the work tree, with the installed packages linked in; what is built already is copied, to save time. */
export function copyCheckout(): { folder: string; remove(): void } {
  const folder = mkdtempSync(join(tmpdir(), 'heatround-checkout-'));
  chmodSync(folder, 0o755);
  const files = execFileSync('git', ['ls-files', '-z'], { cwd: source, encoding: 'utf8' });
  const built = ['packages/platform/src/database/generated', 'apps/web/dist', 'apps/launch/dist'];
  for (const file of [...files.split('\0').filter(Boolean), ...built]) {
    if (!existsSync(join(source, file))) continue;
    mkdirSync(dirname(join(folder, file)), { recursive: true });
    cpSync(join(source, file), join(folder, file), { recursive: true });
  }
  mkdirSync(join(folder, 'node_modules'));
  for (const name of readdirSync(join(source, 'node_modules'))) {
    const from = join(source, 'node_modules', name);
    const to = join(folder, 'node_modules', name);
    // Our own packages are links relative to the checkout: copied, they lead into the copy.
    if (name === '@heatround') cpSync(from, to, { recursive: true, verbatimSymlinks: true });
    else if (name.startsWith('.')) cpSync(from, to, { recursive: true, verbatimSymlinks: true });
    else symlinkSync(from, to);
  }
  for (const workspace of ['apps', 'packages'].flatMap((at) => readdirSync(join(folder, at)).map((name) => join(at, name)))) {
    const nested = join(source, workspace, 'node_modules');
    if (existsSync(nested)) symlinkSync(nested, join(folder, workspace, 'node_modules'));
  }
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}

export async function freePort(): Promise<number> {
  return new Promise((done) => {
    const probe = createServer().listen(0, '127.0.0.1', () => {
      const { port } = probe.address() as { port: number };
      probe.close(() => done(port));
    });
  });
}

export interface Started {
  child: ChildProcess;
  /** Everything said so far, on both streams. */
  said(): string;
  /** The exit code; a signal's name when it died by one. */
  ended: Promise<number | string>;
}

/** Starts a command in a process group of its own, as a terminal would; as somebody else, when a user is given. */
export function start(
  command: string,
  args: string[],
  folder: string,
  env: Record<string, string>,
  user: { uid?: number; gid?: number } = {},
): Started {
  const { NODE_OPTIONS: _, VITEST: __, ...inherited } = process.env;
  const child = spawn(command, args, {
    cwd: folder,
    detached: true,
    ...user,
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...inherited, NODE_ENV: '', LOG_LEVEL: 'warn', HEATROUND_DEMO: 'never', ...env },
  });
  let text = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream?.setEncoding('utf8').on('data', (part: string) => {
      text += part;
    });
  }
  const ended = new Promise<number | string>((done) => child.once('close', (code, signal) => done(code ?? signal ?? 'unknown')));
  return { child, said: () => text, ended };
}

/** Processes whose command line names the folder; Linux only, elsewhere none are found. */
export function processesOf(folder: string): string[] {
  if (!existsSync('/proc/self/cmdline')) return [];
  return readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name) && Number(name) !== process.pid)
    .map((name) => {
      try {
        return readFileSync(`/proc/${name}/cmdline`, 'utf8').replaceAll('\0', ' ');
      } catch {
        return '';
      }
    })
    .filter((command) => command.includes(folder));
}
