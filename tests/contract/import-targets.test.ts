import { IMPORT_KINDS, IMPORT_TARGETS, type ImportTargetWords } from '@heatround/contract';
import { TARGETS } from '@heatround/services/imports';
import { expect, test } from 'vitest';

test.each(IMPORT_KINDS)('every target of a file of %s has its words for the screen, and there are no others', (kind) => {
  const table: Readonly<Record<string, ImportTargetWords>> = IMPORT_TARGETS[kind];
  expect(Object.keys(table).sort()).toEqual([...TARGETS[kind]].sort());
  const labels = Object.values(table).map(({ label }) => label);
  expect(new Set(labels).size).toBe(labels.length);
  for (const { label, help } of Object.values(table)) {
    expect(label).toMatch(/^[A-Z]/);
    expect(help).toMatch(/[.?…]$/);
  }
});
