/** A sample of commands, each of whose statements fails once: `npm run drill` does so with every command there is. */
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-drill-'));
const given = process.env.DRILL_FOLDER;
let shop: TestShop;
beforeAll(async () => {
  process.env.DRILL_FOLDER = folder;
  shop = await startTestShop();
});
afterAll(async () => {
  await shop.close();
  if (given === undefined) delete process.env.DRILL_FOLDER;
  else process.env.DRILL_FOLDER = given;
  fs.rmSync(folder, { recursive: true, force: true });
});

const drilled = (name: string): number =>
  JSON.parse(fs.readFileSync(path.join(folder, `${name}.json`), 'utf8')).statements;

it('leaves nothing behind, tells the caller, and the retry with the same key or version succeeds', async () => {
  const made = async (where: string, body: Json): Promise<Json> =>
    (await shop.rest('owner', 'post', where, body).expect(201)).body;
  const acquisition = await made('/acquisitions', { source: 'classified', acquiredDate: '2026-09-02', price: '40.00' });
  const machine = await made('/machines', {
    kind: 'other',
    maker: 'Norvane',
    model: 'Till 5',
    acquisitionId: acquisition.id,
  });
  const job = await made('/jobs', { machineId: machine.id });
  const task = await made('/tasks', {
    jobId: job.id,
    code: 'strip',
    name: 'Strip',
    kind: 'strip',
    minMinutes: 30,
    handsOnMinutes: 60,
    maxMinutes: 90,
  });
  await shop.rest('owner', 'patch', `/tasks/${task.id}`, { name: 'Strip it' }, { version: task.version }).expect(200);
  const names = ['createAcquisition', 'createMachine', 'createJob', 'createTask', 'changeTask'];
  const counts = names.map((name) => drilled(name));
  if (process.env.SHOW_FIGURES) console.log(names.map((name, at) => `${name} ${counts[at]}`).join(', '));
  for (const count of counts) expect(count).toBeGreaterThan(5);
  expect((await shop.rest('owner', 'get', '/tasks').expect(200)).body.items).toHaveLength(1);
}, 240_000);
