/** Finds a Chromium for the browser tests: one that is installed, or one that npm can bring. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root, run } from './setup.mjs';

const INSTALLED = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
];
const FROM_NPM = '@sparticuz/chromium@153.0.0';

/**
 * @param {(line: string) => void} say shows a line of progress.
 * @returns {Promise<{ path: string | null, remedy: string }>} a program that runs here, or the command that helps.
 */
export async function findBrowser(say) {
  const given = process.env.HEATROUND_CHROMIUM || process.env.CHROMIUM;
  const candidates = given ? [given] : INSTALLED;
  const path = candidates.find(runs) ?? (given ? null : await fromNpm(say));
  const remedy = given
    ? `the program ${given} does not run.`
    : 'install Chromium (Debian: "apt-get install chromium"), or name one with CHROMIUM=/path/to/chromium.';
  return { path, remedy };
}

function runs(path) {
  return existsSync(path) && spawnSync(path, ['--version'], { stdio: 'ignore', timeout: 20_000 }).status === 0;
}

/** A build for Linux x64, kept in the data folder; it still needs some libraries of the system. */
async function fromNpm(say) {
  if (process.platform !== 'linux' || process.arch !== 'x64') return null;
  const folder = join(root, '.data/browser');
  if (!existsSync(join(folder, 'node_modules/@sparticuz/chromium'))) {
    say('Fetching a browser for the tests (66 MB) …');
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, 'package.json'), '{ "private": true }\n');
    const args = ['install', '--prefix', folder, '--no-audit', '--no-fund', '--no-save', '--loglevel=error', FROM_NPM];
    if (!(await run('npm', args, { quiet: true }))) return null;
  }
  const script = "import chromium from '@sparticuz/chromium'; console.log(await chromium.executablePath())";
  const asked = spawnSync(process.execPath, ['--input-type=module', '-e', script], { cwd: folder, encoding: 'utf8' });
  const path = asked.status === 0 ? asked.stdout.trim() : '';
  return path && runs(path) ? path : null;
}
