/** Core charges: paid with the part, paid back for the old one. Amounts are worked out by hand beside each check. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

jest.setTimeout(60_000);
let shop: TestShop;
let supplier: Json, starter: Json, line: Json, orderId: string, stock: Json;
beforeAll(async () => {
  shop = await startTestShop();
  supplier = (await shop.rest('owner', 'post', '/suppliers', { name: 'Ridgeback Exchange' }).expect(201)).body;
  starter = await makePart(shop, { name: 'Starter motor, rebuilt', family: 'starter' });
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string, role: 'owner' | 'helper' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'get', path).expect(200)).body;

describe('a core charge', () => {
  let job: Json, need: Json;

  it('is part of what the order and the part cost as long as the old part is here', async () => {
    const placed = await post('/orders', {
      supplierId: supplier.id,
      shippingCost: '5.00',
      lines: [{ partId: starter.id, quantity: 2, unitPrice: '40.00', coreCharge: '15.00' }],
    });
    orderId = placed.order.id;
    [line] = placed.lines;
    // 2 × 40.00 and 2 × 15.00 and 5.00; a piece (80 + 30 + 5) / 2.
    expect(placed.order).toMatchObject({
      goodsCost: '80.00',
      coreCharges: '30.00',
      coresRefunded: '0.00',
      totalCost: '115.00',
    });
    expect(line).toMatchObject({
      coreCharge: '15.00',
      landedUnitCost: '57.50',
      coresReturned: 0,
      coresToReturn: 0,
      coreRefunded: '0.00',
    });
    const early = await shop.rest('owner', 'post', `/order-lines/${line.id}/core-returns`, { quantity: 1 }).expect(409);
    expect(early.body.type).toMatch(/too-many-cores$/);
    const received = await post(`/order-lines/${line.id}/receipts`, { quantity: 2, bin: 'S1' });
    stock = received.stock;
    expect(received.line.coresToReturn).toBe(2);
    expect(stock.unitCost).toBe('57.50');
    const made = await makeTask(shop, 'Fit the starter');
    job = made.job;
    ({ need } = await post('/part-needs', {
      taskId: made.task.id,
      partId: starter.id,
      quantity: 1,
      stockId: stock.id,
    }));
    await shop.rest('helper', 'post', `/part-needs/${need.id}/use`, {}, { version: need.version }).expect(200);
  });

  it('comes off again when the old part is sent in: on the order, in the bin and on the job that has the new one', async () => {
    await shop.rest('helper', 'post', `/order-lines/${line.id}/core-returns`, { quantity: 1 }).expect(403);
    const step = await post(`/order-lines/${line.id}/core-returns`, { quantity: 1, note: 'By post' });
    expect(step.coreReturn).toMatchObject({
      quantity: 1,
      supplierRefund: '15.00',
      returnedDate: '2026-09-15',
      note: 'By post',
    });
    // (115 − 15) / 2.
    expect(step.line).toMatchObject({
      coresReturned: 1,
      coresToReturn: 1,
      coreRefunded: '15.00',
      landedUnitCost: '50.00',
    });
    expect(await get(`/stock/${stock.id}`)).toMatchObject({ quantity: 1, unitCost: '50.00' });
    expect(await get(`/orders/${orderId}`)).toMatchObject({
      coreCharges: '30.00',
      coresRefunded: '15.00',
      totalCost: '100.00',
    });
    const entries = await shop.within((context) =>
      context.tx.ledgerEntry.findMany({ where: { jobId: job.id }, orderBy: { id: 'asc' } }),
    );
    expect(entries.map((entry) => entry.amount.toFixed(2)).sort()).toEqual(['-57.50', '50.00', '57.50']);
  });

  it('may be paid back in part, and no more than was charged, once for each part that came', async () => {
    const more = await shop
      .rest('owner', 'post', `/order-lines/${line.id}/core-returns`, { quantity: 1, supplierRefund: '15.01' })
      .expect(422);
    expect(more.body.errors).toEqual([{ detail: 'must not be more than the charge, 15', pointer: '/supplierRefund' }]);
    const { data, errors } = await shop.graphql(
      'owner',
      'mutation ($input: RecordCoreReturnInput!) { recordCoreReturn(input: $input) { coreReturn { ' +
        'supplierRefund } line { landedUnitCost coresToReturn ' +
        'coreReturns { quantity supplierRefund } order { coresRefunded totalCost } } } }',
      { input: { id: line.id, quantity: 1, supplierRefund: '10.00' } },
    );
    expect(errors).toBeUndefined();
    // (115 − 25) / 2; the 5.00 that were kept back stay in the cost.
    expect(data.recordCoreReturn).toEqual({
      coreReturn: { supplierRefund: '10.00' },
      line: {
        landedUnitCost: '45.00',
        coresToReturn: 0,
        coreReturns: [
          { quantity: 1, supplierRefund: '15.00' },
          { quantity: 1, supplierRefund: '10.00' },
        ],
        order: { coresRefunded: '25.00', totalCost: '90.00' },
      },
    });
    expect(
      (await shop.rest('owner', 'post', `/order-lines/${line.id}/core-returns`, { quantity: 1 }).expect(409)).body.type,
    ).toMatch(/too-many-cores$/);
    // The other one now: both jobs together bear the 90.00.
    const { task, job: second } = await makeTask(shop, 'Fit the other starter');
    const last = (await post('/part-needs', { taskId: task.id, partId: starter.id, quantity: 1, stockId: stock.id }))
      .need;
    await shop.rest('helper', 'post', `/part-needs/${last.id}/use`, {}, { version: last.version }).expect(200);
    const borne = async (jobId: string) =>
      Number(
        (await shop.within((context) => context.tx.ledgerEntry.aggregate({ where: { jobId }, _sum: { amount: true } })))
          ._sum.amount,
      );
    expect([await borne(job.id), await borne(second.id)]).toEqual([45, 45]);
  });

  it('leaves no fraction behind when three cores go back one at a time', async () => {
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      lines: [{ partId: starter.id, quantity: 3, unitPrice: '10.00', coreCharge: '5.00' }],
    });
    const received = await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 3, bin: 'S2' });
    const costs: string[] = [];
    for (let n = 0; n < 3; n += 1) {
      await post(`/order-lines/${lines[0].id}/core-returns`, { quantity: 1 });
      costs.push(
        (
          await shop.within((context) => context.tx.stock.findUniqueOrThrow({ where: { id: received.stock.id } }))
        ).unitCost.toFixed(4),
      );
    }
    // 15 less a third of 5, 10 and 15.
    expect(costs).toEqual(['13.3333', '11.6667', '10.0000']);
  });

  it('is asked back only where one was paid, by the shop that paid it; a helper is shown no amounts', async () => {
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      lines: [{ partId: starter.id, quantity: 1, unitPrice: '10.00' }],
    });
    expect(
      (await shop.rest('owner', 'post', `/order-lines/${lines[0].id}/core-returns`, { quantity: 1 }).expect(422)).body
        .type,
    ).toMatch(/no-core-charge$/);
    const theirs = await shop.anotherShop();
    await shop
      .rest(
        'owner',
        'post',
        `/order-lines/${line.id}/core-returns`,
        { quantity: 1 },
        { headers: { Authorization: `Bearer ${theirs.keys.owner}` } },
      )
      .expect(404);
    const { items } = await get(`/core-returns?orderLineId=${line.id}`, 'helper');
    expect(items.map((one: Json) => [one.quantity, one.supplierRefund])).toEqual([
      [1, null],
      [1, null],
    ]);
    await expect(
      shop.within((context) => context.tx.coreReturn.updateMany({ data: { supplierRefund: '0' } })),
    ).rejects.toThrow();
  });
});

describe('a part sent back for good', () => {
  it('counts on the order with what was paid for it and what was paid back', async () => {
    const { lines, order } = await post('/orders', {
      supplierId: supplier.id,
      lines: [{ partId: starter.id, quantity: 2, unitPrice: '20.00' }],
    });
    const { receipt } = await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, condition: 'damaged' });
    await post(`/receipts/${receipt.id}/returns`, { quantity: 1, supplierRefund: '18.00', replacementExpected: false });
    // Two were paid, 40.00; 18.00 came back; one is still to come.
    expect(await get(`/orders/${order.id}`)).toMatchObject({
      goodsCost: '20.00',
      refunded: '18.00',
      totalCost: '22.00',
    });
  });
});
