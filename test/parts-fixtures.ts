/** Records that the tests of parts stand on. */
import type { Json, TestShop } from './harness/server.js';

const create = async (shop: TestShop, path: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(201)).body;

export const makePart = (shop: TestShop, part: Json): Promise<Json> => create(shop, '/parts', part);

/** A machine with an open job of one task. */
export async function makeTask(shop: TestShop, name: string): Promise<{ machine: Json; job: Json; task: Json }> {
  const machine = await create(shop, '/machines', { kind: 'singleStageThrower', maker: 'Norvane', model: 'N-21' });
  const job = await create(shop, '/jobs', { machineId: machine.id });
  const task = await create(shop, '/tasks', {
    jobId: job.id,
    code: 'fit',
    name,
    kind: 'assemble',
    handsOnMinutes: 60,
    minMinutes: 45,
    maxMinutes: 120,
  });
  return { machine, job, task };
}
