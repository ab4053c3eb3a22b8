/** Runs specs under one mutant after another; the parent ends it when one hangs. */
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { readConfig } from 'jest-config';
import runner from 'jest-runner';
import runtime from 'jest-runtime';

const here = path.dirname(fileURLToPath(import.meta.url));
const rootDir = path.resolve(here, '../..');
const settings = {
  rootDir,
  roots: [path.join(rootDir, 'src'), path.join(rootDir, 'test')],
  testMatch: ['<rootDir>/{src,test}/**/*.spec.ts'],
  extensionsToTreatAsEsm: ['.ts'],
  moduleNameMapper: { '^(\\.{1,2}/.*)\\.js$': '$1' },
  testEnvironment: path.join(here, 'environment.mjs'),
  testTimeout: 60_000,
};
const transformer = path.join(here, 'transform.mjs');
const { globalConfig, projectConfig } = await readConfig(
  { _: [], $0: '' },
  { ...settings, transform: { '\\.ts$': [transformer, {}] } },
  false,
  rootDir,
);
const context = await runtime.createContext(projectConfig, { console, maxWorkers: 1, watch: false, watchman: false });

/** The first spec that fails, or null. */
async function firstFailing(specs, mutant) {
  const config = { ...projectConfig, transform: [['\\.ts$', transformer, { mutant }]] };
  const run = new runner(globalConfig, {});
  for (const spec of specs) {
    let why = null;
    run.on('test-file-success', ([, result]) => {
      if (result.numFailingTests > 0 || result.testExecError) why = result.failureMessage ?? 'failed';
    });
    run.on('test-file-failure', ([, error]) => (why = String(error.stack ?? error.message ?? error)));
    await run.runTests(
      [{ path: spec, context: { ...context, config } }],
      { isInterrupted: () => false },
      { serial: true },
    );
    if (why !== null) return { spec, detail: why };
  }
  return null;
}

process.on('message', async ({ specs, mutant }) => {
  try {
    process.send({ failing: await firstFailing(specs, mutant) });
  } catch (error) {
    process.send({ error: String(error.stack) });
  }
});
process.send({ ready: true });
