/**
 * `npm run NAME -- …`: prepares the checkout, then runs the command of that name in `commands/`. In the container there is
 * no checkout to prepare: what was compiled is run as it is.
 */
import fs from 'node:fs';
import { prepareAndRun, root, run } from './prepare.mjs';

const compiledOnly = !fs.existsSync(`${root}/src/commands`);
const known = fs
  .readdirSync(compiledOnly ? `${root}/.build/src/commands` : `${root}/src/commands`)
  .flatMap((file) => /^([a-z-]+)\.[jt]s$/.exec(file)?.[1] ?? []);
const [name] = process.argv.splice(2, 1);
if (!known.includes(name)) {
  console.error(`There is no command "${name ?? ''}". Known: ${known.join(', ')}.`);
  process.exit(2);
}
await (compiledOnly ? run : prepareAndRun)(`src/commands/${name}.js`);
