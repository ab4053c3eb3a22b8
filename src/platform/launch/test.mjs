/**
 * `npm test`: prepares the checkout, then lint, format, types, the import rule and the tests, with one summary at the end.
 * With arguments (`npm test -- src/engine`) only the tests are run, and Jest is given the arguments.
 */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { NotReady, prepare, root } from './prepare.mjs';

const bin = (file) => path.join(root, 'node_modules', file);
const cruiser = bin('dependency-cruiser/bin/dependency-cruise.mjs');
const checks = [
  { name: 'lint', args: [bin('eslint/bin/eslint.js'), '.', '--max-warnings', '0'] },
  { name: 'format', args: [bin('prettier/bin/prettier.cjs'), '--check', '.'] },
  { name: 'types', args: [bin('typescript/bin/tsc'), '-p', 'tsconfig.json'] },
  // What runs in a browser knows a browser's types, and nothing else does.
  { name: 'script types', args: [bin('typescript/bin/tsc'), '-p', 'src/pages/client/tsconfig.json'] },
  { name: 'import rule', args: [cruiser, '--config', '.dependency-cruiser.cjs', 'src', 'seed', 'prisma', 'test'] },
  { name: 'folder rule', args: [cruiser, '--config', '.dependency-cruiser.folders.cjs', 'src'] },
];
const jestArgs = process.argv.slice(2);
const tests = {
  name: 'tests',
  args: [
    '--experimental-vm-modules',
    '--disable-warning=ExperimentalWarning',
    bin('jest/bin/jest.js'),
    ...(jestArgs.length > 0 ? jestArgs : ['--maxWorkers=100%']),
  ],
};

/** Runs one and answers whether it passed; what a quiet one had to say is shown only when it failed. */
function run({ name, args }, quiet) {
  const started = Date.now();
  return new Promise((resolve) => {
    // Jest's workers inherit the options of the process that starts them.
    const child = spawn(process.execPath, args, {
      cwd: root,
      stdio: quiet ? ['ignore', 'pipe', 'pipe'] : ['ignore', 'inherit', 'inherit'],
    });
    let said = '';
    for (const stream of [child.stdout, child.stderr]) stream?.on('data', (chunk) => (said += chunk));
    child.on('error', (error) => (said += error.message));
    child.on('close', (code, signal) => {
      const passed = code === 0;
      if (quiet && !passed) console.log(`\n--- ${name} ---\n${said.trim()}\n`);
      resolve({ name, passed, detail: signal ? `ended by ${signal}` : '', seconds: (Date.now() - started) / 1000 });
    });
  });
}

try {
  await prepare();
} catch (error) {
  console.error(error instanceof NotReady ? error.message : error);
  process.exit(1);
}

const results = [];
if (jestArgs.length === 0) {
  process.stderr.write('· Lint, format, types, import rule …\n');
  results.push(...(await Promise.all(checks.map((check) => run(check, true)))));
  for (const { name, passed } of results) process.stderr.write(`  ${name}: ${passed ? 'passed' : 'FAILED'}\n`);
}
results.push(await run(tests, false));

console.log('');
for (const { name, passed, detail, seconds } of results) {
  console.log(
    `${passed ? 'passed' : 'FAILED'}  ${name.padEnd(12)} ${seconds.toFixed(1).padStart(6)} s  ${detail}`.trimEnd(),
  );
}
const failed = results.filter(({ passed }) => !passed);
console.log(failed.length === 0 ? '\nEverything passed.' : `\nFailed: ${failed.map(({ name }) => name).join(', ')}.`);
process.exitCode = failed.length === 0 ? 0 : 1;
