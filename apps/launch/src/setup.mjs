/**
 * Makes a fresh checkout ready: packages installed, database client generated, service and web client built, each only when its sources changed.
 * Plain JavaScript without dependencies, because nothing is installed yet when it runs first.
 */
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

export const root = resolve(import.meta.dirname, '../../..');

/** A sentence for the person at the keyboard, shown without a stack. */
export class SetupRefusal extends Error {}

/** @type {Set<import('node:child_process').ChildProcess>} */
const children = new Set();

/** Ends what the setup is running at this moment. */
export function endChildren() {
  for (const child of children) child.kill('SIGTERM');
}

/**
 * Does everything that is missing.
 *
 * @param {(line: string) => void} say shows a line of progress.
 * @param {{ web?: boolean }} options whether service and web client are built as well.
 */
export async function setUp(say, { web = true } = {}) {
  if (isReady(web)) return;
  const release = await takeTurn(say);
  try {
    if (!modulesAreCurrent()) await installModules(say);
    if (!clientIsCurrent()) await generateClient(say);
    if (web && !serviceIsCurrent()) await bundleService(say);
    if (web && !webIsCurrent()) await buildWeb(say);
  } finally {
    release();
  }
}

/**
 * Refuses a Node.js that cannot run the service; called before anything else.
 *
 * @param {string} version such as `20.19.0`.
 */
export function checkNode(version) {
  const [major = 0, minor = 0] = version.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  throw new SetupRefusal(`Heatround needs Node.js 20.19 or newer and this is ${version}: install a newer one from nodejs.org.`);
}

/**
 * Runs a program to its end.
 *
 * @param {string} command
 * @param {string[]} args
 * @param {{ quiet?: boolean, env?: NodeJS.ProcessEnv }} options quiet: output is shown only when the program fails.
 * @returns {Promise<boolean>} whether it ended well.
 */
export function run(command, args, { quiet = false, env = process.env } = {}) {
  return new Promise((done) => {
    const child = spawn(command, args, {
      cwd: root,
      env,
      stdio: quiet ? ['ignore', 'pipe', 'pipe'] : ['ignore', 'inherit', 'inherit'],
    });
    children.add(child);
    let output = '';
    for (const stream of [child.stdout, child.stderr]) {
      stream?.setEncoding('utf8').on('data', (text) => {
        output += text;
      });
    }
    child.once('error', (error) => {
      children.delete(child);
      console.error(`${command}: ${error.message}`);
      done(false);
    });
    child.once('close', (code) => {
      children.delete(child);
      if (quiet && code !== 0) process.stderr.write(output);
      done(code === 0);
    });
  });
}

/** @param {boolean} web */
function isReady(web) {
  return modulesAreCurrent() && clientIsCurrent() && (!web || (serviceIsCurrent() && webIsCurrent()));
}

/** Two setups in one checkout take turns; a turn whose process is gone is over. */
async function takeTurn(say) {
  const folder = join(root, '.data');
  const file = join(folder, 'setup.pid');
  mkdirSync(folder, { recursive: true, mode: 0o711 });
  for (let told = false; ; ) {
    try {
      writeFileSync(file, String(process.pid), { flag: 'wx' });
      return () => rmSync(file, { force: true });
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
    }
    const pid = Number(read(file));
    if (!pid || !isAlive(pid)) rmSync(file, { force: true });
    else if (!told) {
      told = true;
      say(`Waiting for another setup in this folder (process ${pid}) …`);
    }
    await new Promise((done) => setTimeout(done, 200));
  }
}

function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

// ── packages ───────────────────────────────────────────────────────────────────────────────────────────────────────────────────────

const modulesStamp = join(root, 'node_modules/.installed-from');

function modulesAreCurrent() {
  const wanted = hashOf([join(root, 'package-lock.json')]);
  if (read(modulesStamp) === wanted && existsSync(join(root, 'node_modules/.package-lock.json'))) return true;
  if (!installedMatchesLock()) return false;
  writeFileSync(modulesStamp, wanted);
  return true;
}

/** An install made by hand counts when it holds what the lock file asks for; packages for other machines may be missing. */
function installedMatchesLock() {
  const installed = read(join(root, 'node_modules/.package-lock.json'));
  if (!installed) return false;
  const present = JSON.parse(installed).packages;
  const wanted = Object.entries(JSON.parse(read(join(root, 'package-lock.json'))).packages);
  return wanted.every(([path, entry]) => {
    if (!path.includes('node_modules/')) return true;
    const found = present[path];
    return found ? found.version === entry.version : Boolean(entry.optional || entry.peer || entry.devOptional);
  });
}

async function installModules(say) {
  say('Installing packages (up to a minute) …');
  const flags = ['ci', '--include=dev', '--include=optional', '--no-audit', '--no-fund', '--loglevel=error'];
  const npm = process.env.npm_execpath;
  const ok = npm?.endsWith('.js')
    ? await run(process.execPath, [npm, ...flags], { quiet: true })
    : await run('npm', flags, { quiet: true });
  if (!ok)
    throw new SetupRefusal('The packages could not be installed: see the lines above; the npm registry must be reachable.');
  writeFileSync(modulesStamp, hashOf([join(root, 'package-lock.json')]));
}

// ── database client ────────────────────────────────────────────────────────────────────────────────────────────────────────────────

const generated = join(root, 'packages/platform/src/database/generated');
const clientSources = () => hashOf([join(root, 'prisma/schema.prisma'), join(root, 'node_modules/prisma/package.json')]);

function clientIsCurrent() {
  return read(join(generated, '.generated-from')) === clientSources() && existsSync(join(generated, 'client.ts'));
}

async function generateClient(say) {
  say('Generating the database client …');
  const env = { ...process.env, CHECKPOINT_DISABLE: '1', PRISMA_HIDE_UPDATE_MESSAGE: '1' };
  const ok = await run(process.execPath, ['node_modules/prisma/build/index.js', 'generate'], { quiet: true, env });
  if (!ok) throw new SetupRefusal('The database client could not be generated from prisma/schema.prisma: see the lines above.');
  writeFileSync(join(generated, '.generated-from'), clientSources());
}

// ── service ────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────

const serviceStamp = join(root, 'apps/launch/dist/.built-from');

function serviceSources() {
  const own = [
    'apps/api',
    'apps/worker',
    'apps/launch',
    'packages/domain',
    'packages/contract',
    'packages/services',
    'packages/platform',
  ];
  return hashOf([...own.flatMap((folder) => filesOf(join(root, folder))), join(root, 'package-lock.json')]);
}

const serviceIsCurrent = () => read(serviceStamp) === serviceSources() && existsSync(join(root, 'apps/launch/dist/service.mjs'));

async function bundleService(say) {
  say('Putting the service together …');
  const built = serviceSources();
  const ok = await run(process.execPath, ['apps/launch/src/bundle.mjs'], { quiet: true });
  if (!ok) throw new SetupRefusal('The service could not be put together from its sources: see the lines above.');
  writeFileSync(serviceStamp, built);
}

// ── web client ─────────────────────────────────────────────────────────────────────────────────────────────────────────────────────

const web = join(root, 'apps/web');

function webSources() {
  const folders = [web, join(root, 'packages/domain/src'), join(root, 'packages/contract/src')];
  return hashOf([...folders.flatMap(filesOf), join(root, 'package-lock.json')]);
}

function webIsCurrent() {
  if (!existsSync(join(web, 'index.html'))) return true;
  return existsSync(join(web, 'dist/index.html')) && read(join(web, 'dist/.built-from')) === webSources();
}

async function buildWeb(say) {
  say('Building the web client …');
  const built = webSources();
  const ok = await run(process.execPath, ['node_modules/vite/bin/vite.js', 'build', 'apps/web', '--logLevel', 'warn'], {
    quiet: true,
  });
  if (!ok) throw new SetupRefusal('The web client could not be built: see the lines above.');
  writeFileSync(join(web, 'dist/.built-from'), built);
}

// ── files ──────────────────────────────────────────────────────────────────────────────────────────────────────────────────────────

function read(file) {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    return null;
  }
}

function filesOf(folder) {
  return readdirSync(folder, { withFileTypes: true })
    .filter((entry) => !['dist', 'node_modules'].includes(entry.name))
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => (entry.isDirectory() ? filesOf(join(folder, entry.name)) : [join(folder, entry.name)]));
}

function hashOf(files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(`${file.slice(root.length)}\0${read(file) ?? ''}\0`);
  return hash.digest('hex');
}
