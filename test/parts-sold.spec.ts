/**
 * Parts sold out of bins, remains sold as scrap, and what a donor brought, in each tax scheme and in currencies of no
 * and of three decimals.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { missingSafetyChecks } from '../src/diagnosis/diagnosis.queries.js';
import { type Json, startTestShop, type TestShop, type TestShopSettings } from './harness/server.js';

async function open(settings: TestShopSettings = {}) {
  const shop: TestShop = await startTestShop({
    spaceCostPerDay: '0',
    hourlyValue: '0',
    haulCostPerKilometre: '0',
    ...settings,
  });
  const post = async (path: string, body: Json, status = 201): Promise<Json> => {
    const reply = await shop.rest('owner', 'post', path, body);
    if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${reply.body.detail}`);
    return reply.body;
  };
  const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
  let named = 0;
  const part = async (): Promise<string> =>
    (await post('/parts', { name: `Auger gearbox ${(named += 1)}`, family: 'gearbox' })).id;
  const donor = async (price: string, fields: Json = {}): Promise<string> => {
    const acquisition = await post('/acquisitions', {
      source: 'classified',
      acquiredDate: '2026-09-05',
      price,
      ...fields,
    });
    return (
      await post('/machines', {
        acquisitionId: acquisition.id,
        kind: 'twoStageThrower',
        maker: 'Hallgrim',
        model: 'Boreal',
        disposition: 'donor',
      })
    ).id;
  };
  return { shop, post, get, part, donor, end: () => shop.close() };
}
type Opened = Awaited<ReturnType<typeof open>>;

describe('parts sold out of a bin', () => {
  let my: Opened;
  beforeAll(async () => {
    my = await open();
  });
  afterAll(() => my.end());

  // 3 of 4 belts at 6.50 for 36.00 with 4.20 of post: 36 − 4.20 − 19.50 = 12.30.
  it('leave it with their basis, through both APIs, and come back with the reversal', async () => {
    const stock = await my.post('/stock', { partId: await my.part(), bin: 'C8', quantity: 4, unitCost: '6.50' });
    const made = await my.shop.graphql(
      'owner',
      'mutation ($s: CreatePartSaleInput!) { createPartSale(input: $s) { id quantity ' +
        'price taxCollected cost margin soldDate buyer reversedDate } }',
      { s: { stockId: stock.id, quantity: 3, price: '36', sellingCost: '4.20', buyer: 'A neighbour' } },
    );
    expect(made.data.createPartSale).toMatchObject({
      quantity: 3,
      price: '36.00',
      taxCollected: '0.00',
      cost: '19.50',
      margin: '12.30',
      soldDate: '2026-09-15',
      buyer: 'A neighbour',
      reversedDate: null,
    });
    expect((await my.get(`/stock/${stock.id}`)).quantity).toBe(1);
    const moved = (await my.get(`/stock-movements?stockId=${stock.id}&reason=sold`)).items;
    expect(moved).toMatchObject([{ change: -3, note: null, movedDate: '2026-09-15' }]);
    expect((await my.get(`/part-sales?stockId=${stock.id}`)).items[0].margin).toBe('12.30');
    const { id } = made.data.createPartSale;
    expect((await my.post(`/part-sales/${id}/reverse`, { reason: 'Sent back' }, 200)).reversedDate).toBe('2026-09-15');
    expect((await my.get(`/stock/${stock.id}`)).quantity).toBe(4);
    expect((await my.post(`/part-sales/${id}/reverse`, { reason: 'x' }, 409)).type).toMatch(/already-reversed$/);
    // Who and when: in the audit log like any other.
    expect(
      await my.shop.within((context) => context.tx.auditEntry.count({ where: { operation: 'createPartSale' } })),
    ).toBe(1);
  });

  it('come back into a bin that was put away since', async () => {
    const stock = await my.post('/stock', { partId: await my.part(), bin: 'C9', quantity: 2, unitCost: '6.50' });
    const sale = await my.post('/part-sales', { stockId: stock.id, quantity: 2, price: '20.00' });
    await my.shop.rest('owner', 'delete', `/stock/${stock.id}`, undefined, {
      version: (await my.get(`/stock/${stock.id}`)).version,
    });
    await my.post(`/part-sales/${sale.id}/reverse`, { reason: 'x' }, 200);
    expect(await my.get(`/stock/${stock.id}`)).toMatchObject({ quantity: 2, archivedAt: null });
  });

  it("are no more than there are and nobody holds, and the owner's to sell", async () => {
    const stock = await my.post('/stock', { partId: await my.part(), bin: 'D1', quantity: 2, unitCost: '6.50' });
    const sale = { stockId: stock.id, quantity: 1, price: '10.00' };
    expect((await my.post('/part-sales', { ...sale, quantity: 3 }, 409)).type).toMatch(/not-in-stock$/);
    await my.post('/part-sales', { ...sale, price: '-1' }, 422);
    await my.post('/part-sales', { ...sale, quantity: 0 }, 422);
    // Neither in the future nor before they were there, which is since today.
    for (const soldDate of ['2026-09-16', '2026-09-14'])
      expect((await my.post('/part-sales', { ...sale, soldDate }, 422)).errors[0].pointer).toBe('/soldDate');
    await my.shop.rest('helper', 'post', '/part-sales', sale).expect(403);
    await my.shop.rest('helper', 'get', '/part-sales').expect(403);
    const other = await my.shop.anotherShop();
    await my.shop
      .rest('owner', 'post', '/part-sales', sale, { headers: { Authorization: `Bearer ${other.keys.owner}` } })
      .expect(404);
    const both = await Promise.all(
      [1, 2].map(() => my.shop.rest('owner', 'post', '/part-sales', { ...sale, quantity: 2 })),
    );
    expect(both.map((one) => one.status).sort()).toEqual([201, 409]);
  });
});

// By hand, half up. A donor for 80 % price and 20 % haul; a part with a basis of a quarter of the whole. CAD sales tax
// 13 % on 45.00: 5.85 on top; 45 − 25 = 20. EUR margin scheme 20 %: basis 25.00, of the price 20.00; (45 − 20)/6 =
// 4.1667 → 4.17; 45 − 4.17 − 25 = 15.83. JPY margin scheme 10 %: basis 2500, of the price 2000; (4500 − 2000)/11 =
// 227.27 → 227; 4500 − 227 − 2500 = 1773. KWD margin scheme 5 %: basis 25.000, of the price 20.000; (45.125 − 20)/21 =
// 1.19643 → 1.196; 45.125 − 1.196 − 25 = 18.929. A part bought as such for the same 25 under the margin scheme: tax on
// all of the price, 45/6 = 7.50; 4500/11 = 409.09 → 409; 45.125/21 = 2.14881 → 2.149.
describe.each([
  ['CAD', 'salesTax', 13, '80.00', '20.00', '25.00', '75.00', '45.00', '5.85', '20.00', '5.85'],
  ['EUR', 'marginScheme', 20, '80.00', '20.00', '25.00', '75.00', '45.00', '4.17', '15.83', '7.50'],
  ['JPY', 'marginScheme', 10, '8000', '2000', '2500', '7500', '4500', '227', '1773', '409'],
  ['KWD', 'marginScheme', 5, '80.000', '20.000', '25.000', '75.000', '45.125', '1.196', '18.929', '2.149'],
] as const)(
  'tax on parts in %s under %s of %s %%',
  (currency, taxScheme, taxRatePercent, price, haulCost, unitValue, restValue, sold, tax, margin, taxBought) => {
    let my: Opened;
    beforeAll(async () => {
      my = await open({ currency, taxScheme, taxRatePercent });
    });
    afterAll(() => my.end());

    it('is of what the donor was bought for, and of the whole price of a part bought as such', async () => {
      const partId = await my.part();
      const { stock } = await my.post('/harvests', {
        machineId: await my.donor(price, { haulCost }),
        restValue,
        parts: [{ partId, quantity: 1, unitValue, bin: 'A1' }],
      });
      expect(await my.post('/part-sales', { stockId: stock[0].id, quantity: 1, price: sold })).toMatchObject({
        taxCollected: tax,
        cost: unitValue,
        margin,
      });
      const bought = await my.post('/stock', { partId, bin: 'A2', quantity: 1, unitCost: unitValue });
      expect((await my.post('/part-sales', { stockId: bought.id, quantity: 1, price: sold })).taxCollected).toBe(
        taxBought,
      );
    });
  },
);

describe('a donor that is sold after all', () => {
  // 20 % margin scheme. Bought for 80 and 20 of haul; a part takes 60 of the 100, hence 48 of the price, 32 stay.
  // Part for 90: (90 − 48)/6 = 7.00. The rest for 150: (150 − 32)/6 = 19.67. Together (240 − 80)/6 = 26.67.
  // Without haul: part for 90: (90 − 60)/6 = 5.00; the rest for 150: (150 − 40)/6 = 18.33.
  it.each([
    ['80.00', '20.00', '7.00', '19.67'],
    ['100.00', '0.00', '5.00', '18.33'],
  ])(
    'for %s and a haul of %s: the price is set against the part and the rest once',
    async (price, haulCost, taxOnPart, taxOnRest) => {
      const my = await open({ currency: 'EUR', taxScheme: 'marginScheme', taxRatePercent: 20 });
      const machineId = await my.donor(price, { haulCost });
      const { stock } = await my.post('/harvests', {
        machineId,
        restValue: '40.00',
        parts: [{ partId: await my.part(), quantity: 1, unitValue: '60.00', bin: 'A1' }],
      });
      expect((await my.post('/part-sales', { stockId: stock[0].id, quantity: 1, price: '90.00' })).taxCollected).toBe(
        taxOnPart,
      );
      await my.shop
        .rest(
          'owner',
          'patch',
          `/machines/${machineId}`,
          { disposition: 'sell' },
          { version: (await my.get(`/machines/${machineId}`)).version },
        )
        .expect(200);
      const job = await my.post('/jobs', { machineId });
      await my.shop.within(async (context) => {
        const missing = await missingSafetyChecks(context, job.id);
        await context.tx.safetyCheck.createMany({
          data: missing.map(({ code }) => ({
            shopId: my.shop.shopId,
            jobId: job.id,
            check: code,
            passed: true,
            checkedBy: 'Mira',
            checkedDate: new Date('2026-09-15'),
          })),
        });
      });
      const made = await my.shop.graphql(
        'owner',
        'mutation ($s: CreateSaleInput!) { createSale(input: $s) { taxCollected } }',
        { s: { jobId: job.id, price: '150.00' } },
      );
      expect(made.data.createSale.taxCollected).toBe(taxOnRest);
      await my.end();
    },
  );
});

describe('a donor', () => {
  let my: Opened;
  beforeAll(async () => {
    my = await open();
  });
  afterAll(() => my.end());

  // Bought for 100: gearbox 40, two wheels 15 each, rest 30. Gearbox to a job (40), one wheel sold for 22 with 2 of post, one
  // on hand (15), the rest to scrap for 9: 40 + 20 + 15 + 9 − 100 = −16.
  it('is held against what its parts took and brought and what its remains brought', async () => {
    const machineId = await my.donor('100.00');
    const [gearbox, wheel] = [await my.part(), (await my.post('/parts', { name: 'Wheel', family: 'wheel' })).id];
    const { stock } = await my.post('/harvests', {
      machineId,
      restValue: '30.00',
      parts: [
        { partId: gearbox, quantity: 1, unitValue: '40.00', bin: 'A1' },
        { partId: wheel, quantity: 2, unitValue: '15.00', bin: 'A2' },
      ],
    });
    const acquisition = await my.post('/acquisitions', {
      source: 'classified',
      acquiredDate: '2026-09-05',
      price: '50.00',
    });
    const other = await my.post('/machines', {
      acquisitionId: acquisition.id,
      kind: 'other',
      maker: 'Norvane',
      model: 'Drift',
    });
    const job = await my.post('/jobs', { machineId: other.id });
    const task = await my.post('/tasks', {
      jobId: job.id,
      code: 'box',
      name: 'Gearbox',
      kind: 'assemble',
      handsOnMinutes: 60,
      minMinutes: 45,
      maxMinutes: 90,
    });
    const { need } = await my.post('/part-needs', {
      taskId: task.id,
      partId: gearbox,
      quantity: 1,
      stockId: stock[0].id,
    });
    await my.shop.rest('owner', 'post', `/part-needs/${need.id}/use`, {}, { version: need.version }).expect(200);
    await my.post('/part-sales', { stockId: stock[1].id, quantity: 1, price: '22.00', sellingCost: '2.00' });

    const scrap = { machineId, proceeds: '9.00', buyer: 'The yard' };
    // Bought on the 5th, harvested today.
    for (const soldDate of ['2026-09-04', '2026-09-14'])
      expect((await my.post('/scrap-sales', { ...scrap, soldDate }, 422)).errors[0].pointer).toBe('/soldDate');
    const made = await my.shop.graphql(
      'owner',
      'mutation ($s: CreateScrapSaleInput!) { createScrapSale(input: $s) { id proceeds soldDate } }',
      { s: scrap },
    );
    expect(made.data.createScrapSale).toMatchObject({ proceeds: '9.00', soldDate: '2026-09-15' });
    const expected = {
      purchase: '100.00',
      work: '0.00',
      sold: '0.00',
      partsTaken: '40.00',
      partsSold: '20.00',
      partsOnHand: '15.00',
      scrap: '9.00',
      result: '-16.00',
    };
    expect(await my.get(`/machines/${machineId}/result`)).toMatchObject(expected);
    const { data } = await my.shop.graphql(
      'owner',
      `query ($m: ID!) { machine(id: $m) { result { ${Object.keys(expected).join(' ')} } } }`,
      { m: machineId },
    );
    expect(data.machine.result).toEqual(expected);

    // What went to the yard is gone: no harvest, no job, no second sale, until that is reversed.
    expect((await my.post('/scrap-sales', scrap, 409)).type).toMatch(/machine-scrapped$/);
    expect((await my.post('/jobs', { machineId }, 409)).type).toMatch(/machine-scrapped$/);
    const harvest = {
      machineId,
      restValue: '0',
      parts: [{ partId: wheel, quantity: 1, unitValue: '1.00', bin: 'A3' }],
    };
    expect((await my.post('/harvests', harvest, 409)).type).toMatch(/machine-scrapped$/);
    await my.shop.rest('helper', 'get', `/machines/${machineId}/result`).expect(403);
    await my.post(`/scrap-sales/${made.data.createScrapSale.id}/reverse`, { reason: 'Not fetched' }, 200);
    expect((await my.get(`/machines/${machineId}/result`)).result).toBe('-25.00');
    await my.post('/harvests', harvest);
  });

  it('is worked on no longer when it is sold as scrap, and a machine for sale is not scrap', async () => {
    const machineId = await my.donor('20.00');
    const job = await my.post('/jobs', { machineId });
    expect((await my.post('/scrap-sales', { machineId, proceeds: '5.00' }, 409)).type).toMatch(/job-open$/);
    await my.shop
      .rest('owner', 'post', `/jobs/${job.id}/close`, { outcome: 'partedOut' }, { version: job.version })
      .expect(200);
    // The job that took it apart closed today.
    expect(
      (await my.post('/scrap-sales', { machineId, proceeds: '5.00', soldDate: '2026-09-14' }, 422)).errors[0].pointer,
    ).toBe('/soldDate');
    await my.post('/scrap-sales', { machineId, proceeds: '5.00' });
    expect(await my.get(`/machines/${machineId}/result`)).toMatchObject({ scrap: '5.00', result: '-15.00' });
    const { id } = await my.post('/machines', { kind: 'other', maker: 'Norvane', model: 'Drift' });
    expect((await my.post('/scrap-sales', { machineId: id, proceeds: '5.00' }, 422)).type).toMatch(/not-scrap$/);
  });
});
