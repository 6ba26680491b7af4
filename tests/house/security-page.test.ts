/** The table of security requirements names only what there is, and no row without a state. */
import { existsSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const rows = readFileSync('SECURITY.md', 'utf8')
  .split('\n')
  .filter((line) => /^\| \d/.test(line))
  .map((line) => line.split('|').map((cell) => cell.trim()));

test('every row has a state, and says where or why', () => {
  expect(rows.length).toBeGreaterThan(40);
  for (const [, number, subject, state, where] of rows) {
    expect(['met', 'not applicable', 'open'], number).toContain(state);
    expect(subject!.length, number).toBeGreaterThan(9);
    expect(where!.length, number).toBeGreaterThan(9);
  }
});

test('every file it names exists', () => {
  const named = rows.flatMap((row) =>
    [...row.join(' ').matchAll(/`((?:tests|packages|apps)\/[^` ]+)`/g)].map(([, path]) => path!),
  );
  expect(named.length).toBeGreaterThan(30);
  expect([...new Set(named)].filter((path) => !existsSync(path))).toEqual([]);
});
