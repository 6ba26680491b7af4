/** Every exported function of the packages says what it does; every folder's index says what it hides. */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { parseSync } from 'oxc-parser';
import { expect, it } from 'vitest';

const root = resolve(import.meta.dirname, '../..');
const PACKAGES = ['domain', 'contract', 'services', 'platform'].map((name) => join(root, 'packages', name, 'src'));

function files(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    if (name === 'generated') return [];
    return statSync(path).isDirectory() ? files(path) : name.endsWith('.ts') ? [path] : [];
  });
}

/** Names of exported functions without a comment right before them. */
function undocumented(path: string): string[] {
  const text = readFileSync(path, 'utf8');
  const { program, comments } = parseSync(path, text);
  return program.body.flatMap((node) => {
    if (node.type !== 'ExportNamedDeclaration' || node.declaration?.type !== 'FunctionDeclaration') return [];
    const documented = comments.some(
      (one) => one.value.startsWith('*') && one.end <= node.start && text.slice(one.end, node.start).trim() === '',
    );
    return documented ? [] : [node.declaration.id?.name ?? '?'];
  });
}

it('every exported function of the packages carries a comment', () => {
  const all = PACKAGES.flatMap(files);
  expect(all.length).toBeGreaterThan(60);
  const missing = all.flatMap((path) => undocumented(path).map((name) => `${relative(root, path)}: ${name}`));
  expect(missing).toEqual([]);
});

it('every index says what its folder hides', () => {
  const silent = PACKAGES.flatMap(files)
    .filter((path) => path.endsWith('index.ts'))
    .filter((path) => !readFileSync(path, 'utf8').startsWith('/**'))
    .map((path) => relative(root, path));
  expect(silent).toEqual([]);
});
