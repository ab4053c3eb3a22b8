/**
 * A part that was fitted is recorded as what was fitted: the buyer's document, the bag's label, the ledger, the bin and the
 * maintenance list say the same, also where a substitute went in for the part that was asked for.
 */
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const send = async (method: 'post' | 'patch', path: string, body: Json, status = 201, version?: number) => {
  const reply = await shop.rest('owner', method, path, body, version === undefined ? {} : { version });
  expect([reply.status, reply.body.detail]).toEqual([status, reply.body.detail]);
  return reply.body;
};
const get = async (path: string) => (await shop.rest('owner', 'get', path).expect(200)).body;

async function jobWithTask(fields: Json = {}) {
  const machine = await send('post', '/machines', {
    kind: 'singleStageThrower',
    maker: 'Norvane',
    model: 'Drift 21',
    engine: '141 cc two-stroke',
    ...fields,
  });
  const job = await send('post', '/jobs', { machineId: machine.id });
  const task = await send('post', '/tasks', {
    jobId: job.id,
    code: 'fit',
    name: 'Put it together',
    kind: 'assemble',
    minMinutes: 30,
    handsOnMinutes: 60,
    maxMinutes: 90,
  });
  return { job, task };
}

/** The part that is asked for, the one that goes in for it, and a bin of the latter. */
async function substituted(wanted: Json, offered: Json, unitCost: string) {
  const [asked, other] = [await send('post', '/parts', wanted), await send('post', '/parts', offered)];
  await send('post', '/interchanges', {
    partId: other.id,
    servesForId: asked.id,
    evidence: 'measuredSame',
    confidence: 5,
  });
  const bin = await send('post', '/stock', { partId: other.id, bin: 'B-2', quantity: 10, unitCost });
  return { asked, other, bin };
}

it.each([
  {
    what: 'a grade 8 bolt for a grade 5',
    wanted: { name: 'Housing bolt', family: 'fastener', fastener: '5/16-18 x 1 hex, grade 5, zinc' },
    offered: { name: 'Housing bolt, strong', family: 'fastener', fastener: '5/16-18 x 1 hex, grade 8, zinc' },
    quantity: 4,
    unitCost: '0.85',
    charged: '3.40',
    item: 'Fasteners',
    // As the maintenance list and the document say it.
    words: '4 × Housing bolt, strong (5/16-18 x 1 hex, grade 8, zinc)',
  },
  {
    what: 'a universal paddle set for the original',
    wanted: { name: 'Paddle set, original', family: 'rubber' },
    offered: { name: 'Paddle set, universal', family: 'rubber' },
    quantity: 1,
    unitCost: '31.20',
    charged: '31.20',
    item: 'Paddles and scraper bar',
    words: '1 × Paddle set, universal',
  },
])('$what: document, label, ledger, bin and maintenance agree', async (one) => {
  const { asked, other, bin } = await substituted(one.wanted, one.offered, one.unitCost);
  const { job, task } = await jobWithTask();
  const { need } = await send('post', '/part-needs', { taskId: task.id, partId: asked.id, quantity: one.quantity });
  await send('post', `/part-needs/${need.id}/reserve`, { stockId: bin.id }, 200, need.version);
  // What lies in the bag is told before it is fitted, too.
  const bagLabel = async () =>
    (await get(`/jobs/${job.id}/labels`)).labels.find((label: Json) => label.kind === 'partNeed');
  const label = { title: one.offered.name, bin: 'B-2', note: `Put it together, in place of ${one.wanted.name}` };
  expect(await bagLabel()).toMatchObject(label);
  expect((await get(`/part-needs/${need.id}`)).fittedPartId).toBeNull();

  const used = await send('post', `/part-needs/${need.id}/use`, {}, 200, need.version + 1);
  expect(used.need).toMatchObject({ partId: asked.id, fittedPartId: other.id, status: 'used' });
  expect(await bagLabel()).toMatchObject(label);
  const { data } = await shop.graphql(
    'owner',
    `query ($need: ID!, $job: ID!) { partNeed(id: $need) { part { name } fittedPart { name fastener } }
      startingPoint(id: $job) { partsFitted { name fastener quantity inPlaceOf } maintenance { title fitted } text } }`,
    { need: need.id, job: job.id },
  );
  expect(data.partNeed).toEqual({
    part: { name: one.wanted.name },
    fittedPart: { name: one.offered.name, fastener: one.offered.fastener ?? null },
  });
  const point = await get(`/jobs/${job.id}/starting-point`);
  expect(data.startingPoint.text).toBe(point.text);
  expect(point.partsFitted).toEqual([
    {
      name: one.offered.name,
      fastener: one.offered.fastener ?? null,
      quantity: one.quantity,
      inPlaceOf: one.wanted.name,
      fittedOn: '2026-09-15',
    },
  ]);
  expect(point.text).toContain(`- 2026-09-15: ${one.words}, in place of ${one.wanted.name}`);
  const kept = point.maintenance.find((item: Json) => item.title === one.item);
  expect(kept.fitted).toEqual([one.words]);
  expect(point.text).toContain(`Fitted: ${one.words}.`);

  const ledger = (await get(`/ledger-entries?jobId=${job.id}`)).items;
  expect(ledger.map((entry: Json) => [entry.description, entry.amount])).toEqual([
    [`${one.quantity} × ${one.offered.name}`, one.charged],
  ]);
  expect((await get(`/stock/${bin.id}`)).quantity).toBe(10 - one.quantity);
  const moved = (await get(`/stock-movements?stockId=${bin.id}&reason=used`)).items;
  expect(moved.map((movement: Json) => movement.change)).toEqual([-one.quantity]);
  expect(await shop.discrepancies()).toEqual([]);

  // Taken back, nothing says that it is on the machine.
  await send('post', `/part-needs/${need.id}/return-to-stock`, {}, 200, used.need.version);
  const after = await get(`/jobs/${job.id}/starting-point`);
  expect([after.partsFitted, after.maintenance.find((item: Json) => item.title === one.item).fitted]).toEqual([[], []]);
  expect((await get(`/part-needs/${need.id}`)).fittedPartId).toBeNull();
});

it('a part fitted as asked for stands in place of nothing, and a two-stroke has no oil to change', async () => {
  const part = await send('post', '/parts', { name: 'Spark plug', family: 'engine' });
  const bin = await send('post', '/stock', { partId: part.id, bin: 'A-1', quantity: 3, unitCost: '4.10' });
  const { job, task } = await jobWithTask();
  const { need } = await send('post', '/part-needs', {
    taskId: task.id,
    partId: part.id,
    quantity: 1,
    stockId: bin.id,
  });
  await send('post', `/part-needs/${need.id}/use`, {}, 200, need.version);
  const point = await get(`/jobs/${job.id}/starting-point`);
  expect(point.partsFitted).toMatchObject([{ name: 'Spark plug', inPlaceOf: null }]);
  const titles = point.maintenance.map((item: Json) => item.title);
  expect(titles).toContain('Fuel and oil mix');
  expect(titles.filter((title: string) => title.startsWith('Engine oil') || title === 'First oil change')).toEqual([]);
  // Settled at the bench to be a four-stroke after all, the list follows.
  const machine = await get(`/machines/${job.machineId}`);
  await send('patch', `/machines/${machine.id}`, { engineType: 'fourStroke' }, 200, machine.version);
  const anew = await get(`/jobs/${job.id}/starting-point`);
  expect(anew.maintenance.map((item: Json) => item.title)).toContain('First oil change');
  expect(anew.text).toContain('- Engine: 141 cc two-stroke, four-stroke');
});
