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
  'src/shop/shop.operations.ts':
    `import { Injectable } from '@nestjs/common'; import { c } from ` +
    `'../catalogue/catalogue.controller.js'; export const o = [Injectable, c];`,
  'src/catalogue/catalogue.controller.ts': `import { c as other } from '../shop/shop.controller.js'; export const c = other;`,
  'src/catalogue/one.ts': `import { two } from './two.js'; export const one = () => two;`,
  'src/catalogue/two.ts': `import { one } from './one.js'; export const two = () => one;`,
  'src/catalogue/types.ts': `import type { Back } from './back.js'; export type Types = Back;`,
  'src/catalogue/back.ts': `import type { Types } from './types.js'; export type Back = Types | string;`,
  'src/work/helped.ts': `import { help } from '../../test/help.js'; export const h = help;`,
  'src/work/checked.ts': `import fc from 'fast-check'; export const f = fc;`,
  'src/work/unknown.ts': `import { nothing } from 'no-such-library'; export const n = nothing;`,
  'src/season/worker-tasks.ts': `import { day } from './days.js'; export const works = day;`,
  'src/season/days.ts': `import { z } from 'zod'; export const day = z;`,
  'src/stock/bins.ts':
    `import { readShop } from '../shop/read.js'; import { plan } from ` +
    `'../plan/answer.js'; export const b = [readShop, plan];`,
  'src/shop/read.ts': `export const readShop = 1;`,
  'src/plan/answer.ts': `export const plan = 1;`,
  'src/plan/answers/a.ts': `import { b } from '../model/b.js'; export const a = b;`,
  'src/plan/model/b.ts': `export const b = 1;`,
  'src/plan/model/c.ts': `import { d } from '../answers/d.js'; export const c = d;`,
  'src/plan/answers/d.ts': `export const d = 1;`,
  'test/help.ts': `export const help = 1;`,
};

let folder: string;
beforeAll(() => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-rule-'));
  for (const [file, text] of Object.entries(files)) {
    fs.mkdirSync(path.join(folder, path.dirname(file)), { recursive: true });
    fs.writeFileSync(path.join(folder, file), text);
  }
  for (const file of ['.dependency-cruiser.cjs', '.dependency-cruiser.folders.cjs', 'package.json', 'tsconfig.json'])
    fs.copyFileSync(path.join(projectRoot, file), path.join(folder, file));
  fs.symlinkSync(path.join(projectRoot, 'node_modules'), path.join(folder, 'node_modules'));
});
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

async function violationsOf(config: string, folders: string[]): Promise<string[]> {
  const tool = path.join(projectRoot, 'node_modules/dependency-cruiser/bin/dependency-cruise.mjs');
  const reported = await new Promise<string>((resolve) => {
    execFile(
      process.execPath,
      [tool, '--config', config, ...folders, '--output-type', 'json'],
      { cwd: folder, maxBuffer: 1e8 },
      (_error, stdout) => resolve(stdout),
    );
  });
  const { violations } = (
    JSON.parse(reported) as { summary: { violations: { rule: { name: string }; from: string; to: string }[] } }
  ).summary;
  return violations.map(({ rule, from, to }) => `${rule.name}: ${from} → ${to}`).sort();
}

it('finds every kind of import that it forbids, and no other', async () => {
  const found = await violationsOf('.dependency-cruiser.cjs', ['src', 'test']);
  expect(found.map((line) => line.replace(/ → .*/, ''))).toEqual([
    'declared: src/work/unknown.ts',
    'engine-is-pure: src/engine/bad.ts',
    'engine-is-pure: src/engine/bad.ts',
    'no-circle: src/catalogue/one.ts',
    'operations-know-no-transport: src/shop/shop.operations.ts',
    'operations-know-no-transport: src/shop/shop.operations.ts',
    'platform-knows-no-area: src/platform/bad.ts',
    'queries-only-read: src/shop/shop.queries.ts',
    'service-knows-no-test: src/work/helped.ts',
    'service-needs-no-test-library: src/work/checked.ts',
    'shop-imports-only-below: src/shop/shop.operations.ts',
    'stock-imports-only-below: src/stock/bins.ts',
    'threads-load-little: src/season/worker-tasks.ts',
    'transport-is-private: src/catalogue/catalogue.controller.ts',
    'transport-is-private: src/shop/shop.operations.ts',
  ]);
});

it('finds folders that import each other in a circle', async () => {
  const found = await violationsOf('.dependency-cruiser.folders.cjs', ['src']);
  expect(found).toContain('no-folder-circle: src/plan/answers → src/plan/model');
});
