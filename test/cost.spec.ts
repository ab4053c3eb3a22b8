/** What a job has cost: the ledger and its reversals, labour and space, harvests and refunds, by hand. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { startTestShop, type Json, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '25.00', spaceCostPerDay: '0.50', haulCostPerKilometre: '0.40' });
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201): Promise<Json> => {
  const reply = await shop.rest('owner', 'post', path, body);
  if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${reply.body.detail}`);
  return reply.body;
};
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
/** A machine bought on the 5th for a price and fetched over 25 km (10.00), with a job opened today. */
async function bought(price: string, fields: Json = {}): Promise<{ machineId: string; jobId: string }> {
  const { id } = await post('/acquisitions', { source: 'classified', acquiredOn: '2026-09-05', price, haulKilometres: 25 });
  const machineId = (await post('/machines', { acquisitionId: id, kind: 'other', maker: 'Hallgrim', model: 'Boreal', ...fields })).id;
  return { machineId, jobId: (await post('/jobs', { machineId })).id };
}
const costOf = (jobId: string) => get(`/jobs/${jobId}/cost`);

describe('a job\'s cost', () => {
  it('is purchase, haul, ledger, labour and space; cash and full told apart', async () => {
    const { jobId } = await bought('60.00');
    await post('/ledger-entries', { jobId, kind: 'consumable', amount: '14.95', description: 'Paint' });
    await post('/ledger-entries', { jobId, kind: 'other', amount: '5.05', occurredOn: '2026-09-01', description: 'Scrap fee' });
    await post('/ledger-entries', { jobId, kind: 'refund', amount: '4.00', description: 'Can returned' });
    const person = await post('/people', { name: 'Mira', weeklyHours: [] });
    const task = await post('/tasks', { jobId, name: 'Strip', code: 'strip', kind: 'strip', handsOnMinutes: 60, leastMinutes: 60, mostMinutes: 60 });
    await post('/labour-entries', { taskId: task.id, personId: person.id, startedAt: '2026-09-14T09:00:00-04:00', endedAt: '2026-09-14T09:50:00-04:00' });
    // Cash 70 + 14.95 + 5.05 − 4; 50 min at 25.00 = 20.83; ten days from the 5th to the 15th at 0.50.
    expect(await costOf(jobId)).toMatchObject({
      purchase: '70.00', consumables: '14.95', other: '5.05', refunds: '4.00', cashCost: '86.00',
      labourMinutes: 50, labour: '20.83', spaceDays: 10, space: '5.00', fullCost: '111.83', salePrice: null, earningsPerHour: null,
    });
    const reply = await shop.graphql('reader', `{ job(id: "${jobId}") { cost { cashCost fullCost estimateAtCompletion { likely } } ledger { kind amount } } }`);
    expect(reply.data.job.cost).toMatchObject({ cashCost: '86.00', fullCost: '111.83' });
    expect(reply.data.job.ledger).toEqual([{ kind: 'other', amount: '5.05' }, { kind: 'consumable', amount: '14.95' }, { kind: 'refund', amount: '4.00' }]);
    for (const asked of [`/jobs/${jobId}/cost`, `/ledger-entries?jobId=${jobId}`, `/jobs/${jobId}/price`]) await shop.rest('helper', 'get', asked).expect(403);
    expect((await shop.graphql('helper', `{ job(id: "${jobId}") { cost { cashCost } } }`)).errors?.[0].extensions.code).toBe('not-allowed');
  });

  it('counts a day when the shop\'s own day begins', async () => {
    const { jobId } = await bought('0');
    const before = shop.clock.now;
    shop.clock.now = new Date('2026-09-16T03:59:00Z');
    expect((await costOf(jobId)).spaceDays).toBe(10);
    shop.clock.now = new Date('2026-09-16T04:00:00Z');
    expect((await costOf(jobId)).spaceDays).toBe(11);
    shop.clock.now = before;
  });

  it('may fall below nothing by a refund, and the price is still advised', async () => {
    const { jobId } = await bought('60.00', { kind: 'walkBehindMower' });
    await post('/ledger-entries', { jobId, kind: 'refund', amount: '100.00', description: 'The seller paid it back, and more' });
    expect(await costOf(jobId)).toMatchObject({ cashCost: '-30.00', fullCost: '-25.00' });
    await post('/comparables', { kind: 'walkBehindMower', maker: 'Hallgrim', condition: 4, priceKind: 'sold', price: '200.00', seenOn: '2026-09-10' });
    const advice = await get(`/jobs/${jobId}/price`);
    // Expected price less the full cost, which is a gain here.
    expect(Number(advice.expectedMargin)).toBeCloseTo(Number(advice.expected.likely) + 25, 2);
  });

  it('counts a day in the shop for one job only', async () => {
    const { machineId, jobId } = await bought('60.00', { disposition: 'keep' });
    await shop.rest('owner', 'post', `/jobs/${jobId}/closings`, { outcome: 'kept' }, { version: 1 }).expect(200);
    const before = shop.clock.now;
    shop.clock.now = new Date('2027-09-15T13:00:00Z');
    const again = (await post('/jobs', { machineId })).id;
    shop.clock.now = new Date('2027-09-18T13:00:00Z');
    // From the purchase on the 5th to the 15th; and, a year later, three days.
    expect([(await costOf(jobId)).spaceDays, (await costOf(again)).spaceDays]).toEqual([10, 3]);
    shop.clock.now = before;
  });

  it('has nothing still to come once the job is closed', async () => {
    const { jobId } = await bought('60.00');
    await post('/tasks', { jobId, name: 'Polish', code: 'polish', kind: 'clean', handsOnMinutes: 60, leastMinutes: 30, mostMinutes: 90 });
    // 70.00, ten days at 0.50, and an hour at 25.00 to come.
    expect(await costOf(jobId)).toMatchObject({ fullCost: '75.00', remainingLabourMinutes: 60 });
    expect(Number((await costOf(jobId)).estimateAtCompletion.likely)).toBeCloseTo(100, 0);
    await shop.rest('owner', 'post', `/jobs/${jobId}/closings`, { outcome: 'scrapped' }, { version: 1 }).expect(200);
    expect(await costOf(jobId)).toMatchObject({ fullCost: '75.00', remainingLabourMinutes: 0, estimateAtCompletion: { low: '75.00', likely: '75.00', high: '75.00' } });
  });

  it('of a machine that nobody bought is its work alone', async () => {
    const machine = await post('/machines', { kind: 'other', maker: 'Hallgrim', model: 'Found' });
    const { id } = await post('/jobs', { machineId: machine.id });
    expect(await costOf(id)).toMatchObject({ purchase: '0.00', cashCost: '0.00', spaceDays: 0, fullCost: '0.00' });
  });

  it('another shop\'s job has none here', async () => {
    const { jobId } = await bought('60.00');
    const other = await shop.anotherShop();
    const stranger = { headers: { Authorization: `Bearer ${other.keys.owner}` } };
    await shop.rest('owner', 'get', `/jobs/${jobId}/cost`, undefined, stranger).expect(404);
    await shop.rest('owner', 'post', '/ledger-entries', { jobId, kind: 'other', amount: '1.00', description: 'Mischief' }, stranger).expect(404);
  });
});

describe('the ledger', () => {
  it('takes positive amounts of the currency, of past days, from the owner', async () => {
    const { jobId } = await bought('60.00');
    const entry = { jobId, kind: 'consumable', amount: '1.00', description: 'Rags' };
    for (const fields of [{ amount: '0' }, { amount: '0.00' }, { amount: '-1.00' }, { amount: '1.005' }, { amount: 1 }, { amount: '1e2' }, { amount: '999999999999.00' }, { kind: 'part' }, { kind: 'saleProceeds' }, { kind: 'tax' }, { occurredOn: '2026-09-16' }, { occurredOn: '2026-02-30' }, { description: '' }, { reversesId: jobId }]) {
      await post('/ledger-entries', { ...entry, ...fields }, 422);
    }
    for (const role of ['helper', 'reader'] as const) await shop.rest(role, 'post', '/ledger-entries', entry).expect(403);
    expect((await get(`/ledger-entries?jobId=${jobId}`)).items).toEqual([]);
  });

  it('is taken back by the opposite, once, over both transports, and never rewritten', async () => {
    const { jobId } = await bought('60.00');
    const entry = await post('/ledger-entries', { jobId, kind: 'consumable', amount: '12.00', occurredOn: '2026-09-10', description: 'Paint' });
    const both = await Promise.all([
      shop.rest('owner', 'post', `/ledger-entries/${entry.id}/reversal`, { reason: 'Other job' }),
      shop.graphql('owner', 'mutation ($id: ID!) { reverseLedgerEntry(input: { id: $id, reason: "Other job" }) { amount } }', { id: entry.id }),
    ]);
    expect([both[0].status === 201, both[1].data?.reverseLedgerEntry?.amount === '-12.00'].filter(Boolean)).toHaveLength(1);
    const { items } = await get(`/ledger-entries?jobId=${jobId}&sort=createdAt`);
    expect(items.map((one: Json) => [one.amount, one.occurredOn, one.reversesId])).toEqual([['12.00', '2026-09-10', null], ['-12.00', '2026-09-15', entry.id]]);
    await post(`/ledger-entries/${items[1].id}/reversal`, { reason: 'Again' }, 409);
    await post(`/ledger-entries/${items[0].id}/reversal`, { reason: 'Again' }, 409);
    await post(`/ledger-entries/${jobId}/reversal`, { reason: 'No entry' }, 404);
    expect(await costOf(jobId)).toMatchObject({ consumables: '0.00', cashCost: '70.00' });
    await expect(shop.database.withShop(shop.shopId, (tx) => tx.ledgerEntry.updateMany({ data: { amount: '1' } }))).rejects.toThrow();
    await expect(shop.database.withShop(shop.shopId, (tx) => tx.ledgerEntry.deleteMany({}))).rejects.toThrow();
    // Not even the database takes a reversal that is not the opposite.
    const wrong = { shopId: shop.shopId, jobId, kind: 'consumable' as const, amount: '-3', occurredOn: new Date('2026-09-15'), description: 'Half', reversesId: entry.id };
    await expect(shop.database.withShop(shop.shopId, (tx) => tx.ledgerEntry.create({ data: wrong }))).rejects.toThrow();
  });

  it('lets material for making a part be taken back, and a part that was used only by taking it back', async () => {
    const { jobId } = await bought('60.00');
    const task = await post('/tasks', { jobId, name: 'Fit the paddles', code: 'paddles', kind: 'assemble', handsOnMinutes: 60, leastMinutes: 60, mostMinutes: 60 });
    const part = await post('/parts', { name: 'Paddle', family: 'rubber' });
    const supplier = await post('/suppliers', { name: 'Tarn Rubber' });
    const { lines } = await post('/orders', { supplierId: supplier.id, lines: [{ partId: part.id, quantity: 2, unitPrice: '7.00' }] });
    await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 2, orderLineId: lines[0].id });
    await post(`/order-lines/${lines[0].id}/rescue`, { kind: 'rework', reworkMinutes: 40, reworkCost: '4.00' });
    const [material] = (await get(`/ledger-entries?jobId=${jobId}`)).items;
    expect(material).toMatchObject({ kind: 'part', amount: '4.00' });
    await post(`/ledger-entries/${material.id}/reversal`, { reason: 'The sheet was here already' });
    expect(await costOf(jobId)).toMatchObject({ parts: '0.00', cashCost: '70.00' });
    const stock = await post('/stock', { partId: part.id, bin: 'P1', quantity: 1, unitCost: '6.00' });
    const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1, stockId: stock.id });
    await shop.rest('owner', 'post', `/part-needs/${need.id}/use`, {}, { version: need.version }).expect(200);
    const [used] = (await get(`/ledger-entries?jobId=${jobId}&kind=part&sort=-createdAt`)).items;
    const { errors } = await shop.graphql('owner', 'mutation ($id: ID!) { reverseLedgerEntry(input: { id: $id, reason: "Wrong" }) { amount } }', { id: used.id });
    expect(errors![0]).toMatchObject({ message: expect.stringContaining('take the part back instead'), extensions: { code: 'booked-elsewhere' } });
  });

  it('is listed by kind and day', async () => {
    const { jobId } = await bought('60.00');
    for (const [kind, occurredOn] of [['consumable', '2026-09-08'], ['other', '2026-09-09'], ['consumable', '2026-09-10']]) await post('/ledger-entries', { jobId, kind, amount: '1.00', occurredOn, description: 'One' });
    const daysOf = async (filter: string) => (await get(`/ledger-entries?jobId=${jobId}&${filter}`)).items.map((one: Json) => one.occurredOn);
    expect(await daysOf('kind=consumable')).toEqual(['2026-09-10', '2026-09-08']);
    expect(await daysOf('from=2026-09-09&sort=occurredOn')).toEqual(['2026-09-09', '2026-09-10']);
    expect(await daysOf('to=2026-09-09')).toEqual(['2026-09-09', '2026-09-08']);
  });

  it('of a retired job is closed, that of a sold one takes a late bill', async () => {
    const { jobId } = await bought('60.00');
    const { version } = await get(`/jobs/${jobId}`);
    await shop.rest('owner', 'delete', `/jobs/${jobId}`, undefined, { version }).expect(200);
    await post('/ledger-entries', { jobId, kind: 'other', amount: '1.00', description: 'Late' }, 409);
    const kept = await bought('60.00');
    await shop.rest('owner', 'post', `/jobs/${kept.jobId}/closings`, { outcome: 'kept' }, { version: 1 }).expect(200);
    await post('/ledger-entries', { jobId: kept.jobId, kind: 'other', amount: '1.00', description: 'Late' });
  });
});

it('parts taken off a machine take their share of its purchase along', async () => {
  const { machineId, jobId } = await bought('60.00', { disposition: 'donor' });
  const part = await post('/parts', { name: 'Auger gearbox', family: 'gearbox' });
  // 70.00 by value: 60 of 60 + 20 goes with the part, 52.50.
  await post('/harvests', { machineId, parts: [{ partId: part.id, quantity: 1, unitValue: '60.00', bin: 'A1' }], restValue: '20.00' });
  expect(await costOf(jobId)).toMatchObject({ purchase: '70.00', harvested: '52.50', cashCost: '17.50' });
  // Its share may not fall below what went along.
  const { acquisitionId } = await get(`/machines/${machineId}`);
  await shop.rest('owner', 'patch', `/acquisitions/${acquisitionId}`, { price: '40.00' }, { version: 1 }).expect(409);
  await shop.rest('owner', 'patch', `/acquisitions/${acquisitionId}`, { price: '50.00' }, { version: 1 }).expect(200);
  expect(await costOf(jobId)).toMatchObject({ purchase: '60.00', harvested: '52.50', cashCost: '7.50' });
  // The rest turns out to be waste: a part worth 1.00 takes 1.00 of the 7.50 along, and the loss stays where it was made.
  const cable = await post('/parts', { name: 'Cable', family: 'cable' });
  const made = await shop.graphql('owner', 'mutation ($input: CreateHarvestInput!) { createHarvest(input: $input) { basisLeft why stock { unitCost } } }', {
    input: { machineId, parts: [{ partId: cable.id, quantity: 1, unitValue: '1.00', bin: 'A2' }], restValue: '0' },
  });
  expect(made.data.createHarvest).toEqual({ basisLeft: '6.50', why: expect.stringContaining('at most what they are worth'), stock: [{ unitCost: '1.00' }] });
  expect(await costOf(jobId)).toMatchObject({ harvested: '53.50', cashCost: '6.50' });
});
