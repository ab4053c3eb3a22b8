/**
 * A back-ordered fastener from the order to the job's ledger, and what orders refuse. Amounts are worked out by hand
 * beside each check; the spread to the cent is by largest remainder (Hamilton's method).
 */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { expectedCompletions } from '../src/plan/background/schedule-now.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

jest.setTimeout(60_000);
let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const on = (day: string): void => {
  shop.clock.now = new Date(`${day}T13:00:00Z`);
};
const post = async (path: string, body: Json, status = 201, role: 'owner' | 'helper' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'post', path, body).expect(status)).body;
const get = async (path: string, role: 'owner' | 'helper' | 'reader' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'get', path).expect(200)).body;
const ask = async (query: string, variables: Json = {}, role: 'owner' | 'helper' = 'owner'): Promise<Json> => {
  const { data, errors } = await shop.graphql(role, query, variables);
  expect(errors).toBeUndefined();
  return data;
};
const status = async (needId: string): Promise<string> => (await get(`/part-needs/${needId}`, 'helper')).status;

describe('a back-ordered fastener', () => {
  let task: Json,
    job: Json,
    other: Json,
    bolt: Json,
    belt: Json,
    boltNeed: Json,
    beltNeed: Json,
    boltLine: Json,
    beltLine: Json,
    orderId: string,
    wrong: Json;

  it('is ordered: shipping and tax lie on the lines to the cent, and the needs know their lines', async () => {
    on('2026-09-15');
    ({ task, job } = await makeTask(shop, 'Fit the chute'));
    ({ task: other } = await makeTask(shop, 'Fit the belt'));
    bolt = await makePart(shop, { name: 'Chute bolt', family: 'fastener' });
    belt = await makePart(shop, { name: 'Drive belt', family: 'belt' });
    boltNeed = (await post('/part-needs', { taskId: task.id, partId: bolt.id, quantity: 3 }, 201, 'helper')).need;
    beltNeed = (await post('/part-needs', { taskId: other.id, partId: belt.id, quantity: 1 })).need;
    expect(boltNeed).toMatchObject({ status: 'unordered', quantityCovered: 0, orderLineId: null });
    const supplier = await post('/suppliers', { name: 'Hollins Mill Order' });
    const placed = await post('/orders', {
      supplierId: supplier.id,
      reference: 'HM-1',
      shippingCost: '7.00',
      taxCost: '3.79',
      lines: [
        { partId: bolt.id, quantity: 3, unitPrice: '1.25', promisedDate: '2026-09-22', partNeedIds: [boltNeed.id] },
        { partId: belt.id, quantity: 1, unitPrice: '18.40', promisedDate: '2026-09-22', partNeedIds: [beltNeed.id] },
      ],
    });
    orderId = placed.order.id;
    [boltLine, beltLine] = placed.lines;
    // Goods 3 × 1.25 + 18.40 = 22.15. Shipping 7.00: 118.51 and 581.49 cents, the odd cent to the bolts; tax 3.79:
    // 64.16 and 314.84 cents, the odd cent to the belt.
    expect(placed.order).toMatchObject({
      goodsCost: '22.15',
      totalCost: '32.94',
      unspreadCost: '0.00',
      status: 'onOrder',
      orderedDate: '2026-09-15',
    });
    expect(boltLine).toMatchObject({
      shippingShare: '1.19',
      taxShare: '0.64',
      landedUnitCost: '1.86',
      promisedDate: '2026-09-22',
      backOrdered: false,
      slipDays: 0,
    });
    expect(beltLine).toMatchObject({ shippingShare: '5.81', taxShare: '3.15', landedUnitCost: '27.36' });
    expect(await status(boltNeed.id)).toBe('onOrder');
    const arrival = await get(`/order-lines/${boltLine.id}/arrival?byDate=2027-09-15`);
    expect(arrival.p50Date >= '2026-09-15').toBe(true);
    expect(arrival.p80Date >= arrival.p50Date && arrival.p95Date >= arrival.p80Date).toBe(true);
    expect(arrival.probabilityByDate).toBeGreaterThan(0.9);
    expect(arrival.reasons.length).toBeGreaterThan(1);
  });

  it('slips: the promise moves, and the expected day with it', async () => {
    on('2026-09-21');
    const before = await get(`/order-lines/${boltLine.id}/arrival`);
    const step = await post(
      `/order-lines/${boltLine.id}/promises`,
      { promisedDate: '2026-10-02', note: 'Short at the maker' },
      201,
      'helper',
    );
    expect(step.promise).toMatchObject({ sequence: 2, statedDate: '2026-09-21', promisedDate: '2026-10-02' });
    expect(step.line).toMatchObject({
      firstPromisedDate: '2026-09-22',
      promisedDate: '2026-10-02',
      slipDays: 10,
      backOrdered: true,
      status: 'backOrdered',
      landedUnitCost: null,
    });
    expect(await status(boltNeed.id)).toBe('backOrdered');
    expect(await status(beltNeed.id)).toBe('onOrder');
    // It moves the job that waits for the bolts, later, and no other.
    expect(step.effects).toEqual([
      {
        jobId: job.id,
        jobNumber: job.number,
        jobTitle: job.title,
        before: expect.any(String),
        after: expect.any(String),
        days: expect.any(Number),
        reasons: [expect.stringMatching(/Fit the chute waits for 3 × Chute bolt .*back-ordered/)],
      },
    ]);
    expect(step.effects[0].days).toBeGreaterThan(0);
    expect((Date.parse(step.effects[0].after) - Date.parse(step.effects[0].before)) / 86_400_000).toBe(
      step.effects[0].days,
    );
    const after = await get(`/order-lines/${boltLine.id}/arrival`);
    expect(after.p50Date > before.p50Date).toBe(true);
    expect(after.reasons.join(' ')).toMatch(/changed once/);
  });

  it('waits alone: the belt of the same order comes on its day', async () => {
    on('2026-09-22');
    const step = await post(`/order-lines/${beltLine.id}/receipts`, { quantity: 1, bin: 'B2' });
    expect(step.line).toMatchObject({ status: 'received', backOrdered: false, slipDays: 0 });
    expect(await status(beltNeed.id)).toBe('onHand');
    expect(await status(boltNeed.id)).toBe('backOrdered');
  });

  it('slips again: the supplier names no day any more (told over GraphQL)', async () => {
    on('2026-10-01');
    const { recordPromise } = await ask(
      'mutation ($input: RecordPromiseInput!) { recordPromise(input: $input) { promise { sequence ' +
        'promisedDate } line { promisedDate slipDays backOrdered promises { promisedDate } } effects { jobNumber days reasons } } }',
      { input: { id: boltLine.id, promisedDate: null } },
      'helper',
    );
    expect(recordPromise.effects).toEqual([
      {
        jobNumber: job.number,
        days: expect.any(Number),
        reasons: [expect.stringMatching(/Chute bolt .*back-ordered/)],
      },
    ]);
    expect(recordPromise.effects[0].days).toBeGreaterThan(0);
    expect(recordPromise).toMatchObject({
      promise: { sequence: 3, promisedDate: null },
      line: {
        promisedDate: null,
        slipDays: null,
        backOrdered: true,
        promises: [{ promisedDate: '2026-09-22' }, { promisedDate: '2026-10-02' }, { promisedDate: null }],
      },
    });
  });

  it('comes in part: one is held for the task, two are still to come', async () => {
    on('2026-10-05');
    const step = await post(
      `/order-lines/${boltLine.id}/receipts`,
      { quantity: 1, condition: 'good', bin: 'A1' },
      201,
      'helper',
    );
    expect(step.line).toMatchObject({
      quantityOrdered: 3,
      quantityReceived: 1,
      quantityOutstanding: 2,
      status: 'backOrdered',
    });
    // A helper sees no price.
    expect(step.stock).toMatchObject({
      bin: 'A1',
      quantity: 1,
      quantityReserved: 1,
      quantityFree: 0,
      unitCost: null,
      source: 'bought',
    });
    expect(await get(`/stock/${step.stock.id}`, 'reader')).toMatchObject({ unitCost: '1.86' });
    expect(await get(`/part-needs/${boltNeed.id}`)).toMatchObject({
      status: 'partlyReceived',
      quantityCovered: 1,
      stockId: step.stock.id,
    });
    // It is held: another task cannot have it.
    const rival = (await post('/part-needs', { taskId: other.id, partId: bolt.id, quantity: 1 })).need;
    const refused = await shop
      .rest('helper', 'post', `/part-needs/${rival.id}/reserve`, { stockId: step.stock.id }, { version: rival.version })
      .expect(409);
    expect(refused.body.type).toMatch(/not-free$/);
    await shop.rest('helper', 'delete', `/part-needs/${rival.id}`, undefined, { version: rival.version }).expect(200);
    const early = await shop.rest('helper', 'post', `/part-needs/${boltNeed.id}/use`, {}, { version: 3 }).expect(409);
    expect(early.body.type).toMatch(/not-on-hand$/);
  });

  it('comes wrong, and goes back: neither counts as received', async () => {
    on('2026-10-06');
    const step = await post(
      `/order-lines/${boltLine.id}/receipts`,
      { quantity: 2, condition: 'wrong', note: 'Metric' },
      201,
      'helper',
    );
    wrong = step.receipt;
    expect(step).toMatchObject({
      stock: null,
      receipt: { condition: 'wrong', stockId: null },
      line: { quantityReceived: 1, quantityOutstanding: 2 },
      effects: [],
    });
    on('2026-10-07');
    await shop.rest('helper', 'post', `/receipts/${wrong.id}/returns`, { quantity: 2 }).expect(403);
    const { recordReturn } = await ask(
      'mutation ($input: RecordReturnInput!) { recordReturn(input: $input) { partReturn { quantity ' +
        'supplierRefund replacementExpected } line { quantityOutstanding quantityCancelled } } }',
      { input: { id: wrong.id, quantity: 2, supplierRefund: '0.80', reason: 'Metric thread' } },
    );
    expect(recordReturn).toEqual({
      partReturn: { quantity: 2, supplierRefund: '0.80', replacementExpected: true },
      line: { quantityOutstanding: 2, quantityCancelled: 0 },
    });
    // 32.94 less 0.80; and its bolts cost so much less, 3 × 1.86 − 0.80 = 4.78 for the three, in the bin already.
    expect((await get(`/order-lines/${boltLine.id}`, 'owner')).landedUnitCost).toBe('1.59');
    expect(await get(`/stock/${(await get(`/part-needs/${boltNeed.id}`)).stockId}`, 'owner')).toMatchObject({
      unitCost: '1.59',
    });
    expect(await get(`/orders/${orderId}`)).toMatchObject({
      refunded: '0.80',
      totalCost: '32.14',
      status: 'backOrdered',
    });
    const twice = await shop.rest('owner', 'post', `/receipts/${wrong.id}/returns`, { quantity: 1 }).expect(409);
    expect(twice.body.type).toMatch(/too-many-returned$/);
    expect(await status(boltNeed.id)).toBe('partlyReceived');
  });

  it('comes right: the line is received, the need on hand', async () => {
    on('2026-10-12');
    await shop.rest('helper', 'post', `/order-lines/${boltLine.id}/receipts`, { quantity: 3, bin: 'A1' }).expect(409);
    const elsewhere = await shop
      .rest('helper', 'post', `/order-lines/${boltLine.id}/receipts`, { quantity: 2, bin: 'Z9' })
      .expect(422);
    expect(elsewhere.body.detail).toMatch(/bin A1/);
    const step = await post(`/order-lines/${boltLine.id}/receipts`, { quantity: 2, bin: 'A1' });
    expect(step.line).toMatchObject({
      quantityReceived: 3,
      quantityOutstanding: 0,
      status: 'received',
      backOrdered: false,
    });
    expect(step.stock).toMatchObject({ quantity: 3, quantityReserved: 3, quantityFree: 0 });
    // An hour of work on an open day: it can be finished today.
    expect(step.effects).toEqual([expect.objectContaining({ jobNumber: job.number, after: '2026-10-12' })]);
    expect(step.effects[0].days).toBeLessThan(0);
    expect(await status(boltNeed.id)).toBe('onHand');
    const { orderLine, partNeed } = await ask(
      `query ($line: ID!, $need: ID!) {
        orderLine(id: $line) { status arrival { p50Date } receipts { quantity condition returns { quantity } }
          order { status supplier { name } } }
        partNeed(id: $need) { status stock { bin movements { change reason } } task { name } }
      }`,
      { line: boltLine.id, need: boltNeed.id },
    );
    expect(orderLine).toEqual({
      status: 'received',
      arrival: null,
      receipts: [
        { quantity: 1, condition: 'good', returns: [] },
        { quantity: 2, condition: 'wrong', returns: [{ quantity: 2 }] },
        { quantity: 2, condition: 'good', returns: [] },
      ],
      order: { status: 'received', supplier: { name: 'Hollins Mill Order' } },
    });
    expect(partNeed).toEqual({
      status: 'onHand',
      stock: {
        bin: 'A1',
        movements: [
          { change: 1, reason: 'received' },
          { change: 2, reason: 'received' },
        ],
      },
      task: { name: 'Fit the chute' },
    });
  });

  it('is fitted: the bin is empty and the job bears the landed cost', async () => {
    const need = await get(`/part-needs/${boltNeed.id}`);
    const used = await shop
      .rest('helper', 'post', `/part-needs/${need.id}/use`, {}, { version: need.version })
      .expect(200);
    expect(used.body.need).toMatchObject({ status: 'used', usedDate: '2026-10-12' });
    expect(await get(`/stock/${need.stockId}`)).toMatchObject({ quantity: 0, quantityReserved: 0 });
    const entries = await shop.within((context) =>
      context.tx.ledgerEntry.findMany({ where: { partNeedId: need.id }, orderBy: { createdAt: 'asc' } }),
    );
    // 3 × 1.86 less the 0.80 that was paid back: all that the order cost lies on its parts.
    expect(entries.map((entry) => [entry.kind, entry.amount.toFixed(2), entry.jobId])).toEqual([
      ['part', '4.78', task.jobId],
    ]);
    const back = await shop
      .rest('helper', 'post', `/part-needs/${need.id}/return-to-stock`, undefined, { version: used.body.need.version })
      .expect(200);
    expect(back.body.need).toMatchObject({ status: 'onHand', usedDate: null });
    const again = await shop.within((context) =>
      context.tx.ledgerEntry.findMany({ where: { partNeedId: need.id }, orderBy: { createdAt: 'asc' } }),
    );
    expect(again.map((entry) => entry.amount.toFixed(2))).toEqual(['4.78', '-4.78']);
    expect(again[1]!.reversesId).toBe(again[0]!.id);
  });

  it('is told to a helper without a price', async () => {
    expect(await get(`/orders/${orderId}`, 'helper')).toMatchObject({
      shippingCost: null,
      totalCost: null,
      goodsCost: null,
      status: 'received',
    });
    expect(await get(`/order-lines/${boltLine.id}`, 'helper')).toMatchObject({
      unitPrice: null,
      landedUnitCost: null,
      quantityReceived: 3,
    });
    await shop
      .rest('helper', 'post', '/orders', {
        supplierId: orderId,
        lines: [{ partId: bolt.id, quantity: 1, unitPrice: '1.00' }],
      })
      .expect(403);
  });
});

describe('orders', () => {
  let supplier: Json, bolt: Json, cover: Json, lines: Json;
  beforeAll(async () => {
    on('2026-11-02');
    supplier = await post('/suppliers', { name: 'Ridgeback Spares' });
    bolt = await makePart(shop, { name: 'Skid bolt', family: 'fastener' });
    cover = await makePart(shop, { name: 'Belt cover', family: 'cover' });
  });
  const place = (changes: Json = {}): Promise<Json> =>
    post('/orders', {
      supplierId: supplier.id,
      shippingCost: '10.00',
      lines: [
        { partId: bolt.id, quantity: 2, unitPrice: '5.00' },
        { partId: cover.id, quantity: 1, unitPrice: '20.00' },
      ],
      ...changes,
    });

  it('spread equally or by value, and by equal shares where nothing costs anything', async () => {
    const shares = async (changes: Json) => (await place(changes)).lines.map((line: Json) => line.shippingShare);
    // By value 10 : 20, so 333.3 and 666.7 cents.
    expect(await shares({})).toEqual(['3.33', '6.67']);
    expect(await shares({ spreadMethod: 'equal' })).toEqual(['5.00', '5.00']);
    expect(
      await shares({
        lines: [
          { partId: bolt.id, quantity: 2, unitPrice: '0.00' },
          { partId: cover.id, quantity: 1, unitPrice: '0.00' },
        ],
      }),
    ).toEqual(['5.00', '5.00']);
  });

  it('take another line, and lose one, while nothing has come', async () => {
    const { order } = await place();
    const step = await post(`/orders/${order.id}/lines`, {
      partId: cover.id,
      quantity: 1,
      unitPrice: '10.00',
      shippingCost: '12.00',
    });
    // 10 : 20 : 10 of 12.00.
    expect(step.lines.map((line: Json) => line.shippingShare)).toEqual(['3.00', '6.00', '3.00']);
    expect(step.order).toMatchObject({ version: 2, totalCost: '52.00' });
    const line = step.lines[1];
    const cancelled = await shop
      .rest('owner', 'post', `/order-lines/${line.id}/cancel`, {}, { version: line.version })
      .expect(200);
    expect(cancelled.body.line).toMatchObject({
      status: 'cancelled',
      quantityCancelled: 1,
      shippingShare: '0.00',
      landedUnitCost: null,
    });
    // 12.00 over 10 : 10.
    const { orderLines } = await ask(
      'query ($id: ID!) { orderLines(orderId: $id) { edges { node { shippingShare landedUnitCost } } } }',
      { id: order.id },
    );
    expect(orderLines.edges.map((edge: Json) => edge.node)).toEqual([
      { shippingShare: '6.00', landedUnitCost: '8.00' },
      { shippingShare: '0.00', landedUnitCost: null },
      { shippingShare: '6.00', landedUnitCost: '16.00' },
    ]);
    await shop.rest('owner', 'post', `/order-lines/${line.id}/cancel`, {}, { version: line.version }).expect(412);
    await shop
      .rest('owner', 'post', `/order-lines/${line.id}/cancel`, {}, { version: cancelled.body.line.version })
      .expect(409);
  });

  it('keep their shares once something has come; what is cancelled then lies on no part', async () => {
    const { order, lines } = await place();
    await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, bin: 'C1' });
    const late = await shop
      .rest('owner', 'post', `/orders/${order.id}/lines`, { partId: cover.id, quantity: 1, unitPrice: '1.00' })
      .expect(409);
    expect(late.body.type).toMatch(/partly-received$/);
    await shop.rest('owner', 'patch', `/orders/${order.id}`, { shippingCost: '11.00' }, { version: 1 }).expect(409);
    const noted = await shop
      .rest('owner', 'patch', `/orders/${order.id}`, { notes: 'Rang them' }, { version: 1 })
      .expect(200);
    expect(noted.body.order).toMatchObject({ notes: 'Rang them', version: 2, shippingCost: '10.00' });
    const current = await get(`/order-lines/${lines[0].id}`);
    const step = await shop
      .rest('owner', 'post', `/order-lines/${lines[0].id}/cancel`, {}, { version: current.version })
      .expect(200);
    // Half of 3.33 stays: 166.5 cents go to 1.67 and 1.66, the first named first.
    expect(step.body.line).toMatchObject({
      quantityReceived: 1,
      quantityCancelled: 1,
      shippingShare: '1.67',
      status: 'received',
    });
    expect(await get(`/orders/${order.id}`)).toMatchObject({
      unspreadCost: '1.66',
      goodsCost: '25.00',
      totalCost: '35.00',
      status: 'onOrder',
    });
  });

  it('send back what came good after all: the task waits again', async () => {
    const { task } = await makeTask(shop, 'Fit the skids');
    const { need } = await post('/part-needs', { taskId: task.id, partId: bolt.id, quantity: 2 });
    const { lines } = await place({
      lines: [{ partId: bolt.id, quantity: 2, unitPrice: '5.00', partNeedIds: [need.id] }],
    });
    const { receipt } = await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 2, bin: 'D1' });
    expect(await status(need.id)).toBe('onHand');
    const kept = await shop
      .rest('owner', 'post', `/receipts/${receipt.id}/returns`, { quantity: 1, replacementExpected: false })
      .expect(409);
    expect(kept.body.type).toMatch(/reserved$/);
    const step = await post(`/receipts/${receipt.id}/returns`, { quantity: 1, reason: 'Cracked head' });
    expect(step.line).toMatchObject({ quantityReceived: 1, quantityOutstanding: 1 });
    expect(await status(need.id)).toBe('partlyReceived');
    await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, bin: 'D1' });
    expect(await status(need.id)).toBe('onHand');
  });

  it('cancel what is sent back for good', async () => {
    const { lines } = await place({
      shippingCost: '0',
      lines: [{ partId: cover.id, quantity: 2, unitPrice: '20.00' }],
    });
    const { receipt } = await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, condition: 'damaged' });
    const step = await post(`/receipts/${receipt.id}/returns`, {
      quantity: 1,
      supplierRefund: '20.00',
      replacementExpected: false,
    });
    expect(step.line).toMatchObject({ quantityCancelled: 1, quantityOutstanding: 1 });
  });

  it('never bring more than a line has room for', async () => {
    const { task } = await makeTask(shop, 'Fit both covers');
    const { need } = await post('/part-needs', { taskId: task.id, partId: cover.id, quantity: 2 });
    const small = await shop
      .rest('owner', 'post', '/orders', {
        supplierId: supplier.id,
        lines: [{ partId: cover.id, quantity: 1, unitPrice: '20.00', partNeedIds: [need.id] }],
      })
      .expect(409);
    expect(small.body.type).toMatch(/line-too-small$/);
    const { lines } = await place();
    await shop
      .rest(
        'helper',
        'post',
        `/part-needs/${need.id}/allocate`,
        { orderLineId: lines[1].id },
        { version: need.version },
      )
      .expect(409);
    await shop
      .rest(
        'helper',
        'post',
        `/part-needs/${need.id}/allocate`,
        { orderLineId: lines[0].id },
        { version: need.version },
      )
      .expect(422);
  });

  it.each([
    ['a promise before it was made', '/promises', { promisedDate: '2026-11-01' }, 422],
    ['a promise made tomorrow', '/promises', { promisedDate: '2026-12-01', statedDate: '2026-11-03' }, 422],
    ['a promise made before the order', '/promises', { promisedDate: '2026-12-01', statedDate: '2026-10-01' }, 422],
    ['a promise without saying whether a day was named', '/promises', {}, 422],
    ['a receipt before the order', '/receipts', { quantity: 1, bin: 'A', receivedDate: '2026-10-01' }, 422],
    ['good parts without a bin', '/receipts', { quantity: 1 }, 422],
    ['half a thousandth', '/receipts', { quantity: 0.0005, bin: 'A' }, 422],
    ['nothing', '/receipts', { quantity: 0, bin: 'A' }, 422],
  ])('refuse %s', async (_what, path, body, status) => {
    lines ??= (await place()).lines;
    await shop.rest('owner', 'post', `/order-lines/${lines[0].id}${path}`, body).expect(status);
  });

  it('receive the last piece once, however many hands record it at once', async () => {
    const [line] = (await place()).lines;
    await post(`/order-lines/${line.id}/receipts`, { quantity: 1, bin: 'G1' });
    const replies = await Promise.all(
      [1, 2, 3].map(() => shop.rest('helper', 'post', `/order-lines/${line.id}/receipts`, { quantity: 1, bin: 'G1' })),
    );
    expect(replies.map((reply) => reply.status).sort()).toEqual([201, 409, 409]);
    expect(await get(`/order-lines/${line.id}`)).toMatchObject({ quantityReceived: 2, quantityOutstanding: 0 });
    expect((await get(`/stock?bin=G1`)).items.map((one: Json) => one.quantity)).toEqual([2]);
  });

  it('belong to one shop', async () => {
    const { order, lines } = await place();
    const theirs = await shop.anotherShop();
    const theirOwn = (path: string) =>
      shop.rest('owner', 'get', path, undefined, { headers: { Authorization: `Bearer ${theirs.keys.owner}` } });
    await theirOwn(`/orders/${order.id}`).expect(404);
    await theirOwn(`/order-lines/${lines[0].id}/arrival`).expect(404);
    await shop
      .rest(
        'owner',
        'post',
        `/order-lines/${lines[0].id}/promises`,
        { promisedDate: '2026-12-01' },
        { headers: { Authorization: `Bearer ${theirs.keys.owner}` } },
      )
      .expect(404);
  });

  it('are back-ordered once a promise has passed', async () => {
    const { lines } = await place({
      lines: [{ partId: bolt.id, quantity: 1, unitPrice: '5.00', promisedDate: '2026-11-05' }],
    });
    on('2026-11-05');
    expect(await get(`/order-lines/${lines[0].id}`)).toMatchObject({
      backOrdered: false,
      slipDays: 0,
      status: 'onOrder',
    });
    on('2026-11-14');
    expect(await get(`/order-lines/${lines[0].id}`)).toMatchObject({
      backOrdered: true,
      slipDays: 9,
      status: 'backOrdered',
    });
  });

  it('are read with their lines, promises and forecasts in a number of statements that does not grow', async () => {
    const read = async () => {
      const { statements } = await shop.database.countStatements(() =>
        ask(
          '{ orders(first: 50) { edges { node { status totalCost supplier { name } lines { status part { name ' +
            'quantityFree } promises { promisedDate } arrival { p50Date } partNeeds { status } } } } } }',
        ),
      );
      return statements.length;
    };
    const few = await read();
    for (let n = 0; n < 5; n += 1) await place();
    expect(await read()).toBe(few);
  });
});

describe('a date far off', () => {
  it('holds its job up as long as it says, and one beyond all forecasts for good', async () => {
    on('2026-09-15');
    const wait = async (name: string, promisedDate: string): Promise<Json> => {
      const { task, job } = await makeTask(shop, `Fit ${name}`);
      const part = await makePart(shop, { name, family: 'castings' });
      const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1 });
      const supplier = await post('/suppliers', { name: `Foundry of ${name}` });
      const { lines } = await post('/orders', {
        supplierId: supplier.id,
        lines: [{ partId: part.id, quantity: 1, unitPrice: '9.00', promisedDate, partNeedIds: [need.id] }],
      });
      return { job, arrival: await get(`/order-lines/${lines[0].id}/arrival`) };
    };
    // Of this supplier nothing is known yet, and no order of the shop took 273 days.
    const far = await wait('Gear case', '2027-06-15');
    expect(far.arrival.p50Date >= '2027-05-01').toBe(true);
    expect(far.arrival.reasons.join(' ')).toContain('far beyond ordinary lead times');
    const { arrival } = await ask('query ($id: ID!) { arrival(id: $id) { p50Date components { kind share } } }', {
      id: far.arrival.orderLineId,
    });
    expect(arrival.p50Date).toBe(far.arrival.p50Date);
    expect(arrival.components.find((one: Json) => one.kind === 'promise').share).toBeGreaterThan(0.75);
    const never = await wait('Housing', '2029-06-15');
    expect(never.arrival.p50Date).toBeNull();
    const completions = await shop.within((context) => expectedCompletions(context));
    expect(completions.get(far.job.id)!.day! >= far.arrival.p50Date).toBe(true);
    expect(completions.get(never.job.id)!.day).toBeNull();
  });
});
