/** Who may import whom. The table is the architecture; the check fails when it looked at no files. */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { parseSync } from 'oxc-parser';
import { describe, expect, it } from 'vitest';

const root = resolve(import.meta.dirname, '../..');

/** Areas of services from left to right: an area may use those to its left. */
const AREAS = [
  'deps',
  'identity',
  'people',
  'limits',
  'assets',
  'readings',
  'trends',
  'rounds',
  'repairs',
  'pages',
  'submissions',
  'hand-over',
  'mail',
  'imports',
  'exports',
  'demo',
  'reactions',
];

interface Rule {
  readonly own: readonly string[];
  /** Outside packages and node: modules; null: any. */
  readonly outside: readonly string[] | null;
}
const RULES: Readonly<Record<string, Rule>> = {
  // Only pure, browser-safe packages; this one counts recurrences on a clock without changes.
  'packages/domain': { own: [], outside: ['rrule-temporal'] },
  'packages/contract': { own: ['domain'], outside: ['zod'] },
  'packages/platform': { own: ['domain'], outside: null },
  'packages/services': {
    own: ['domain', 'platform', 'services'],
    outside: ['zod', 'csv-parse', 'write-excel-file/node', 'node:crypto', 'node:stream'],
  },
  'apps/api': {
    own: ['domain', 'contract', 'services', 'platform'],
    outside: ['zod', 'fastify', 'fastify-plugin', 'fastify-type-provider-zod', '@fastify/', 'node:'],
  },
  'apps/worker': { own: ['domain', 'services', 'platform'], outside: ['node:'] },
  'apps/launch': { own: ['domain', 'services', 'platform'], outside: ['node:', 'esbuild'] },
  'apps/web': { own: ['domain', 'contract'], outside: ['preact', 'dexie', 'virtual:', 'fflate', 'read-excel-file/universal'] },
};
/** Platform's database client and the queue stay behind their doors. */
const NEVER = ['@prisma/client', 'bullmq', 'ioredis', 'pg'];

function sources(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    if (['node_modules', 'dist', 'generated', 'public'].includes(name)) return [];
    if (statSync(path).isDirectory()) return sources(path);
    return /\.(ts|tsx|mjs)$/.test(name) ? [path] : [];
  });
}

function importsOf(path: string): string[] {
  const { module } = parseSync(path, readFileSync(path, 'utf8'));
  const text = readFileSync(path, 'utf8');
  return [
    ...module.staticImports.map((one) => one.moduleRequest.value),
    ...module.staticExports.flatMap((one) =>
      one.entries.flatMap((entry) => (entry.moduleRequest ? [entry.moduleRequest.value] : [])),
    ),
    ...module.dynamicImports.map((one) =>
      text.slice(one.moduleRequest.start, one.moduleRequest.end).replace(/^['"`]|['"`]$/g, ''),
    ),
  ];
}

/** Why an import is not allowed, or null. */
function complaint(home: string, file: string, wanted: string): string | null {
  const rule = RULES[home]!;
  if (wanted.startsWith('.')) {
    const target = relative(root, resolve(file, '..', wanted));
    const inside = target.startsWith(`${home}/`);
    if (inside && home === 'packages/services') return areaComplaint(areaOf(relative(root, file)), areaOf(target), target);
    // The launcher puts the parts together and opens the built-in database below the platform's doors.
    const launcher = home === 'apps/launch' && /^(packages\/platform|apps\/(api|worker))\//.test(target);
    return inside || launcher ? null : `reaches out of ${home}`;
  }
  const own = /^@heatround\/([^/]+)(?:\/([^/]+))?(\/.*)?$/.exec(wanted);
  if (own) {
    const [, name, area, deeper] = own;
    if (!rule.own.includes(name!)) return `${home} may not use ${name}`;
    if (deeper) return 'goes past a door';
    if (home === 'packages/services' && name === 'services')
      return areaComplaint(areaOf(relative(root, file)), area!, 'index.ts');
    return null;
  }
  if (home !== 'packages/platform' && NEVER.some((one) => wanted === one || wanted.startsWith(`${one}/`)))
    return 'belongs behind the platform';
  if (
    rule.outside === null ||
    rule.outside.some((one) => wanted === one || wanted.startsWith(one.endsWith('/') || one.endsWith(':') ? one : `${one}/`))
  )
    return null;
  return `${home} may not use ${wanted}`;
}

const areaOf = (path: string) => path.split('/')[3] ?? '';
function areaComplaint(from: string, to: string, target: string): string | null {
  if (from === to) return null;
  if (!AREAS.includes(from) || !AREAS.includes(to)) return `area ${AREAS.includes(from) ? to : from} is not in the table`;
  if (AREAS.indexOf(to) > AREAS.indexOf(from)) return `${from} may not use ${to}, which stands to its right`;
  return target.endsWith('index.ts') ? null : `goes past the index of ${to}`;
}

describe('boundaries', () => {
  const files = Object.keys(RULES).flatMap((home) => sources(join(root, home, 'src')).map((file) => ({ home, file })));

  it('looks at the files of every package', () => {
    for (const home of Object.keys(RULES)) expect(files.filter((one) => one.home === home).length, home).toBeGreaterThan(0);
    expect(files.length).toBeGreaterThan(80);
  });

  it('every import follows the table', () => {
    const wrong = files.flatMap(({ home, file }) =>
      importsOf(file).flatMap((wanted) => {
        const why = complaint(home, file, wanted);
        return why ? [`${relative(root, file)} → ${wanted}: ${why}`] : [];
      }),
    );
    expect(wrong).toEqual([]);
  });

  it('notices an import that does not', () => {
    const at = (path: string) => join(root, path);
    expect(complaint('packages/domain', at('packages/domain/src/units/x.ts'), 'node:fs')).not.toBeNull();
    expect(complaint('apps/web', at('apps/web/src/x.ts'), '@heatround/services/readings')).not.toBeNull();
    expect(complaint('packages/services', at('packages/services/src/limits/index.ts'), '../trends/index.ts')).not.toBeNull();
    expect(complaint('packages/services', at('packages/services/src/trends/sweep.ts'), '../readings/read.ts')).not.toBeNull();
    expect(complaint('packages/services', at('packages/services/src/trends/sweep.ts'), 'bullmq')).not.toBeNull();
    expect(complaint('packages/services', at('packages/services/src/trends/sweep.ts'), '../readings/index.ts')).toBeNull();
  });

  it('the domain package reads no clock, no randomness, no process and no network', () => {
    const banned = /\b(Date\.now|Math\.random|process\.|globalThis\.|fetch\(|new Date\(\))/;
    const found = sources(join(root, 'packages/domain/src')).flatMap((file) =>
      readFileSync(file, 'utf8')
        .split('\n')
        .flatMap((line, i) =>
          banned.test(line) && !/^\s*(\*|\/\/|\/\*)/.test(line) ? [`${relative(root, file)}:${i + 1} ${line.trim()}`] : [],
        ),
    );
    expect(found).toEqual([]);
  });
});
