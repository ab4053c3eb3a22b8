/** Offers, sales and their reversal, under each tax scheme and in currencies of no and of three decimals. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { readMarket } from '../src/resale/market.queries.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

// What any kind of machine must pass (src/diagnosis/safety-checks.ts).
const CHECKS = ['engineStops', 'noFuelLeak', 'guards', 'throttleReturns', 'sparkLead', 'fastenersTight'];

/** Short words for one shop. */
function use(shop: TestShop) {
  const post = async (path: string, body: Json, status = 201): Promise<Json> => {
    const reply = await shop.rest('owner', 'post', path, body);
    if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${reply.body.detail}`);
    return reply.body;
  };
  const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
  /** A lot of machines with a job on each, all of them safe to sell unless told. */
  const lot = async (
    price: string,
    fields: Json = {},
    machines = 1,
    safe = true,
  ): Promise<{ jobId: string; machineId: string; acquisitionId: string }[]> => {
    const acquisitionId = (
      await post('/acquisitions', {
        source: 'auction',
        acquiredDate: '2026-09-14',
        price,
        splitMethod: 'equal',
        ...fields,
      })
    ).id;
    const all: { jobId: string; machineId: string; acquisitionId: string }[] = [];
    for (let index = 0; index < machines; index += 1) {
      const machineId = (await post('/machines', { acquisitionId, kind: 'other', maker: 'Norvane', model: 'Drift' }))
        .id;
      all.push({ jobId: (await post('/jobs', { machineId })).id, machineId, acquisitionId });
    }
    const passed = all.flatMap(({ jobId }) =>
      CHECKS.map((check) => ({
        shopId: shop.shopId,
        jobId,
        check,
        passed: true,
        checkedBy: 'Mira',
        checkedDate: new Date('2026-09-15'),
      })),
    );
    if (safe) await shop.within((context) => context.tx.safetyCheck.createMany({ data: passed }));
    return all;
  };
  const ledger = async (jobId: string): Promise<[string, string][]> =>
    (await get(`/ledger-entries?jobId=${jobId}&sort=createdAt`)).items
      // What the machine was bought for has its own test.
      .filter((one: Json) => one.kind !== 'purchase')
      .map((one: Json) => [one.kind, one.amount]);
  const settings = async (fields: Json) =>
    shop.rest('owner', 'patch', '/shop', fields, { version: (await get('/shop')).version }).expect(200);
  return { post, get, lot, ledger, settings };
}

describe('a shop without tax', () => {
  let shop: TestShop;
  let my: ReturnType<typeof use>;
  beforeAll(async () => {
    shop = await startTestShop({ spaceCostPerDay: '0.50', hourlyValue: '25.00' });
    my = use(shop);
  });
  afterAll(() => shop.close());

  it('offers and sells only what is safe and for sale', async () => {
    const [unsafe] = await my.lot('60.00', {}, 1, false);
    for (const [path, body] of [
      ['/offers', { askPrice: '200.00' }],
      ['/sales', { price: '200.00' }],
    ] as const) {
      const refused = await my.post(path, { jobId: unsafe!.jobId, ...body }, 422);
      expect([refused.type, [...refused.missing].sort()]).toEqual([
        'urn:frostwright:problem:safety-checks-missing',
        [...CHECKS].sort(),
      ]);
    }
    const [kept] = await my.lot('60.00');
    await shop
      .rest(
        'owner',
        'patch',
        `/machines/${kept!.machineId}`,
        { disposition: 'keep' },
        { version: (await my.get(`/machines/${kept!.machineId}`)).version },
      )
      .expect(200);
    expect((await my.post('/sales', { jobId: kept!.jobId, price: '200.00' }, 422)).type).toBe(
      'urn:frostwright:problem:not-for-sale',
    );
  });

  it('an offer lives its life, and its machine stays for sale while it stands', async () => {
    const [one] = await my.lot('60.00');
    for (const askPrice of ['0', '-1', '10.005', '1e2']) await my.post('/offers', { jobId: one!.jobId, askPrice }, 422);
    await my.post('/offers', { jobId: one!.jobId, askPrice: '200.00', offeredDate: '2026-09-16' }, 422);
    await my.post('/offers', { jobId: one!.jobId, askPrice: '200.00', offeredDate: '2026-09-14' }, 422);
    const made = await shop.graphql(
      'owner',
      'mutation ($o: CreateOfferInput!) { createOffer(input: $o) { id version askPrice reservationPrice offeredDate } }',
      { o: { jobId: one!.jobId, askPrice: '200', reservationPrice: null } },
    );
    expect(made.data.createOffer).toMatchObject({
      askPrice: '200.00',
      reservationPrice: null,
      offeredDate: '2026-09-15',
    });
    await my.post('/offers', { jobId: one!.jobId, askPrice: '190.00' }, 409);
    const path = `/offers/${made.data.createOffer.id}`;
    expect(
      (await shop.rest('owner', 'patch', path, { askPrice: '180.00' }, { version: 1 }).expect(200)).body.askPrice,
    ).toBe('180.00');
    await shop.rest('owner', 'patch', path, { askPrice: '170.00' }, { version: 1 }).expect(412);
    expect((await shop.rest('helper', 'get', path).expect(200)).body.askPrice).toBeNull();
    await shop.rest('owner', 'patch', path, { reservationPrice: '180.01' }, { version: 2 }).expect(422);
    const status = async (is: boolean) => (await my.get(`/offers?jobId=${one!.jobId}&status=${is}`)).items.length;
    expect([await status(true), await status(false)]).toEqual([1, 0]);
    const { version } = await my.get(`/machines/${one!.machineId}`);
    const parted = await shop.rest(
      'owner',
      'patch',
      `/machines/${one!.machineId}`,
      { disposition: 'donor' },
      { version },
    );
    expect([parted.status, parted.body.type]).toEqual([409, 'urn:frostwright:problem:offered']);
    await shop.rest('owner', 'post', `${path}/withdraw`, {}, { version: 2 }).expect(200);
    expect([await status(true), await status(false)]).toEqual([0, 1]);
    await shop.rest('owner', 'patch', path, { askPrice: '170.00' }, { version: 3 }).expect(409);
    await shop.rest('owner', 'patch', `/machines/${one!.machineId}`, { disposition: 'donor' }, { version }).expect(200);
  });

  it('two offers of a machine do not stand on the same days', async () => {
    const [one] = await my.lot('60.00');
    const before = shop.clock.now;
    const { id } = await my.post('/offers', { jobId: one!.jobId, askPrice: '200.00' });
    shop.clock.now = new Date('2026-09-19T13:00:00Z');
    await shop.rest('owner', 'post', `/offers/${id}/withdraw`, undefined, { version: 1 }).expect(200);
    shop.clock.now = new Date('2026-09-20T13:00:00Z');
    const early = await my.post('/offers', { jobId: one!.jobId, askPrice: '190.00', offeredDate: '2026-09-17' }, 422);
    expect(early.errors).toEqual([
      { detail: 'lies before the last offer was withdrawn on 2026-09-19', pointer: '/offeredDate' },
    ]);
    const { errors } = await shop.graphql(
      'owner',
      'mutation ($o: CreateOfferInput!) { createOffer(input: $o) { id } }',
      { o: { jobId: one!.jobId, askPrice: '190', offeredDate: '2026-09-18' } },
    );
    expect(errors![0].message).toContain('withdrawn on 2026-09-19');
    await my.post('/offers', { jobId: one!.jobId, askPrice: '190.00', offeredDate: '2026-09-19' });
    shop.clock.now = before;
  });

  it('a sale has its day between the offer and today', async () => {
    const [one] = await my.lot('60.00');
    shop.clock.now = new Date('2026-09-20T13:00:00Z');
    await my.post('/offers', { jobId: one!.jobId, askPrice: '200.00', offeredDate: '2026-09-18' });
    for (const soldDate of ['2026-09-17', '2026-09-14', '2026-09-21']) {
      expect((await my.post('/sales', { jobId: one!.jobId, price: '200.00', soldDate }, 422)).errors).toEqual([
        { detail: expect.any(String), pointer: '/soldDate' },
      ]);
    }
    await my.post('/sales', { jobId: one!.jobId, price: '200.00', soldDate: '2026-09-18' });
    expect((await my.get(`/offers?jobId=${one!.jobId}`)).items[0].withdrawnDate).toBe('2026-09-18');
    expect(await my.get(`/jobs/${one!.jobId}`)).toMatchObject({ status: 'sold', closedDate: '2026-09-18' });
  });

  it('is reversed to nothing in the ledger, once, and can be made again', async () => {
    const [one] = await my.lot('60.00');
    const sale = await my.post('/sales', { jobId: one!.jobId, price: '200.00', sellingCost: '12.50' });
    expect(await my.ledger(one!.jobId)).toEqual([
      ['saleProceeds', '200.00'],
      ['selling', '12.50'],
    ]);
    // What was booked with the sale is taken back with the sale only.
    for (const entry of (await my.get(`/ledger-entries?jobId=${one!.jobId}`)).items) {
      expect((await my.post(`/ledger-entries/${entry.id}/reverse`, { reason: 'Mistake' }, 409)).type).toBe(
        'urn:frostwright:problem:booked-elsewhere',
      );
    }
    const both = await Promise.all(
      [1, 2].map(() => shop.rest('owner', 'post', `/sales/${sale.id}/reverse`, { reason: 'Brought back' })),
    );
    expect(both.map((reply) => reply.status).sort()).toEqual([200, 409]);
    expect(both.find((reply) => reply.status === 409)!.body.type).toBe('urn:frostwright:problem:already-reversed');
    expect((await my.ledger(one!.jobId)).slice(2)).toEqual([
      ['saleProceeds', '-200.00'],
      ['selling', '-12.50'],
    ]);
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({
      salePrice: null,
      selling: '0.00',
      cashMargin: null,
    });
    const again = await shop.graphql(
      'owner',
      'mutation ($s: CreateSaleInput!) { createSale(input: $s) { price sellingCost reversedDate } }',
      { s: { jobId: one!.jobId, price: '150', sellingCost: null } },
    );
    expect(again.data.createSale).toEqual({ price: '150.00', sellingCost: '0.00', reversedDate: null });
    // 150 less 60 paid out.
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({ salePrice: '150.00', cashMargin: '90.00' });
    expect((await my.get(`/sales?jobId=${one!.jobId}`)).items).toHaveLength(2);
  });

  it('two who sell the same machine at once make one sale', async () => {
    const [one] = await my.lot('60.00');
    const both = await Promise.all(
      ['200.00', '210.00'].map((price) => shop.rest('owner', 'post', '/sales', { jobId: one!.jobId, price })),
    );
    expect(both.map((reply) => reply.status).sort()).toEqual([201, 409]);
    expect((await my.ledger(one!.jobId)).filter(([kind]) => kind === 'saleProceeds')).toHaveLength(1);
  });

  it('a machine given away says nothing of prices', async () => {
    const [gift, next] = await my.lot('60.00', {}, 2);
    await my.post('/comparables', {
      kind: 'other',
      maker: 'Norvane',
      condition: 4,
      priceKind: 'sold',
      price: '300.00',
      seenDate: '2026-09-10',
    });
    const before = (await my.get('/bid?kind=other')).comparablesUsed;
    await my.post('/sales', { jobId: gift!.jobId, price: '0' });
    expect((await my.get('/bid?kind=other')).comparablesUsed).toBe(before);
    expect(Number((await my.get(`/jobs/${next!.jobId}/price`)).ask)).toBeGreaterThan(0);
    await my.post(
      '/comparables',
      { kind: 'other', maker: 'Norvane', condition: 4, priceKind: 'sold', price: '0', seenDate: '2026-09-10' },
      422,
    );
    // The words are of the hours asked, none of them, and not of a route.
    const asked = await my.get('/bid?kind=other&handsOnMinutes=0&haulKilometres=12.5');
    expect(asked.reasons.join()).toContain('Own work: 0.0 hours, as stated');
    // What nobody looked for may still be there; the shop's own sold ones had none of it.
    expect(asked.handsOnMinutes).toBeGreaterThan(0);
    expect(asked.handsOnMinutes).toBeLessThan(0.2 * 180 + 0.15 * 150 + 0.25 * 240);
    // Parts of 10.00 more are what the machine may cost less, but where a fault turns up that does not pay to repair.
    const withParts = async (partsCost: string) =>
      Number((await my.get(`/bid?kind=other&handsOnMinutes=60&partsCost=${partsCost}`)).breakEvenBid);
    const less = (await withParts('0')) - (await withParts('10.00'));
    expect(less).toBeGreaterThan(8);
    expect(less).toBeLessThanOrEqual(10.01);
    // A premium of 25 % on top: what may be bid is four fifths of what may be paid.
    const withFees = async (query: string) =>
      Number((await my.get(`/bid?kind=other&handsOnMinutes=60&partsCost=0${query}`)).breakEvenBid);
    expect(await withFees('&feesPercent=25')).toBeCloseTo((await withFees('')) / 1.25, 1);
    // An hour more at 25.00 an hour is 25.00 less, with the same exception.
    const withMinutes = async (minutes: number) =>
      await my.get(`/bid?kind=other&handsOnMinutes=${minutes}&partsCost=0`);
    const hourLess = Number((await withMinutes(60)).breakEvenBid) - Number((await withMinutes(120)).breakEvenBid);
    expect(hourLess).toBeGreaterThan(20);
    expect(hourLess).toBeLessThanOrEqual(25.01);
    const { highestBid, breakEvenBid } = await withMinutes(60);
    expect(Number(breakEvenBid)).toBeGreaterThan(Number(highestBid));
  });

  it('a bid leaves room for what selling has cost here', async () => {
    for (const price of ['380.00', '400.00', '420.00'])
      await my.post('/comparables', {
        kind: 'walkBehindMower',
        maker: 'Norvane',
        condition: 4,
        priceKind: 'sold',
        price,
        seenDate: '2026-09-10',
      });
    const [one] = await my.lot('60.00');
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: one!.machineId }, data: { kind: 'walkBehindMower' } }),
    );
    await shop.within((context) =>
      context.tx.job.update({
        where: { id: one!.jobId },
        data: { outcome: 'sold', closedDate: new Date('2026-09-20') },
      }),
    );
    const asked = '/bid?kind=walkBehindMower&handsOnMinutes=0&partsCost=0';
    const before = await my.get(asked);
    await my.post('/ledger-entries', {
      jobId: one!.jobId,
      kind: 'selling',
      amount: '20.00',
      description: 'Advertisement and the run to the buyer',
    });
    const after = await my.get(asked);
    // 20.00 less from whatever it is sold for; a little less than that off the 85 % that next season would leave.
    const room = Number(before.breakEvenBid) - Number(after.breakEvenBid);
    expect(room).toBeGreaterThan(17);
    expect(room).toBeLessThanOrEqual(20.01);
    expect(after.reasons.join('; ')).toContain('Selling one cost 20 CAD on average of 1');
    expect(after.reasons.join('; ')).toContain('Own work: 0.0 hours, as stated');
  });

  it('an asked price leaves the same room, less what the job has been charged with', async () => {
    const [one] = await my.lot('60.00');
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: one!.machineId }, data: { kind: 'walkBehindMower' } }),
    );
    const path = `/jobs/${one!.jobId}/price`;
    const before = await my.get(path);
    expect(before.reasons.join('; ')).toMatch(/20 CAD is left for selling it, the mean of the 1 sold here of the kind/);
    // Of its own 20.00 to come 15.00 are booked: 5.00 are left, and the sale is expected to leave 15.00 more, whenever it comes.
    await my.post('/ledger-entries', {
      jobId: one!.jobId,
      kind: 'selling',
      amount: '15.00',
      description: 'Advertisement',
    });
    const after = await my.get(path);
    expect(after.reasons.join('; ')).toContain('5 CAD is left for selling it');
    const gain = Number(after.expectedNet) - Number(before.expectedNet);
    expect(gain).toBeGreaterThan(12.75); // 85 % of 15.00, were it always left to next season
    expect(gain).toBeLessThanOrEqual(15.05);
    expect(Number(after.expectedMargin)).toBeCloseTo(Number(before.expectedMargin) + gain - 15, 2);
  });

  it('a price from cost is marked as such, through both APIs', async () => {
    const acquisitionId = (
      await my.post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-20', price: '100.00' })
    ).id;
    const machineId = (
      await my.post('/machines', { acquisitionId, kind: 'singleStageThrower', maker: 'Norvane', model: 'Drift' })
    ).id;
    const jobId = (await my.post('/jobs', { machineId })).id;
    const advice = await my.get(`/jobs/${jobId}/price`);
    // A quarter on 100.00.
    expect(advice).toMatchObject({
      basedOn: 'cost',
      expected: { likely: '125.00' },
      expectedDate: '2026-09-20',
      comparablesUsed: 0,
    });
    expect(advice.reasons[0]).toContain('From cost, not from the market: 125');
    expect(advice.reasons.join('; ')).not.toContain('Half of such machines');
    const { data } = await shop.graphql(
      'reader',
      `{ job(id: "${jobId}") { price { basedOn expectedDate askBreakdown { market season ` +
        `negotiationAllowance premium } marginRange { low likely high } } } }`,
    );
    expect(data.job.price).toEqual({
      basedOn: 'cost',
      expectedDate: '2026-09-20',
      askBreakdown: advice.askBreakdown,
      marginRange: advice.marginRange,
    });
  });

  it("another shop's jobs, offers and sales do not exist here", async () => {
    const other = await shop.anotherShop();
    const [mine] = await my.lot('60.00');
    const sale = await my.post('/sales', { jobId: mine!.jobId, price: '100.00' });
    const stranger = (verb: 'get' | 'post', path: string, body?: Json) =>
      shop.rest('owner', verb, path, body, { headers: { Authorization: `Bearer ${other.keys.owner}` } });
    await stranger('post', '/offers', { jobId: mine!.jobId, askPrice: '10.00' }).expect(404);
    await stranger('post', '/sales', { jobId: mine!.jobId, price: '10.00' }).expect(404);
    await stranger('get', `/sales/${sale.id}`).expect(404);
    await stranger('post', `/sales/${sale.id}/reverse`, { reason: 'Mischief' }).expect(404);
    for (const role of ['helper', 'reader'] as const)
      await shop.rest(role, 'post', '/sales', { jobId: mine!.jobId, price: '1.00' }).expect(403);
    await shop.rest('helper', 'get', '/sales').expect(403);
    expect(
      (await shop.graphql('helper', `{ job(id: "${mine!.jobId}") { price { ask } } }`)).errors?.[0].extensions.code,
    ).toBe('not-allowed');
  });
});

describe('tax on sales', () => {
  let shop: TestShop;
  let my: ReturnType<typeof use>;
  beforeAll(async () => {
    shop = await startTestShop({ taxScheme: 'salesTax', taxRatePercent: 13, spaceCostPerDay: '0', hourlyValue: '0' });
    my = use(shop);
  });
  afterAll(() => shop.close());

  it('sales tax comes on top and passes through', async () => {
    const [one] = await my.lot('60.00');
    // 13 % of 199.99 is 25.9987.
    expect(await my.post('/sales', { jobId: one!.jobId, price: '199.99', sellingCost: '5.00' })).toMatchObject({
      taxCollected: '26.00',
    });
    expect(await my.ledger(one!.jobId)).toEqual([
      ['saleProceeds', '199.99'],
      ['selling', '5.00'],
    ]);
    // 199.99 − 60 − 5.
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({
      taxDue: '26.00',
      cashMargin: '134.99',
      gainOnPurchase: '139.99',
    });
  });

  it('in every figure of the advice: buyers pay it out of the same purse', async () => {
    for (const price of ['339.00', '452.00', '565.00'])
      await my.post('/comparables', {
        kind: 'walkBehindMower',
        maker: 'Norvane',
        condition: 4,
        priceKind: 'sold',
        price,
        seenDate: '2026-09-10',
      });
    const [one] = await my.lot('60.00');
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: one!.machineId }, data: { kind: 'walkBehindMower' } }),
    );
    const both = async () => [
      await my.get(`/jobs/${one!.jobId}/price`),
      await my.get('/bid?kind=walkBehindMower&handsOnMinutes=0&partsCost=0'),
    ];
    const [taxed, taxedBid] = await both();
    await my.settings({ taxScheme: 'none', taxRatePercent: 0 });
    const [free, freeBid] = await both();
    await my.settings({ taxScheme: 'salesTax', taxRatePercent: 13 });
    // The same buyers with the same money: 1/1.13 of everything that is agreed on.
    for (const key of ['low', 'likely', 'high']) {
      expect(Number(taxed.expected[key])).toBeCloseTo(Number(free.expected[key]) / 1.13, 1);
      expect(Number(taxedBid.expected[key])).toBeCloseTo(Number(freeBid.expected[key]) / 1.13, 1);
    }
    const share = (figureOf: (advice: Json) => number) => figureOf(taxed) / figureOf(free);
    // Asks are round figures, so these come near it.
    for (const figureOf of [
      (advice: Json) => Number(advice.ask),
      (advice: Json) => Number(advice.expectedNet),
      (advice: Json) => Number(advice.expectedMargin) + 60,
      (advice: Json) => Number(advice.gainOnPurchase) + 60,
    ]) {
      expect(share(figureOf)).toBeGreaterThan(0.86);
      expect(share(figureOf)).toBeLessThan(0.91); // 0.885
    }
    // A machine sold here at 400.00 cost its buyer 452.00, and counts as that beside what others asked.
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: one!.machineId }, data: { kind: 'other' } }),
    );
    const used = async () =>
      shop.within(async (context) => (await readMarket(context)).comparables.map((seen) => seen.price.toString()));
    await my.post('/sales', { jobId: one!.jobId, price: '400.00' });
    expect(await used()).toContain('452');
  });

  it('a price from cost keeps its markup: the buyer pays the tax on top', async () => {
    const [one] = await my.lot('60.00');
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: one!.machineId }, data: { kind: 'twoStageThrower' } }),
    );
    // 60.00 and a quarter; all else costs nothing in this shop.
    expect(await my.get(`/jobs/${one!.jobId}/price`)).toMatchObject({ basedOn: 'cost', expected: { likely: '75.00' } });
  });

  it('margin-scheme tax lies inside, computed from the price paid without haul, to the last cent of the lot', async () => {
    await my.settings({ taxScheme: 'marginScheme', taxRatePercent: 20 });
    // 100.00 and 10.00 of haul, three machines: shares 36.67, 36.67, 36.66; of the price 33.34, 33.33, 33.33, which add up.
    const lot = await my.lot('100.00', { haulCost: '10.00' }, 3);
    const taxes: string[] = [];
    for (const { jobId } of lot) taxes.push((await my.post('/sales', { jobId, price: '93.34' })).taxCollected);
    // (93.34 − 33.34) × 20/120 = 10.00; (93.34 − 33.33) / 6 = 10.0017.
    expect(taxes).toEqual(['10.00', '10.00', '10.00']);
    expect(await my.ledger(lot[0]!.jobId)).toEqual([
      ['saleProceeds', '93.34'],
      ['tax', '10.00'],
    ]);
    // 93.34 − 10.00 − 36.67.
    expect(await my.get(`/jobs/${lot[0]!.jobId}/cost`)).toMatchObject({
      salePrice: '93.34',
      taxDue: '10.00',
      cashMargin: '46.67',
      gainOnPurchase: '46.67',
    });
  });

  it('fees of the purchase are a cost, and stand outside what the margin scheme computes from', async () => {
    // Hammer price 60.00, premium 12.00: of 180.00 the margin over 60.00 is 120.00, a sixth of it tax (art. 312: the purchase
    // price is what the seller obtains). 180 − 20 − 72 = 88.
    const [one] = await my.lot('60.00', { fees: '12.00' });
    expect(await my.post('/sales', { jobId: one!.jobId, price: '180.00' })).toMatchObject({ taxCollected: '20.00' });
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({
      purchase: '72.00',
      cashMargin: '88.00',
      gainOnPurchase: '88.00',
    });
  });

  it('the odd cent of a lot counts once', async () => {
    // 0.05 and a haul of 0.05 over three: shares 0.04, 0.03, 0.03. Of the price 2.0, 1.5 and 1.5 cents, so 0.02, 0.02,
    // 0.01; rounded one by one they would be 0.06.
    const lot = await my.lot('0.05', { haulCost: '0.05' }, 3);
    await my.settings({ taxRatePercent: 100 });
    const taxes: number[] = [];
    for (const { jobId } of lot) taxes.push(Number((await my.post('/sales', { jobId, price: '1.02' })).taxCollected));
    // At 100 % half of the margin is tax: of 1.00, 1.00 and 1.01, whose 0.505 goes up.
    expect(taxes).toEqual([0.5, 0.5, 0.51]);
    await my.settings({ taxRatePercent: 20 });
  });

  it('a machine that would be sold next season would be taxed then too, and the bid is so much lower', async () => {
    for (const price of ['580.00', '600.00', '620.00'])
      await my.post('/comparables', {
        kind: 'walkBehindMower',
        maker: 'Norvane',
        condition: 4,
        priceKind: 'sold',
        price,
        seenDate: '2026-09-10',
      });
    const [one] = await my.lot('60.00');
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: one!.machineId }, data: { kind: 'walkBehindMower' } }),
    );
    // Two years on offer, twenty times over, and never sold: hardly a buyer comes.
    const offers = Array.from({ length: 20 }, () => ({
      shopId: shop.shopId,
      jobId: one!.jobId,
      askPrice: '600',
      offeredDate: new Date('2024-01-01'),
      withdrawnDate: new Date('2026-01-01'),
    }));
    await shop.within((context) => context.tx.offer.createMany({ data: offers }));
    const asked = '/bid?kind=walkBehindMower&handsOnMinutes=0&partsCost=0';
    const taxed = await my.get(asked);
    await my.settings({ taxScheme: 'none', taxRatePercent: 0 });
    const free = await my.get(asked);
    await my.settings({ taxScheme: 'marginScheme', taxRatePercent: 20 });
    // Untaxed it is worth about 85 % of L next season, and may be bought for that; a sixth of the margin over such a
    // price, (L − 0.85 L) / 6, is tax, of which 85 % would be missing. Nine times in ten at least it comes to that.
    const likely = Number(free.expected.likely);
    expect(Number(free.breakEvenBid) - Number(taxed.breakEvenBid)).toBeGreaterThan((0.9 * 0.85 * 0.15 * likely) / 6);
  });

  it('a loss owes nothing, and is not set against another machine', async () => {
    const [one] = await my.lot('60.00');
    expect(await my.post('/sales', { jobId: one!.jobId, price: '50.00' })).toMatchObject({ taxCollected: '0.00' });
    expect(await my.ledger(one!.jobId)).toEqual([['saleProceeds', '50.00']]);
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({ cashMargin: '-10.00', marginPercentOfPrice: -20 });
  });

  it("what was sold keeps the tax of its day, whatever the shop's scheme is now", async () => {
    const [one] = await my.lot('60.00');
    const sale = await my.post('/sales', { jobId: one!.jobId, price: '180.00' });
    // (180 − 60) / 6 = 20; 180 − 20 − 60 = 100.
    const asSold = { taxDue: '20.00', cashMargin: '100.00' };
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject(asSold);
    await my.settings({ taxScheme: 'none', taxRatePercent: 0 });
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject(asSold);
    // Reversed and sold anew, it is taxed by the scheme of that day, and the ledger has no tax left.
    await my.post(`/sales/${sale.id}/reverse`, { reason: 'Brought back' }, 200);
    await my.post('/sales', { jobId: one!.jobId, price: '180.00' });
    expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({ taxDue: '0.00', cashMargin: '120.00' });
    const tax = (await my.ledger(one!.jobId)).filter(([kind]) => kind === 'tax');
    expect(tax).toEqual([
      ['tax', '20.00'],
      ['tax', '-20.00'],
    ]);
  });
});

describe.each([
  // Yen have no decimals, Kuwaiti dinars three (ISO 4217). Margin scheme at 20 %: (price − paid) / 6.
  {
    currency: 'JPY',
    haulCostPerKilometre: '40',
    paid: '10000',
    haul: '400',
    price: '22000',
    tax: '2000',
    margin: '9600',
    fine: '0.5',
    askPrice: '25000',
  },
  {
    currency: 'KWD',
    haulCostPerKilometre: '0.025',
    paid: '10.005',
    haul: '0.250',
    price: '22.015',
    tax: '2.002',
    margin: '9.758',
    fine: '0.0005',
    askPrice: '25.125',
  },
])('in $currency', ({ currency, haulCostPerKilometre, paid, haul, price, tax, margin, fine, askPrice }) => {
  it("every amount is taken, kept and shown with the currency's own decimals, and a finer one is refused", async () => {
    const shop = await startTestShop({
      currency,
      haulCostPerKilometre,
      hourlyValue: '0',
      spaceCostPerDay: '0',
      taxScheme: 'marginScheme',
      taxRatePercent: 20,
    });
    try {
      const my = use(shop);
      const [one] = await my.lot(paid, { haulKilometres: 10 });
      expect(await my.get(`/acquisitions/${one!.acquisitionId}`)).toMatchObject({ price: paid, haulCost: haul });
      const job = { jobId: one!.jobId };
      await my.post(
        '/intake',
        {
          source: 'auction',
          acquiredDate: '2026-09-14',
          price: fine,
          machines: [{ kind: 'other', maker: 'Norvane', model: 'Drift' }],
        },
        422,
      );
      await my.post('/offers', { ...job, askPrice: fine }, 422);
      await my.post('/offers', { ...job, askPrice, reservationPrice: fine }, 422);
      await my.post('/sales', { ...job, price: fine }, 422);
      await my.post('/sales', { ...job, price, sellingCost: fine }, 422);
      await my.post('/ledger-entries', { ...job, kind: 'other', amount: fine, description: 'Dust' }, 422);
      await my.post(
        '/comparables',
        { kind: 'other', maker: 'Norvane', condition: 4, priceKind: 'sold', price: fine, seenDate: '2026-09-10' },
        422,
      );
      await shop.rest('owner', 'get', `/bid?kind=other&partsCost=${fine}`).expect(422);
      const offer = await my.post('/offers', { ...job, askPrice, reservationPrice: paid });
      expect(offer).toMatchObject({ askPrice, reservationPrice: paid });
      // JPY: 12000 / 6. KWD: 12.010 / 6 = 2.00167.
      expect(await my.post('/sales', { ...job, price })).toMatchObject({ price, taxCollected: tax });
      expect(await my.ledger(one!.jobId)).toEqual([
        ['saleProceeds', price],
        ['tax', tax],
      ]);
      // Price less tax, paid and haul.
      expect(await my.get(`/jobs/${one!.jobId}/cost`)).toMatchObject({ taxDue: tax, cashMargin: margin });
    } finally {
      await shop.close();
    }
  });
});
