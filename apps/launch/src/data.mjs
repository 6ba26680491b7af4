/** `npm run backup` and `npm run restore`: makes the checkout ready, then runs the command. */
import { checkNode, SetupRefusal, setUp } from './setup.mjs';

try {
  checkNode(process.versions.node);
  await setUp((line) => console.log(line));
  const { runData } = await import('../dist/service.mjs');
  process.exitCode = await runData(process.argv[2], process.argv[3], process.env);
  process.exit();
} catch (error) {
  console.error(error instanceof SetupRefusal ? error.message : error);
  process.exit(1);
}
