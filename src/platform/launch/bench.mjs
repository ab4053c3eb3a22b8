/** `npm run bench:NAME -- …`: prepares the checkout, then runs the measurement of that name in `test/bench/`. */
import { NotReady, prepare, root } from './prepare.mjs';

const [name, ...args] = process.argv.slice(2);
try {
  await prepare();
  const { main } = await import(new URL(`file://${root}/.build/test/bench/${name}.js`).href);
  await main(args);
} catch (error) {
  console.error(error instanceof NotReady ? error.message : error);
  process.exitCode = 1;
}
