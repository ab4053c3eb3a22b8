/**
 * `npm run drill`: runs the tests that go through the API with each statement of each command failing once before the
 * command goes through, and counts. It passes when every command that is declared has been through it and left nothing.
 */
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { prepare, root } from './prepare.mjs';

await prepare();
const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-drill-'));
const wanted = process.argv.slice(2);
// Every test with a shop of its own, but for those that time it or count its statements.
const specs =
  wanted.length > 0
    ? wanted
    : fs
        .readdirSync(path.join(root, 'test'))
        .filter((file) => file.endsWith('.spec.ts') && !/plan-growth|query-|database-faults|responsive/.test(file))
        .filter((file) => fs.readFileSync(path.join(root, 'test', file), 'utf8').includes('startTestShop'))
        .map((file) => `test/${file}`);
const started = Date.now();
const { status } = spawnSync(
  process.execPath,
  [
    '--experimental-vm-modules',
    '--disable-warning=ExperimentalWarning',
    path.join(root, 'node_modules/jest/bin/jest.js'),
    '--testTimeout=300000',
    '--maxWorkers=50%',
    ...specs,
  ],
  { cwd: root, stdio: ['ignore', 'inherit', 'inherit'], env: { ...process.env, DRILL_FOLDER: folder } },
);
const done = fs
  .readdirSync(folder)
  .map((file) => JSON.parse(fs.readFileSync(path.join(folder, file), 'utf8')))
  .sort((a, b) => (a.operation < b.operation ? -1 : 1));
fs.rmSync(folder, { recursive: true, force: true });
const { areas } = await import(path.join(root, '.build/src/app.module.js'));
const declared = areas.flatMap((area) => area.operations).filter((one) => one.kind === 'command');
const missing = declared
  .filter(({ name }) => !done.some(({ operation }) => operation === name))
  .map(({ name }) => name);
const total = done.reduce((sum, { statements }) => sum + statements, 0);
console.log(done.map(({ operation, statements }) => `${String(statements).padStart(4)}  ${operation}`).join('\n'));
console.log(
  `${total} statements of ${done.length} of ${declared.length} commands failed once each, in ` +
    `${Math.round((Date.now() - started) / 1000)} s; after none was anything written or left open.`,
);
if (missing.length > 0) console.log(`Not gone through: ${missing.join(', ')}`);
process.exit(status === 0 && missing.length === 0 ? 0 : 1);
