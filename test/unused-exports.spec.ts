/**
 * Nothing is exported for specs alone: what only a spec calls is an oracle and belongs in `test/`, or it is dead. Names are
 * compared as words, so a name that something else has, too, passes; what is found here is certain.
 */
import fs from 'node:fs';
import path from 'node:path';
import { expect, it } from '@jest/globals';
import { projectRoot } from '../src/platform/launch/root.js';

/** Exported values that only specs name, each with the reason why it stays. */
const ALLOWED: Readonly<Record<string, string>> = {
  gammaUpper: 'the other tail of the incomplete gamma function, by which the published tables are checked',
  pert: 'the textbook method, which the simulation is compared with; shares its three-point estimates',
  thinnedSolidsPercent: 'the film rule for a thinned paint; nothing records thinner yet',
  gammaQuantile: 'by which published quantiles of reorder points are checked',
  studentCdf: 'by which the published tables are checked',
  studentLogDensity: 'by which the published tables are checked',
  frostPointCelsius: 'by which the published tables are checked',
  drawWeatherYears: 'draws of whole years, by which the outlook is checked',
  hasWords: 'asked by the check that every field has a description',
  minimiseMakespan: 'the exact solver as a whole, which the public instances are solved with',
};

const isFixture = (file: string): boolean => /[.-]fixtures?\.ts$/.test(file);
const isTest = (file: string): boolean => /\.spec\.tsx?$/.test(file) || file.startsWith('test/') || isFixture(file);

function sources(): Map<string, string> {
  const files = ['src', 'seed', 'prisma', 'test'].flatMap((folder) =>
    (fs.readdirSync(path.join(projectRoot, folder), { recursive: true }) as string[])
      .map((name) => `${folder}/${name.split(path.sep).join('/')}`)
      .filter((name) => /\.(tsx?|mjs)$/.test(name) && !name.includes('/database/client/')),
  );
  return new Map(files.map((file) => [file, fs.readFileSync(path.join(projectRoot, file), 'utf8')]));
}

/** How often each word stands in a file's code; comments and what it merely passes on do not count. */
function wordsIn(text: string): Map<string, number> {
  const code = text
    .replace(/\/\*[\s\S]*?\*\/|(^|\s)\/\/.*$/gm, '$1')
    .replace(/^export \{[^}]*\}( from .*)?;$/gm, '')
    .replace(/^import [^;]*;$/gm, '');
  const counts = new Map<string, number>();
  for (const [word] of code.matchAll(/\b\w+\b/g)) counts.set(word, (counts.get(word) ?? 0) + 1);
  return counts;
}

/** @returns the exported values that no code but tests names, each with its file */
function forTestsAlone(files: ReadonlyMap<string, string>): string[] {
  const code = [...files].filter(([file]) => !isTest(file));
  const words = new Map(code.map(([file, text]) => [file, wordsIn(text)]));
  const naming = new Map<string, number>();
  for (const counts of words.values())
    for (const [word, count] of counts) naming.set(word, (naming.get(word) ?? 0) + count);
  return code
    .filter(([file]) => file.startsWith('src/'))
    .flatMap(([file, text]) =>
      [...text.matchAll(/^export (?:declare |async |abstract )*(?:const|let|function\*?|class) (\w+)/gm)]
        .map(([, name = '']) => name)
        // Once is its own declaration.
        .filter((name) => naming.get(name) === 1)
        .map((name) => `${file}: ${name}`),
    );
}

it('finds an export that only a spec names, and one that nothing names', () => {
  const found = forTestsAlone(
    new Map([
      ['src/a.ts', 'export const used = 1;\nexport const dead = 2;\nexport function oracle() {}\n// oracle\n'],
      ['src/index.ts', "export { oracle } from './a.js';\n"],
      ['src/b.ts', "import { used } from './a.js';\nused;\n"],
      ['src/a.spec.ts', "import { oracle } from './a.js';\noracle();\n"],
    ]),
  );
  expect(found).toEqual(['src/a.ts: dead', 'src/a.ts: oracle']);
});

it('exports nothing for specs alone', () => {
  const found = forTestsAlone(sources());
  expect(found.filter((one) => !(one.split(': ')[1]! in ALLOWED))).toEqual([]);
  // An exception that is needed no longer goes.
  const names = new Set(found.map((one) => one.split(': ')[1]!));
  expect(Object.keys(ALLOWED).filter((name) => !names.has(name))).toEqual([]);
});
