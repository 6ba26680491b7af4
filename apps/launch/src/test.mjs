/**
 * `npm test`: makes the checkout ready, then checks types, style and behaviour, and closes with one line "N passed, N failed". What
 * follows the command narrows the tests, as in `npm test -- tests/unit`. In CI nothing may be skipped.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { findBrowser } from './browser.mjs';
import { checkNode, endChildren, root, run, SetupRefusal, setUp } from './setup.mjs';

const inCi = Boolean(process.env.CI);
const count = { passed: 0, failed: 0, skipped: 0 };

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) {
  process.on(signal, () => {
    endChildren();
    setTimeout(() => process.exit(1), 8_000); // normally the ended run closes by itself, with its database
  });
}

try {
  checkNode(process.versions.node);
  await setUp((line) => console.log(line));
  await check('types', ['node_modules/typescript/bin/tsc', '--noEmit', '-p', 'tsconfig.json']);
  await check('style', ['node_modules/@biomejs/biome/bin/biome', 'check', '.']);
  await runTests();
} catch (error) {
  console.error(error instanceof SetupRefusal ? error.message : error);
  count.failed += 1;
}
const skipped = count.skipped > 0 ? `, ${count.skipped} skipped` : '';
console.log(`${count.passed} passed, ${count.failed} failed${skipped}`);
process.exit(count.failed > 0 ? 1 : 0);

/** One of the checks that are no tests; each counts as one. */
async function check(name, args) {
  const ok = await run(process.execPath, args, { quiet: true });
  console.log(`${ok ? '✓' : '✗'} ${name}`);
  if (ok) count.passed += 1;
  else count.failed += 1;
}

async function runTests() {
  const browser = await findBrowser((line) => console.log(line));
  if (!browser.path) {
    console.log(`Browser tests are skipped: ${browser.remedy}`);
    if (inCi) {
      console.log('In CI they must run.');
      count.failed += 1;
    }
  }
  const folder = mkdtempSync(join(tmpdir(), 'heatround-results-'));
  const file = join(folder, 'results.json');
  const { NODE_ENV: _, ...inherited } = process.env;
  const env = { ...inherited, ...(browser.path ? { HEATROUND_CHROMIUM: browser.path } : {}) };
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${file}`];
  try {
    const ok = await run(process.execPath, ['node_modules/vitest/vitest.mjs', 'run', ...reporters, ...process.argv.slice(2)], {
      env,
    });
    addUp(readResults(file), ok);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function readResults(file) {
  try {
    return JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    return null; // vitest ended before it could write
  }
}

function addUp(results, ok) {
  const files = results?.testResults ?? [];
  const tests = files.flatMap((file) => file.assertionResults.map((test) => ({ ...test, file: relative(root, file.name) })));
  const of = (...states) => tests.filter((test) => states.includes(test.status));
  const failed = of('failed').length + files.filter((file) => file.status === 'failed' && !file.assertionResults.length).length;
  const skipped = of('pending', 'skipped', 'todo', 'disabled');
  for (const test of skipped) console.log(`skipped: ${test.file}: ${test.fullName}`);
  if (tests.length === 0) console.log('No test was run.');
  count.passed += of('passed').length;
  // An error outside any test fails the run as well.
  count.failed += failed === 0 && (!ok || tests.length === 0) ? 1 : failed;
  if (inCi && skipped.length > 0) {
    console.log('In CI a skipped test counts as failed.');
    count.failed += skipped.length;
  } else {
    count.skipped += skipped.length;
  }
}
