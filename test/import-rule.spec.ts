/** The import rule must bite: each of its parts is shown a file that breaks it. */
import { execFile } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { projectRoot } from '../src/platform/launch/root.js';

const files: Record<string, string> = {
  'src/engine/bad.ts': `import fs from 'node:fs'; import { z } from 'zod'; export const x = [fs, z];`,
  'src/engine/good.ts': `import { Decimal } from 'decimal.js'; export const x = new Decimal(1);`,
  'src/platform/bad.ts': `import { a } from '../shop/shop.queries.js'; export const x = a;`,
  'src/shop/shop.controller.ts': `export const c = 1;`,
  'src/shop/shop.queries.ts': `import { o } from './shop.operations.js'; export const a = o;`,
  'src/shop/shop.operations.ts': `import { Injectable } from '@nestjs/common'; import { c } from '../parts/parts.controller.js'; export const o = [Injectable, c];`,
  'src/parts/parts.controller.ts': `import { c as other } from '../shop/shop.controller.js'; export const c = other;`,
  'src/parts/one.ts': `import { two } from './two.js'; export const one = () => two;`,
  'src/parts/two.ts': `import { one } from './one.js'; export const two = () => one;`,
  'src/parts/types.ts': `import type { Back } from './back.js'; export type Types = Back;`,
  'src/parts/back.ts': `import type { Types } from './types.js'; export type Back = Types | string;`,
  'src/work/helped.ts': `import { help } from '../../test/help.js'; export const h = help;`,
  'src/work/checked.ts': `import fc from 'fast-check'; export const f = fc;`,
  'src/work/unknown.ts': `import { nothing } from 'no-such-library'; export const n = nothing;`,
  'src/season/works.ts': `import { day } from './days.js'; export const works = day;`,
  'src/season/days.ts': `import { z } from 'zod'; export const day = z;`,
  'test/help.ts': `export const help = 1;`,
};

let folder: string;
beforeAll(() => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-rule-'));
  for (const [file, text] of Object.entries(files)) {
    fs.mkdirSync(path.join(folder, path.dirname(file)), { recursive: true });
    fs.writeFileSync(path.join(folder, file), text);
  }
  for (const file of ['.dependency-cruiser.cjs', 'package.json', 'tsconfig.json'])
    fs.copyFileSync(path.join(projectRoot, file), path.join(folder, file));
  fs.symlinkSync(path.join(projectRoot, 'node_modules'), path.join(folder, 'node_modules'));
});
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

it('finds every kind of import that it forbids, and no other', async () => {
  const tool = path.join(projectRoot, 'node_modules/dependency-cruiser/bin/dependency-cruise.mjs');
  const told = await new Promise<string>((resolve) => {
    execFile(
      process.execPath,
      [tool, '--config', '.dependency-cruiser.cjs', 'src', 'test', '--output-type', 'json'],
      { cwd: folder, maxBuffer: 1e8 },
      (_error, stdout) => resolve(stdout),
    );
  });
  const { violations } = (
    JSON.parse(told) as { summary: { violations: { rule: { name: string }; from: string; to: string }[] } }
  ).summary;
  const found = violations.map(({ rule, from, to }) => `${rule.name}: ${from} → ${path.basename(to)}`).sort();
  expect(found.map((line) => line.replace(/ → .*/, ''))).toEqual([
    'declared: src/work/unknown.ts',
    'engine-is-pure: src/engine/bad.ts',
    'engine-is-pure: src/engine/bad.ts',
    'no-circle: src/parts/one.ts',
    'operations-know-no-transport: src/shop/shop.operations.ts',
    'operations-know-no-transport: src/shop/shop.operations.ts',
    'platform-knows-no-area: src/platform/bad.ts',
    'queries-only-read: src/shop/shop.queries.ts',
    'service-knows-no-test: src/work/helped.ts',
    'service-needs-no-test-library: src/work/checked.ts',
    'threads-load-little: src/season/works.ts',
    'transport-is-private: src/parts/parts.controller.ts',
    'transport-is-private: src/shop/shop.operations.ts',
  ]);
});
