/**
 * `npm start`: makes the checkout ready, then runs the service in this same process, so that Ctrl-C has one process to end. Plain
 * JavaScript, because nothing is installed yet when it runs first.
 */
import { watchAncestors } from './ancestors.mjs';
import { checkNode, endChildren, SetupRefusal, setUp } from './setup.mjs';

// A terminal that went away must not make the last lines of a clean end fail.
for (const stream of [process.stdout, process.stderr]) stream.on('error', () => {});

const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'];
const endDuringSetup = () => {
  endChildren();
  process.exit(0);
};
// npm may die without telling: whoever started us through npm wants the service to end with it.
const isOrphaned = process.env.npm_lifecycle_event === undefined ? () => false : watchAncestors();

try {
  checkNode(process.versions.node);
  for (const signal of signals) process.on(signal, endDuringSetup);
  const orphanWatch = setInterval(() => isOrphaned() && endDuringSetup(), 300);
  await setUp((line) => console.log(line));
  clearInterval(orphanWatch);
  process.setSourceMapsEnabled(true);
  const { launch } = await import('../dist/service.mjs');
  for (const signal of signals) process.off(signal, endDuringSetup);
  process.exitCode = await launch({ env: process.env, isOrphaned });
  process.exit();
} catch (error) {
  console.error(error instanceof SetupRefusal ? error.message : error);
  process.exit(1);
}
