/**
 * Puts the service's own TypeScript into one file, `apps/launch/dist/service.mjs`, so that a later start need not translate some
 * three hundred of its files. Packages stay where they are installed and are named by their place, since the file lies elsewhere.
 */
import { mkdirSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { build } from 'esbuild';

const root = resolve(import.meta.dirname, '../../..');
const outfile = join(root, 'apps/launch/dist/service.mjs');

/** Own packages go in; others are imported from where they were found for the file that asks. */
const packagesStay = {
  name: 'packages-stay',
  setup(run) {
    run.onResolve({ filter: /^[^./]/ }, async ({ path, importer, resolveDir, kind, pluginData }) => {
      if (pluginData === 'found' || path.startsWith('node:') || path.startsWith('@heatround/') || kind === 'entry-point')
        return null;
      const found = await run.resolve(path, { importer, resolveDir, kind, pluginData: 'found' });
      if (found.errors.length > 0 || found.external) return found;
      const place = relative(dirname(outfile), found.path).replaceAll('\\', '/');
      return { path: place.startsWith('.') ? place : `./${place}`, external: true };
    });
  },
};

mkdirSync(dirname(outfile), { recursive: true });
await build({
  entryPoints: [join(root, 'apps/launch/src/main.ts')],
  outfile,
  bundle: true,
  platform: 'node',
  format: 'esm',
  target: 'node20',
  conditions: ['node', 'import'],
  mainFields: ['main'],
  sourcemap: true,
  logLevel: 'warning',
  plugins: [packagesStay],
  banner: { js: `// Made by ${relative(root, import.meta.filename)}; the sources stand in apps and packages.` },
});
