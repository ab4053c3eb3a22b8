/** `npm run NAME -- …`: prepares the checkout, then runs the command of that name in `commands/`. */
import fs from 'node:fs';
import { prepareAndRun, root } from './prepare.mjs';

const [name] = process.argv.splice(2, 1);
if (!name || !fs.existsSync(`${root}/src/commands/${name}.ts`)) {
  const known = fs.readdirSync(`${root}/src/commands`).map((file) => file.replace(/\.ts$/, ''));
  console.error(`There is no command "${name ?? ''}". Known: ${known.join(', ')}.`);
  process.exit(2);
}
await prepareAndRun(`src/commands/${name}.js`);
