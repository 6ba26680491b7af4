import { defineConfig } from 'vitest/config';

const shared = { pool: 'forks', isolate: false, testTimeout: 20_000, hookTimeout: 60_000 } as const;

// Two projects, so that unit and house tests start at once and only the others wait for a database. A project's globalSetup runs only
// when one of its files is selected.
export default defineConfig({
  test: {
    maxWorkers: 2,
    passWithNoTests: false,
    projects: [
      { test: { ...shared, name: 'plain', include: ['tests/unit/**/*.test.{ts,tsx}', 'tests/house/**/*.test.ts'] } },
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
