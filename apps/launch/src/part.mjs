/**
 * Runs one part of the service in this process: `node apps/launch/src/part.mjs migrate|api|worker|web`. For an installation that was
 * put together before ("npm run bundle", "npm run build"); nothing is installed, built or written here.
 */
for (const stream of [process.stdout, process.stderr]) stream.on('error', () => {});

const part = process.argv[2] ?? '';
process.setSourceMapsEnabled(true);
const { launch } = await import('../dist/service.mjs');
process.exitCode = await launch({ env: process.env, isOrphaned: () => false, part });
process.exit();
