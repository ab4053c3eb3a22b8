/**
 * How much of a change the tests notice: `npm run mutants -- src/engine/price [--seed 1] [--max 300]`.
 *
 * Small changes (`test/mutants/operators.ts`) are made to the sources of a folder or file, one at a time and in memory,
 * and the specs beside them are run, then those of `test/` that import them and need no server. A mutant that no spec
 * fails under has survived; one under which they hang counts as killed. Some survivors change nothing that could be
 * seen, so that a few are no fault.
 */
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { parseArgs } from 'node:util';
import { Random } from '../../src/engine/statistics/random.js';
import { projectRoot as root } from '../../src/platform/launch/root.js';
import { type Mutant, mutantsOf } from '../mutants/operators.js';
import { Session } from '../mutants/session.js';

const MOST = 300;

export async function main(args: string[]): Promise<void> {
  const { values, positionals } = parseArgs({
    args,
    allowPositionals: true,
    options: {
      seed: { type: 'string', default: '1' },
      max: { type: 'string', default: String(MOST) },
      minutes: { type: 'string', default: '30' },
      workers: { type: 'string', default: String(Math.min(4, os.availableParallelism())) },
      slowest: { type: 'string', default: '20' },
    },
  });
  const usage =
    'Usage: npm run mutants -- PATH [--seed 1] [--max 300] [--minutes 30] [--workers 2] [--slowest 20]\n' +
    'PATH is a folder or file below src/; specs of test/ that take longer than --slowest seconds are left out.';
  const [target] = positionals;
  const folder = target && path.resolve(root, target);
  if (!folder || !folder.startsWith(path.join(root, 'src')) || !fs.existsSync(folder)) {
    console.error(usage);
    process.exitCode = 2;
    return;
  }
  const [seed, max, minutes, workers, slowest] = [
    values.seed,
    values.max,
    values.minutes,
    values.workers,
    values.slowest,
  ].map(Number) as [number, number, number, number, number];
  if (![seed, max, minutes, workers, slowest].every((value) => value > 0) || max > MOST) {
    console.error(`${usage}\nEach number is above zero, and --max at most ${MOST}.`);
    process.exitCode = 2;
    return;
  }
  // Checks against outside data read it from where it lies for the sources, not for the compiled files.
  process.env.REFERENCE_DIR ??= path.resolve(root, '../shared/reference');

  const sources = filesOf(folder).filter((file) => file.endsWith('.ts') && !/\.(spec|fixture)\.ts$/.test(file));
  const all = sources.flatMap((file) => mutantsOf(relative(file), fs.readFileSync(file, 'utf8')));
  const chosen = sample(all, max, seed);
  const begun = performance.now();
  const specs = await timedSpecs(folder, slowest);
  if (specs.length === 0) throw new Error(`No spec stands beside ${target}, and none in test/ imports it`);
  console.log(
    `${chosen.length} of ${all.length} mutants of ${sources.length} files (seed ${seed}), ${specs.length} specs`,
  );

  const survived: Mutant[] = [];
  const counts = { killed: 0, hung: 0 };
  const until = begun + minutes * 60_000;
  const waiting = [...chosen];
  await Promise.all(
    Array.from({ length: workers }, async () => {
      const session = new Session();
      try {
        for (let mutant = waiting.shift(); mutant; mutant = waiting.shift()) {
          if (performance.now() > until) {
            waiting.unshift(mutant);
            break;
          }
          const order = nearestFirst(specs, mutant.file);
          const limit = 15_000 + 5 * specs.reduce((sum, spec) => sum + spec.milliseconds, 0);
          const verdict = await session.run(order, mutant, limit);
          const killedBy = verdict.kind === 'killed' ? ` by ${relative(verdict.spec)}` : '';
          console.log(`${verdict.kind.padEnd(8)} ${words(mutant)}${killedBy}`);
          if (verdict.kind === 'survived') survived.push(mutant);
          else counts[verdict.kind]++;
        }
      } finally {
        await session.close();
      }
    }),
  );
  if (survived.length > 0) console.log('\nSurvived:');
  for (const mutant of survived.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : a.start - b.start)))
    console.log(`  ${words(mutant)}`);
  const killed = counts.killed + counts.hung;
  const tried = killed + survived.length;
  const left = chosen.length - tried;
  console.log(
    `\n${killed} of ${tried} killed (${((100 * killed) / tried).toFixed(1)} %), ${counts.hung} of them by hanging; ` +
      `${survived.length} survived${left > 0 ? `; ${left} not tried in ${minutes} minutes` : ''}; ` +
      `${((performance.now() - begun) / 1000).toFixed(0)} s`,
  );
}

interface Spec {
  path: string;
  milliseconds: number;
}

/** The specs that are asked, each with its time when nothing is changed. @throws Error when one fails then */
async function timedSpecs(folder: string, slowest: number): Promise<Spec[]> {
  const isFolder = fs.statSync(folder).isDirectory();
  const beside = filesOf(isFolder ? folder : path.dirname(folder)).filter((file) => file.endsWith('.spec.ts'));
  const imported = relative(folder).replace(/\.ts$/, '');
  const across = fs
    .readdirSync(path.join(root, 'test'))
    .filter((name) => name.endsWith('.spec.ts'))
    .map((name) => path.join(root, 'test', name))
    .filter((file) => {
      const text = fs.readFileSync(file, 'utf8');
      return text.includes(`'../${imported}${isFolder ? '/' : '.'}`) && !/from '\.\/harness\//.test(text);
    });
  const session = new Session();
  const timed: Spec[] = [];
  try {
    for (const file of [...beside, ...across]) {
      const begun = performance.now();
      const verdict = await session.run([file], null, 600_000);
      const milliseconds = performance.now() - begun;
      if (verdict.kind !== 'survived')
        throw new Error(
          `${relative(file)} fails with nothing changed: ${verdict.kind === 'killed' ? verdict.detail : 'it hangs'}`,
        );
      if (across.includes(file) && milliseconds > slowest * 1000)
        console.log(`left out: ${relative(file)}, which takes ${(milliseconds / 1000).toFixed(0)} s`);
      else timed.push({ path: file, milliseconds });
    }
  } finally {
    await session.close();
  }
  return timed.sort((a, b) => a.milliseconds - b.milliseconds);
}

/** The spec of the changed file itself first, then those beside it, the quicker ones before the slower. */
function nearestFirst(specs: readonly Spec[], file: string): string[] {
  const rank = ({ path: spec }: Spec): number =>
    relative(spec) === file.replace(/\.ts$/, '.spec.ts') ? 0 : relative(spec).startsWith('src/') ? 1 : 2;
  return [...specs].sort((a, b) => rank(a) - rank(b)).map((spec) => spec.path);
}

/** So many, drawn without order and the same for the same seed. */
function sample(mutants: readonly Mutant[], max: number, seed: number): Mutant[] {
  const drawn = [...mutants];
  const random = new Random(seed);
  for (let i = drawn.length - 1; i > 0; i--) {
    const j = Math.floor(random.next() * (i + 1));
    [drawn[i], drawn[j]] = [drawn[j]!, drawn[i]!];
  }
  return drawn.slice(0, max);
}

const filesOf = (place: string): string[] =>
  fs.statSync(place).isFile()
    ? [place]
    : (fs.readdirSync(place, { recursive: true }) as string[])
        .map((name) => path.join(place, name))
        .filter((file) => file.endsWith('.ts'))
        .sort();

const relative = (file: string): string => path.relative(root, file).split(path.sep).join('/');

const words = ({ file, line, column, operator, original, replacement }: Mutant): string =>
  `${file}:${line}:${column} ${operator}: ${original} → ${replacement.trim()}`;
