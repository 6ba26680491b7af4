import { defineConfig } from 'vitest/config';

// Files of one worker share what they import: importing is a quarter of the time of a run.
const shared = {
  pool: 'forks',
  isolate: false,
  testTimeout: 20_000,
  hookTimeout: 60_000,
  expect: { poll: { timeout: 10_000 } },
} as const;
/** Puts another module in the place of one that others have loaded. */
const ALONE = 'tests/unit/domain/projection/worked-cases.test.ts';

// Unit and house tests are a project of their own, so that they start at once and only the others wait for a database. A project's
// globalSetup runs only when one of its files is selected.
export default defineConfig({
  test: {
    maxWorkers: 2,
    passWithNoTests: false,
    projects: [
      {
        test: {
          ...shared,
          name: 'plain',
          include: ['tests/unit/**/*.test.{ts,tsx}', 'tests/house/**/*.test.ts'],
          exclude: [ALONE],
        },
      },
      { test: { ...shared, name: 'alone', isolate: true, include: [ALONE] } },
      {
        test: {
          ...shared,
          name: 'service',
          include: ['tests/{integration,contract,e2e}/**/*.test.{ts,tsx}'],
          globalSetup: ['tests/support/database.ts'],
        },
      },
    ],
  },
});
