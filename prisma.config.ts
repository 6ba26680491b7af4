import { fileURLToPath } from 'node:url';
import { defineConfig } from 'prisma/config';

// Prisma's native schema engine does not come from the npm registry; ours does the same work on the engine's WebAssembly build.
process.env.PRISMA_SCHEMA_ENGINE_BINARY ??= fileURLToPath(
  new URL('./packages/platform/src/database/schema-engine.mjs', import.meta.url),
);

export default defineConfig({
  schema: 'prisma/schema.prisma',
  migrations: { path: 'prisma/migrations' },
  datasource: { url: process.env.DATABASE_URL ?? '' },
});
