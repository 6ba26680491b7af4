import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { defineConfig, type Plugin } from 'vite';

/**
 * Writes into the service worker which files make up the shell, each with a revision unless its name already carries one.
 * All that is needed of a much larger plug-in, whose several hundred packages every first start would have to install.
 */
function shellFiles(publicFolder: string): Plugin {
  const revisionOf = (content: string | Uint8Array) => createHash('sha256').update(content).digest('hex').slice(0, 12);
  // Counting the dates of a route is work for a desk with signal, and its library weighs more than all the rest of a phone.
  const isShell = (name: string) =>
    /\.(js|css|html|svg)$/.test(name) && !/^(service-worker|assets\/next-dates-.*)\.js$/.test(name);
  return {
    name: 'shell-files',
    apply: 'build',
    enforce: 'post',
    generateBundle(_options, bundle) {
      const built = Object.values(bundle)
        .filter(({ fileName }) => isShell(fileName))
        .map((file) => ({
          url: file.fileName,
          revision: /-[\w-]{8}\.\w+$/.test(file.fileName) ? null : revisionOf(file.type === 'asset' ? file.source : file.code),
        }));
      const copied = readdirSync(publicFolder, { recursive: true, encoding: 'utf8' })
        .filter(isShell)
        .map((name) => ({ url: relative('.', name), revision: revisionOf(readFileSync(join(publicFolder, name))) }));
      const worker = bundle['service-worker.js'];
      if (worker?.type !== 'chunk') throw new Error('the service worker was not built');
      worker.code = worker.code.replace('self.__SHELL_FILES__', JSON.stringify([...built, ...copied]));
    },
  };
}

/** `npm run build` makes apps/web/dist, which the API serves; `vite apps/web` forwards /api to a running service. */
export default defineConfig({
  root: import.meta.dirname,
  plugins: [shellFiles(join(import.meta.dirname, 'public'))],
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  server: { port: 5173, proxy: { '/api': process.env.HEATROUND_API ?? 'http://127.0.0.1:4600' } },
  build: {
    target: 'es2022',
    outDir: 'dist',
    emptyOutDir: true,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: {
        index: join(import.meta.dirname, 'index.html'),
        'service-worker': join(import.meta.dirname, 'src/service-worker.ts'),
      },
      output: { entryFileNames: ({ name }) => (name === 'service-worker' ? 'service-worker.js' : 'assets/[name]-[hash].js') },
      treeshake: { moduleSideEffects: (id) => !/packages\/(domain|contract)\//.test(id) },
    },
  },
});
