/**
 * After the sale: money paid back, machines that come back, work under warranty; in each tax scheme and in currencies
 * of no and of three decimals.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import request from 'supertest';
import { missingSafetyChecks } from '../src/diagnosis/diagnosis.queries.js';
import { type Json, startTestShop, type TestShopSettings } from './harness/server.js';

/** A shop and short words for it. */
async function open(settings: TestShopSettings) {
  const shop = await startTestShop({ spaceCostPerDay: '0', hourlyValue: '0', haulCostPerKilometre: '0', ...settings });
  const post = async (path: string, body: Json, status = 201): Promise<Json> => {
    const reply = await shop.rest('owner', 'post', path, body);
    if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${reply.body.detail}`);
    return reply.body;
  };
  const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
  const makeSafe = (jobId: string) =>
    shop.within(async (context) => {
      const missing = await missingSafetyChecks(context, jobId);
      await context.tx.safetyCheck.createMany({
        data: missing.map(({ code }) => ({
          shopId: shop.shopId,
          jobId,
          check: code,
          passed: true,
          checkedBy: 'Mira',
          checkedDate: new Date('2026-09-15'),
        })),
      });
    });
  const sold = async (
    bought: string,
    price: string,
    sellingCost = '0',
  ): Promise<{ machineId: string; jobId: string; saleId: string }> => {
    const acquisition = await post('/acquisitions', {
      source: 'classified',
      acquiredDate: '2026-09-05',
      price: bought,
    });
    const machine = await post('/machines', {
      acquisitionId: acquisition.id,
      kind: 'twoStageThrower',
      maker: 'Hallgrim',
      model: 'Boreal',
    });
    const job = await post('/jobs', { machineId: machine.id });
    await makeSafe(job.id);
    return {
      machineId: machine.id,
      jobId: job.id,
      saleId: (await post('/sales', { jobId: job.id, price, sellingCost })).id,
    };
  };
  const ledger = async (jobId: string): Promise<[string, string][]> =>
    (await get(`/ledger-entries?jobId=${jobId}&sort=createdAt`)).items
      // What the machine was bought for has its own test.
      .filter((one: Json) => one.kind !== 'purchase')
      .map((one: Json) => [one.kind, one.amount]);
  const close = async (jobId: string, outcome: string, status = 200): Promise<Json> =>
    (
      await shop
        .rest('owner', 'post', `/jobs/${jobId}/close`, { outcome }, { version: (await get(`/jobs/${jobId}`)).version })
        .expect(status)
    ).body;
  return { shop, post, get, makeSafe, sold, ledger, close, end: () => shop.close() };
}
type Opened = Awaited<ReturnType<typeof open>>;

describe('part of the price paid back', () => {
  let my: Opened;
  afterAll(() => my.end());

  // 300 for a machine of 100, 40 given back for a scratch: the buyer finally paid 260.
  it('lowers the margin, through both APIs, and is undone by its opposite', async () => {
    my = await open({ taxScheme: 'none' });
    const { jobId, saleId } = await my.sold('100.00', '300.00', '12.00');
    expect((await my.get(`/jobs/${jobId}/cost`)).cashMargin).toBe('188.00');
    const made = await my.shop.graphql(
      'owner',
      'mutation ($r: CreateCustomerRefundInput!) { createCustomerRefund(input: $r) { id amount taxRefund machineReturned reversedDate } }',
      { r: { saleId, amount: '40', reason: 'A scratch' } },
    );
    expect(made.data.createCustomerRefund).toMatchObject({
      amount: '40.00',
      taxRefund: '0.00',
      machineReturned: false,
      reversedDate: null,
    });
    expect(await my.get(`/jobs/${jobId}/cost`)).toMatchObject({
      salePrice: '300.00',
      customerRefundTotal: '40.00',
      selling: '12.00',
      cashMargin: '148.00',
      gainOnPurchase: '160.00',
    });
    expect(await my.get(`/sales/${saleId}`)).toMatchObject({
      price: '300.00',
      customerRefundTotal: '40.00',
      returnedDate: null,
    });
    expect(await my.ledger(jobId)).toEqual([
      ['saleProceeds', '300.00'],
      ['selling', '12.00'],
      ['customerRefund', '40.00'],
    ]);
    const seen = await my.shop.graphql(
      'owner',
      'query ($j: ID!) { job(id: $j) { status cost { customerRefundTotal cashMargin } machine { result { sold work purchase result } } } }',
      { j: jobId },
    );
    expect(seen.data.job).toEqual({
      status: 'sold',
      cost: { customerRefundTotal: '40.00', cashMargin: '148.00' },
      machine: { result: { sold: '260.00', work: '12.00', purchase: '100.00', result: '148.00' } },
    });

    const { id } = made.data.createCustomerRefund;
    expect((await my.post(`/sales/${saleId}/reverse`, { reason: 'x' }, 409)).type).toMatch(/refunds-stand$/);
    const entry = (await my.get(`/ledger-entries?jobId=${jobId}&kind=customerRefund`)).items[0];
    expect((await my.post(`/ledger-entries/${entry.id}/reverse`, { reason: 'x' }, 409)).detail).toContain(
      'reverse the refund',
    );
    expect((await my.post(`/customer-refunds/${id}/reverse`, { reason: 'Wrong sale' }, 200)).reversedDate).toBe(
      '2026-09-15',
    );
    expect((await my.get(`/jobs/${jobId}/cost`)).cashMargin).toBe('188.00');
    expect((await my.ledger(jobId)).at(-1)).toEqual(['customerRefund', '-40.00']);
    expect((await my.post(`/customer-refunds/${id}/reverse`, { reason: 'x' }, 409)).type).toMatch(/already-reversed$/);
    await my.post(`/sales/${saleId}/reverse`, { reason: 'Never came about' }, 200);
  });

  it('is at most what the buyer has paid, from the day of the sale to today, by the owner', async () => {
    const { saleId, jobId } = await my.sold('100.00', '300.00');
    for (const [fields, pointer] of [
      [{ amount: '300.01' }, '/amount'],
      [{ amount: '0' }, '/amount'],
      [{ amount: '1.005' }, '/amount'],
      [{ amount: '1', refundedDate: '2026-09-16' }, '/refundedDate'],
      [{ amount: '1', refundedDate: '2026-09-14' }, '/refundedDate'],
    ] as const) {
      expect((await my.post('/customer-refunds', { saleId, reason: 'x', ...fields }, 422)).errors[0].pointer).toBe(
        pointer,
      );
    }
    await my.post('/customer-refunds', { saleId, amount: '200.00', reason: 'x' });
    await my.post('/customer-refunds', { saleId, amount: '100.01', reason: 'x' }, 422);
    await my.shop.rest('helper', 'post', '/customer-refunds', { saleId, amount: '1', reason: 'x' }).expect(403);
    await my.shop.rest('owner', 'post', '/customer-refunds', { saleId: jobId, amount: '1', reason: 'x' }).expect(404);
    // By hand there is only what is paid to the shop; the documentation says where the other goes.
    await my.post('/ledger-entries', { jobId, kind: 'customerRefund', amount: '5.00', description: 'x' }, 422);
    const told = await my.shop.graphql('owner', '{ __type(name: "WrittenKind") { description } }');
    expect(told.data.__type.description).toContain('Paid to the shop: refund');
    const { body } = await request(my.shop.app.getHttpServer()).get('/openapi.json').expect(200);
    expect(JSON.stringify(body)).toContain('record a refund of the sale');
  });

  it('of two at once, the second sees the first', async () => {
    const { saleId } = await my.sold('100.00', '300.00');
    const both = await Promise.all(
      [1, 2].map(() => my.shop.rest('owner', 'post', '/customer-refunds', { saleId, amount: '200.00', reason: 'x' })),
    );
    expect(both.map((one) => one.status).sort()).toEqual([201, 422]);
    expect((await my.get(`/sales/${saleId}`)).customerRefundTotal).toBe('200.00');
  });
});

// By hand, half up. Sales tax 13 %: 300.00 → 39.00; on the 260.00 left 33.80, so 5.20 goes back. Margin scheme 20 %:
// (300 − 100) × 20/120 = 33.333 → 33.33; (260 − 100)/6 = 26.667 → 26.67, so 6.66 less is owed; net 260 − 26.67 − 100 =
// 133.33. JPY margin scheme 10 %: (30000 − 10000)/11 = 1818.18 → 1818; (26000 − 10000)/11 = 1454.55 → 1455; net 26000 −
// 1455 − 10000 = 14545. KWD margin scheme 5 %: (300.125 − 100.500)/21 = 9.50595 → 9.506; (260.000 − 100.500)/21 =
// 7.59524 → 7.595; net 260 − 7.595 − 100.5 = 151.905. KWD sales tax 5 %: 300.125 → 15.00625 → 15.006; 260.000 → 13.000;
// back 2.006; margin 260 − 100.5 = 159.5.
describe.each([
  ['CAD', 'salesTax', 13, '100.00', '300.00', '40.00', '39.00', '33.80', '5.20', '160.00'],
  ['EUR', 'marginScheme', 20, '100.00', '300.00', '40.00', '33.33', '26.67', '6.66', '133.33'],
  ['JPY', 'marginScheme', 10, '10000', '30000', '4000', '1818', '1455', '363', '14545'],
  ['KWD', 'marginScheme', 5, '100.500', '300.125', '40.125', '9.506', '7.595', '1.911', '151.905'],
  ['KWD', 'salesTax', 5, '100.500', '300.125', '40.125', '15.006', '13.000', '2.006', '159.500'],
] as const)(
  'tax in %s under %s of %s %%',
  (currency, taxScheme, taxRatePercent, bought, price, back, taxBefore, taxAfter, taxRefund, margin) => {
    let my: Opened;
    beforeAll(async () => {
      my = await open({ currency, taxScheme, taxRatePercent });
    });
    afterAll(() => my.end());

    it("is on what the buyer finally paid, whatever the shop's scheme is by then", async () => {
      const { jobId, saleId } = await my.sold(bought, price);
      expect((await my.get(`/sales/${saleId}`)).taxCollected).toBe(taxBefore);
      await my.shop
        .rest(
          'owner',
          'patch',
          '/shop',
          { taxScheme: 'none', taxRatePercent: 0 },
          { version: (await my.get('/shop')).version },
        )
        .expect(200);
      const customerRefund = await my.post('/customer-refunds', { saleId, amount: back, reason: 'Late' });
      expect(customerRefund.taxRefund).toBe(taxRefund);
      expect((await my.get(`/sales/${saleId}`)).taxCollected).toBe(taxAfter);
      expect(await my.get(`/jobs/${jobId}/cost`)).toMatchObject({
        taxDue: taxAfter,
        cashMargin: margin,
        gainOnPurchase: margin,
      });
      if (taxScheme === 'marginScheme')
        expect((await my.ledger(jobId)).filter(([kind]) => kind === 'tax')).toEqual([
          ['tax', taxBefore],
          ['tax', `-${taxBefore}`],
          ['tax', taxAfter],
        ]);
      await my.post(`/customer-refunds/${customerRefund.id}/reverse`, { reason: 'x' }, 200);
      expect((await my.get(`/sales/${saleId}`)).taxCollected).toBe(taxBefore);
      // All of it back: nothing was sold, nothing is owed.
      await my.post('/customer-refunds', { saleId, amount: price, machineReturned: true, reason: 'Brought back' });
      expect(Number((await my.get(`/sales/${saleId}`)).taxCollected)).toBe(0);
      expect((await my.get(`/jobs/${jobId}/cost`)).cashMargin).toBe(`-${bought}`);
    });
  },
);

describe('a purchase price corrected after the sale', () => {
  // 20 % on 300 − 100: 33.33. Bought for 40 as it turns out: on 300 − 40 it had been 43.33, on 260 − 40 it is 36.67; 6.66 goes back.
  it('is what the tax is then computed from', async () => {
    const my = await open({ currency: 'EUR', taxScheme: 'marginScheme', taxRatePercent: 20 });
    const { jobId, saleId, machineId } = await my.sold('100.00', '300.00');
    const { acquisitionId } = await my.get(`/machines/${machineId}`);
    await my.shop
      .rest(
        'owner',
        'patch',
        `/acquisitions/${acquisitionId}`,
        { price: '40.00' },
        { version: (await my.get(`/acquisitions/${acquisitionId}`)).version },
      )
      .expect(200);
    expect((await my.post('/customer-refunds', { saleId, amount: '40.00', reason: 'A scratch' })).taxRefund).toBe(
      '6.66',
    );
    expect(await my.get(`/jobs/${jobId}/cost`)).toMatchObject({ taxDue: '36.67', cashMargin: '183.33' });
    await my.end();
  });
});

describe('a machine that comes back for a part of its price', () => {
  // 20 % margin scheme, bought for 100. Sold for 220: 120/6 = 20.00. 150 back: 70 are kept, against 100: nothing. Of the price
  // 30 are left for the next: (200 − 30)/6 = 28.33; all in all (270 − 100)/6. Sold under no scheme, the 70 took nothing of it:
  // (200 − 100)/6 = 16.67.
  it.each([
    ['marginScheme', 20, '20.00', '28.33'],
    ['none', 0, '0.00', '16.67'],
  ] as const)(
    'has set its purchase against what was kept, once: first %s',
    async (taxScheme, taxRatePercent, taxBefore, taxAgain) => {
      const my = await open({ currency: 'EUR', taxScheme, taxRatePercent });
      const { machineId, saleId } = await my.sold('100.00', '220.00');
      const { taxCollected } = await my.get(`/sales/${saleId}`);
      expect(taxCollected).toBe(taxBefore);
      await my.post('/customer-refunds', { saleId, amount: '150.00', machineReturned: true, reason: 'Will not start' });
      await my.shop
        .rest(
          'owner',
          'patch',
          '/shop',
          { taxScheme: 'marginScheme', taxRatePercent: 20 },
          { version: (await my.get('/shop')).version },
        )
        .expect(200);
      const job = await my.post('/jobs', { machineId });
      await my.makeSafe(job.id);
      const again = await my.post('/sales', { jobId: job.id, price: '200.00' });
      expect([(await my.get(`/sales/${saleId}`)).taxCollected, again.taxCollected]).toEqual(['0.00', taxAgain]);
      // What is paid back of the second leaves the first as it is: (170 − 30)/6 = 23.33; (170 − 100)/6 = 11.67.
      await my.post('/customer-refunds', { saleId: again.id, amount: '30.00', reason: 'A scratch' });
      expect((await my.get(`/sales/${again.id}`)).taxCollected).toBe(taxScheme === 'none' ? '11.67' : '23.33');
      await my.end();
    },
  );

  // Bought for 100, sold for 300, 150 back: (150 − 100)/6 = 8.33. Taken apart afterwards, 10 more back: (140 − 100)/6 = 6.67.
  it('and what is taken off it afterwards changes nothing for that buyer', async () => {
    const my = await open({ currency: 'EUR', taxScheme: 'marginScheme', taxRatePercent: 20 });
    const { machineId, saleId } = await my.sold('100.00', '300.00');
    await my.post('/customer-refunds', { saleId, amount: '150.00', machineReturned: true, reason: 'Will not start' });
    expect((await my.get(`/sales/${saleId}`)).taxCollected).toBe('8.33');
    await my.shop
      .rest(
        'owner',
        'patch',
        `/machines/${machineId}`,
        { disposition: 'donor' },
        { version: (await my.get(`/machines/${machineId}`)).version },
      )
      .expect(200);
    const { id: partId } = await my.post('/parts', { name: 'Auger gearbox', family: 'gearbox' });
    await my.post('/harvests', {
      machineId,
      restValue: '40.00',
      parts: [{ partId, quantity: 1, unitValue: '60.00', bin: 'A1' }],
    });
    await my.post('/customer-refunds', { saleId, amount: '10.00', reason: 'Post' });
    expect((await my.get(`/sales/${saleId}`)).taxCollected).toBe('6.67');
    await my.end();
  });
});

describe('a machine that comes back', () => {
  let my: Opened;
  beforeAll(async () => {
    my = await open({});
  });
  afterAll(() => my.end());

  // Bought 60, sold 200 with 15 of selling, 180 given back; mended for 20, sold again for 190: −60 − 15 + 20 − 20 + 190 = 115.
  it("is the shop's again: worked on, priced, sold; what selling cost stays spent", async () => {
    const { machineId, jobId, saleId } = await my.sold('60.00', '200.00', '15.00');
    my.shop.clock.now = new Date('2026-10-01T13:00:00Z');
    const customerRefund = await my.post('/customer-refunds', {
      saleId,
      amount: '180.00',
      machineReturned: true,
      refundedDate: '2026-09-30',
      reason: 'Will not start',
    });
    expect(await my.get(`/jobs/${jobId}`)).toMatchObject({
      status: 'returned',
      outcome: 'returned',
      closedDate: '2026-09-15',
    });
    expect(await my.get(`/sales/${saleId}`)).toMatchObject({
      returnedDate: '2026-09-30',
      customerRefundTotal: '180.00',
    });
    expect(await my.get(`/jobs/${jobId}/cost`)).toMatchObject({
      selling: '15.00',
      cashMargin: '-55.00',
      gainOnPurchase: null,
      reasons: expect.arrayContaining([expect.stringContaining('came back on 2026-09-30')]),
    });
    expect((await my.get('/jobs?status=returned')).items.map((job: Json) => job.id)).toEqual([jobId]);
    await my.post('/customer-refunds', { saleId, amount: '1.00', machineReturned: true, reason: 'x' }, 409);
    const { body } = await my.shop
      .rest('owner', 'post', `/jobs/${jobId}/reopen`, {}, { version: (await my.get(`/jobs/${jobId}`)).version })
      .expect(409);
    expect(body.type).toMatch(/returned$/);

    expect((await my.post('/jobs', { machineId, openedDate: '2026-09-29' }, 422)).errors[0].detail).toContain(
      'came back from its buyer on 2026-09-30',
    );
    const again = await my.post('/jobs', { machineId });
    expect((await my.post(`/customer-refunds/${customerRefund.id}/reverse`, { reason: 'x' }, 409)).type).toMatch(
      /worked-on-since$/,
    );
    // What it was bought for is still to be earned: the price advice knows it, though the first job bears it.
    expect((await my.get(`/jobs/${again.id}/price`)).jobId).toBe(again.id);
    await my.post('/ledger-entries', {
      jobId: again.id,
      kind: 'consumable',
      amount: '20.00',
      description: 'Carburettor',
    });
    // Nobody is handed a machine that was not tried again.
    expect((await my.post('/sales', { jobId: again.id, price: '190.00' }, 422)).type).toMatch(/safety-checks-missing$/);
    await my.makeSafe(again.id);
    await my.post('/sales', { jobId: again.id, price: '190.00' });
    expect(await my.get(`/jobs/${again.id}/cost`)).toMatchObject({
      purchase: '0.00',
      cashMargin: '170.00',
      gainOnPurchase: '130.00',
    });
    expect(await my.get(`/machines/${machineId}/result`)).toMatchObject({
      purchase: '60.00',
      work: '35.00',
      sold: '210.00',
      result: '115.00',
    });
    my.shop.clock.now = new Date('2026-09-15T13:00:00Z');
  });

  it("is its buyer's again when that was recorded by mistake", async () => {
    const { machineId, jobId, saleId } = await my.sold('60.00', '200.00');
    const customerRefund = await my.post('/customer-refunds', {
      saleId,
      amount: '200.00',
      machineReturned: true,
      reason: 'x',
    });
    await my.post(`/customer-refunds/${customerRefund.id}/reverse`, { reason: 'Another machine' }, 200);
    expect(await my.get(`/jobs/${jobId}`)).toMatchObject({ status: 'sold' });
    expect((await my.get(`/sales/${saleId}`)).returnedDate).toBeNull();
    expect((await my.post('/jobs', { machineId }, 409)).type).toMatch(/machine-sold$/);
  });
});

describe('work under warranty', () => {
  let my: Opened;
  beforeAll(async () => {
    my = await open({ hourlyValue: '30.00' });
  });
  afterAll(() => my.end());

  it('has a job of its own that is planned to its day, is no stock, and is a loss', async () => {
    const { machineId, jobId } = await my.sold('60.00', '200.00');
    const made = await my.shop.graphql(
      'owner',
      'mutation ($j: CreateJobInput!) { createJob(input: $j) { id purpose status } }',
      { j: { machineId, purpose: 'warranty', promisedDate: '2026-09-22' } },
    );
    expect(made.data.createJob).toMatchObject({ purpose: 'warranty', status: 'intake' });
    const { id } = made.data.createJob;
    const task = await my.post('/tasks', {
      jobId: id,
      code: 'belt',
      name: 'New belt',
      kind: 'repair',
      handsOnMinutes: 60,
      minMinutes: 45,
      maxMinutes: 90,
    });
    await my.post('/people', {
      name: 'Mira',
      weeklyHours: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' })),
    });
    await my.post('/ledger-entries', { jobId: id, kind: 'consumable', amount: '18.50', description: 'Belt' });
    // Planned: its task stands on the bench list.
    expect(JSON.stringify(await my.get('/plan/bench'))).toContain(task.id);
    const stock = await my.post('/jobs', {
      machineId: (await my.post('/machines', { kind: 'twoStageThrower', maker: 'Norvane', model: 'Drift' })).id,
    });
    await my.post('/tasks', {
      jobId: stock.id,
      code: 'belt',
      name: 'New belt',
      kind: 'repair',
      handsOnMinutes: 60,
      minMinutes: 45,
      maxMinutes: 90,
    });
    // No stock: not made ready for the snow, not priced, offered or sold.
    const readiness = JSON.stringify(await my.get('/readiness'));
    expect([readiness.includes(stock.id), readiness.includes(id)]).toEqual([true, false]);
    expect((await my.get(`/jobs/${id}/schedule`)).jobId).toBe(id);
    expect((await my.shop.rest('owner', 'get', `/jobs/${id}/price`).expect(422)).body.type).toMatch(/not-for-sale$/);
    await my.makeSafe(id);
    for (const [path, body] of [
      ['/offers', { askPrice: '50.00' }],
      ['/sales', { price: '50.00' }],
    ] as const) {
      expect((await my.post(path, { jobId: id, ...body }, 422)).type).toMatch(/not-for-sale$/);
    }
    // A loss of its own, and of the machine's.
    expect(await my.get(`/jobs/${id}/cost`)).toMatchObject({
      purchase: '0.00',
      cashCost: '18.50',
      cashMargin: '-18.50',
      salePrice: null,
    });
    const { number } = await my.get(`/jobs/${id}`);
    expect(await my.get(`/jobs/${jobId}/cost`)).toMatchObject({
      cashMargin: '140.00',
      warrantyCost: '18.50',
      cashMarginAfterWarranty: '121.50',
      reasons: expect.arrayContaining([expect.stringContaining(`a loss of its own on job ${number};`)]),
    });
    expect(await my.get(`/machines/${machineId}/result`)).toMatchObject({
      work: '18.50',
      sold: '200.00',
      result: '121.50',
    });
    // A bid for the next of the kind leaves room for it: one was sold, and took the belt.
    const bid = await my.get('/bid?kind=twoStageThrower');
    // Exactly: the belief before is worth two jobs, 12 % of the price and of hidden faults 20 % × 25 %, 15 % × 18 % and
    // 25 % × 6 %; the one job, which had none of them, took 18.50.
    const [price, before] = [Number(bid.expected.likely), 0.12 + 0.2 * 0.25 + 0.15 * 0.18 + 0.25 * 0.06];
    expect(Number(bid.partsCost)).toBeCloseTo((2 / 3) * before * price + 18.5 / 3, 1);
    expect(bid.reasons).toEqual(
      expect.arrayContaining([expect.stringMatching(/^Parts and paint: .* from 1 own sold of the kind$/)]),
    );
    expect((await my.get('/jobs?purpose=warranty')).items.map((job: Json) => job.id)).toEqual([id]);
    // It ends with the machine handed back, and may begin again.
    await my.close(id, 'kept', 422);
    expect((await my.close(id, 'handedBack')).status).toBe('handedBack');
    await my.shop
      .rest('owner', 'post', `/jobs/${id}/reopen`, {}, { version: (await my.get(`/jobs/${id}`)).version })
      .expect(200);
    expect(
      (
        await my.post(
          '/customer-refunds',
          {
            saleId: (await my.get(`/sales?jobId=${jobId}`)).items[0].id,
            amount: '200.00',
            machineReturned: true,
            reason: 'x',
          },
          409,
        )
      ).type,
    ).toMatch(/job-open$/);
    my.shop.clock.now = new Date('2026-09-25T13:00:00Z');
    await my.close(id, 'handedBack');
    expect((await my.get(`/jobs/${jobId}`)).status).toBe('sold');
    const { items } = await my.get(`/sales?jobId=${jobId}`);
    const back = { saleId: items[0].id, amount: '200.00', machineReturned: true, reason: 'x' };
    expect((await my.post('/customer-refunds', { ...back, refundedDate: '2026-09-24' }, 422)).errors[0].pointer).toBe(
      '/refundedDate',
    );
    await my.post('/customer-refunds', back);
    my.shop.clock.now = new Date('2026-09-15T13:00:00Z');
  });

  it('is for what was sold only', async () => {
    const { machineId, saleId, jobId } = await my.sold('60.00', '200.00');
    await my.post(`/sales/${saleId}/reverse`, { reason: 'Fell through' }, 200);
    await my.close(jobId, 'handedBack', 422);
    await my.close(jobId, 'kept');
    expect((await my.post('/jobs', { machineId, purpose: 'warranty' }, 422)).type).toMatch(/not-sold$/);
  });
});
