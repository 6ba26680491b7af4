import preact from '@preact/preset-vite';
import { defineConfig } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';

/** `npm run build` makes apps/web/dist, which the API serves; `vite apps/web` forwards /api to a running service. */
export default defineConfig({
  root: import.meta.dirname,
  plugins: [
    preact(),
    VitePWA({
      strategies: 'injectManifest',
      srcDir: 'src',
      filename: 'service-worker.ts',
      registerType: 'autoUpdate',
      injectRegister: false,
      injectManifest: { globPatterns: ['**/*.{js,css,html,svg}'] },
      manifest: {
        name: 'Heatround',
        short_name: 'Heatround',
        description: 'Rounds, readings and what they say.',
        start_url: '/',
        display: 'standalone',
        background_color: '#FAFCFD',
        theme_color: '#FAFCFD',
        icons: [{ src: '/mark.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' }],
      },
    }),
  ],
  server: { port: 5173, proxy: { '/api': process.env.HEATROUND_API ?? 'http://127.0.0.1:4600' } },
  build: {
    target: 'es2022',
    outDir: 'dist',
    emptyOutDir: true,
    modulePreload: { polyfill: false },
    rolldownOptions: { treeshake: { moduleSideEffects: (id) => !/packages\/(domain|contract)\//.test(id) } },
  },
});
