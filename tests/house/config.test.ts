import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { CONFIG_NAMES, describeConfig, loadConfig, StartRefusal } from '@heatround/platform/config';
import { expect, test } from 'vitest';

/** The settings of `.env.example`, in order. */
const example = readFileSync('.env.example', 'utf8')
  .split('\n')
  .filter((line) => /^[A-Z]/.test(line))
  .map((line) => [line.slice(0, line.indexOf('=')), line.slice(line.indexOf('=') + 1)] as const);

test('.env.example names every setting, and only settings', () => {
  expect(example.map(([name]) => name).sort()).toEqual([...CONFIG_NAMES].sort());
});

test('the values of .env.example work, and mean the same as no settings at all', () => {
  expect(loadConfig(Object.fromEntries(example))).toEqual(loadConfig({}));
});

test('everything that is wrong is said at once', () => {
  const wrong = { PORT: '70000', LOG_LEVEL: 'loud', DATABASE_URL: 'mysql://x', HEATROUND_SECRET: 'short', PUBLIC_URL: 'here' };
  expect(() => loadConfig(wrong)).toThrow(StartRefusal);
  try {
    loadConfig(wrong);
  } catch (error) {
    for (const name of Object.keys(wrong)) expect((error as Error).message).toContain(`  ${name} `);
  }
});

test('the description of the settings holds no secret and no password', () => {
  const secret = 'a secret of more than thirty-two characters';
  const config = loadConfig({
    HEATROUND_SECRET: secret,
    DATABASE_URL: 'postgresql://owner:hidden@db/heatround?password=hidden',
    REDIS_URL: 'redis://:hidden@queue:6379',
  });
  const shown = JSON.stringify(describeConfig(config));
  expect(shown).not.toContain('hidden');
  expect(shown).not.toContain(secret);
});

test('only the entry files read the environment', () => {
  const files = ['apps', 'packages'].flatMap((top) =>
    readdirSync(top).flatMap((name) =>
      readdirSync(join(top, name, 'src'), { recursive: true, encoding: 'utf8' }).map((file) => join(top, name, 'src', file)),
    ),
  );
  const sources = files.filter((file) => /\.(ts|tsx|mjs)$/.test(file) && !file.includes('/generated/'));
  expect(sources.length).toBeGreaterThan(20);
  const allowed = (file: string) => file.startsWith('apps/launch/src/') || /^apps\/[^/]+\/src\/main\.tsx?$/.test(file);
  const reading = sources.filter((file) => !allowed(file) && /process\s*\.\s*env\b/.test(readFileSync(file, 'utf8')));
  expect(reading).toEqual([]);
});
