/** The date quoted at intake is the plan's: it stays when the plan has settled, and moves no other job by itself. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import { standardRoutes } from '../seed/routes.js';
import { ports } from '../src/opening/ports.js';
import { REPLAN } from '../src/plan/background/replan-settings.js';
import { replanNext } from '../src/plan/background/replanner.js';
import { noThreads } from '../src/platform/workers/pool.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let admin: pg.Client;

const post = async (path: string, body: Json): Promise<Json> => {
  const reply = await shop.rest('owner', 'post', path, body);
  expect([reply.status, reply.body.detail]).toEqual([201, undefined]);
  return reply.body;
};
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
/** Runs the background's planner for as long as it finds something to do. @returns how often it did */
async function settle(): Promise<number> {
  const appContext = {
    database: shop.database,
    clock: () => shop.clock.now,
    threads: noThreads,
    checkReplies: true,
    ports,
    reportFault: (error: unknown) => {
      throw error;
    },
  };
  let planned = 0;
  while ((await replanNext(appContext, 'planner', { ...REPLAN, settleMilliseconds: 0 })) !== null && planned < 5)
    planned += 1;
  return planned;
}
const datesOf = async (): Promise<Map<string, string>> =>
  new Map((await get('/plan')).jobs.map((job: Json) => [job.jobId, job.p80Date]));

beforeAll(async () => {
  shop = await startTestShop();
  admin = new pg.Client({ connectionString: shop.adminUrl });
  await admin.connect();
  for (const kind of ['bench', 'sprayArea', 'cureRack'])
    await post('/places', { name: kind, kind, capacity: kind === 'cureRack' ? 6 : 1 });
  for (const route of standardRoutes) await post('/routes', route as Json);
  await settle();
});
afterAll(async () => {
  await admin.end();
  await shop.close();
});

describe('four intakes in a row', () => {
  it('are quoted what the plan says once it has settled, and no other job moves then', async () => {
    for (let k = 0; k < 4; k += 1) {
      const made = await post('/intake', {
        source: 'classified',
        acquiredDate: shop.clock.now.toISOString().slice(0, 10),
        price: '50.00',
        haulKilometres: 0,
        machines: [
          { kind: k % 2 === 0 ? 'singleStageThrower' : 'twoStageThrower', maker: 'Norvane', model: `Drift ${k}` },
        ],
      });
      const { job, forecast } = made.machines[0];
      expect(forecast.p80Date).toMatch(/^\d{4}-\d{2}-\d{2}$/);
      const quoted = await datesOf();
      expect(quoted.get(job.id)).toBe(forecast.p80Date);
      // The plan has settled already: the background finds nothing to do.
      expect(await settle()).toBe(0);
      expect(await datesOf()).toEqual(quoted);
    }
  });
});
