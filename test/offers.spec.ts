/** Asks with their dates, what buyers offer, deposits, rates of their day, and the books after all of it. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

// What any kind of machine must pass (src/diagnosis/safety-checks.ts).
const CHECKS = ['engineStops', 'noFuelLeak', 'guards', 'throttleReturns', 'sparkLead', 'fastenersTight'];

let shop: TestShop;
/** A version in the body goes into the header. */
const post = async (path: string, { version, ...body }: Json, status = 201): Promise<Json> => {
  const reply = await shop.rest('owner', 'post', path, body, { version });
  if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${JSON.stringify(reply.body)}`);
  return reply.body;
};
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
const ledger = async (jobId: string): Promise<[string, string][]> =>
  (await get(`/ledger-entries?jobId=${jobId}&sort=createdAt`)).items
    .filter((one: Json) => one.kind !== 'purchase')
    .map((one: Json) => [one.kind, one.amount]);
const on = (date: string): void => void (shop.clock.now = new Date(`${date}T13:00:00Z`));

async function machine(price = '60.00'): Promise<{ jobId: string; machineId: string }> {
  const acquisitionId = (await post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-14', price })).id;
  const machineId = (await post('/machines', { acquisitionId, kind: 'other', maker: 'Norvane', model: 'Drift' })).id;
  const jobId = (await post('/jobs', { machineId })).id;
  await shop.within((context) =>
    context.tx.safetyCheck.createMany({
      data: CHECKS.map((check) => ({
        shopId: shop.shopId,
        jobId,
        check,
        passed: true,
        checkedBy: 'Mira',
        checkedDate: new Date('2026-09-15'),
      })),
    }),
  );
  return { jobId, machineId };
}

const comparable = (price: string, more: Json = {}): Json => ({
  kind: 'other',
  maker: 'Norvane',
  model: 'Drift',
  condition: 4,
  priceKind: 'sold',
  price,
  seenDate: '2026-09-01',
  ...more,
});

beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '20.00', spaceCostPerDay: '0.30' });
  for (const price of ['360.00', '395.00', '380.00', '410.00', '350.00']) await post('/comparables', comparable(price));
  for (const [index, price] of ['420.00', '440.00', '399.00', '430.00', '450.00'].entries())
    await post('/comparables', comparable(price, { priceKind: 'asking', seenDate: `2026-08-0${index + 1}` }));
});
afterAll(() => shop.close());

describe('a machine that ten comparables put at 380', () => {
  it('is asked for at what a dealer would not laugh at, and says why', async () => {
    const { jobId } = await machine();
    const advice = await get(`/jobs/${jobId}/price`);
    const likely = Number(advice.expected.likely);
    expect(likely).toBeGreaterThan(360);
    expect(likely).toBeLessThan(400);
    expect(Number(advice.ask) / likely).toBeGreaterThan(1.04);
    expect(Number(advice.ask) / likely).toBeLessThan(1.26);
    expect(Number(advice.acceptOffersFrom)).toBeGreaterThan(Number(advice.reservationPrice));
    const parts = Object.values(advice.askBreakdown as Record<string, string>);
    expect(parts.reduce((sum, part) => sum + Number(part), 0)).toBeCloseTo(Number(advice.ask), 2);
    // Four in five between low and high: nearer together than one and a half times.
    expect(Number(advice.expected.high) / Number(advice.expected.low)).toBeLessThan(1.5);
  });

  it('flags what was seen before and what is far off, and counts it all the same', async () => {
    const before = (await get('/bid?kind=other')).comparablesUsed;
    const twin = await post('/comparables', comparable('381.00', { seenDate: '2026-09-05' }));
    expect(twin.warnings.join()).toMatch(/was seen on 2026-09-01 already/);
    const slip = await post('/comparables', comparable('3800.00', { seenDate: '2026-06-01' }));
    expect(slip.warnings.join()).toMatch(/far above what/);
    const mended = await shop
      .rest('owner', 'patch', `/comparables/${slip.id}`, { price: '377.00', model: 'Drift 2' }, { version: 1 })
      .expect(200);
    expect(mended.body.warnings).toEqual([]);
    expect((await get('/bid?kind=other')).comparablesUsed).toBe(before + 2);
  });
});

describe('asks and offers', () => {
  it('keeps every ask with the day it stood from', async () => {
    const { jobId } = await machine();
    const offer = await post('/offers', { jobId, askPrice: '420.00', offeredDate: '2026-09-15' });
    on('2026-09-25');
    await shop
      .rest('owner', 'patch', `/offers/${offer.id}`, { askPrice: '400.00', askFromDate: '2026-09-22' }, { version: 1 })
      .expect(200);
    await shop.rest('owner', 'patch', `/offers/${offer.id}`, { note: 'Washed.' }, { version: 2 }).expect(200);
    const early = { askPrice: '390.00', askFromDate: '2026-09-20' };
    await shop.rest('owner', 'patch', `/offers/${offer.id}`, early, { version: 3 }).expect(422);
    const { data } = await shop.graphql(
      'owner',
      `{ offer(id: "${offer.id}") { askPrice askChanges { fromDate askPrice } } }`,
    );
    expect(data.offer).toEqual({
      askPrice: '400.00',
      askChanges: [
        { fromDate: '2026-09-15', askPrice: '420.00' },
        { fromDate: '2026-09-22', askPrice: '400.00' },
      ],
    });
    // Ten days on offer without a buyer are news of its market, and of how many enquire.
    const reasons = (await get(`/jobs/${jobId}/price`)).reasons.join('; ');
    expect(reasons).toMatch(/What has come of it since it was offered/);
    expect(reasons).toMatch(/of 1 own listings sold/);
    expect(reasons).toMatch(/tell almost nothing yet/);
  });

  it('advises to accept a good offer, not a low one, the same through both APIs', async () => {
    const { jobId } = await machine();
    await shop.rest('owner', 'get', `/jobs/${jobId}/offer-advice?amount=300.00`).expect(422);
    await post('/offers', { jobId, askPrice: '420.00' });
    const advice = async (amount: string): Promise<Json> => get(`/jobs/${jobId}/offer-advice?amount=${amount}`);
    expect((await advice('425.00')).action).toBe('accept');
    const low = await advice('200.00');
    expect(low.action).not.toBe('accept');
    expect(Number(low.waitingLeaves)).toBeGreaterThan(Number(low.acceptingLeaves));
    expect(Number(low.waitingLeaves)).toBeLessThan(Number(low.waitingLeftBefore));
    const good = await advice('405.00');
    expect(Number(good.acceptingLeaves)).toBe(405);
    const { data } = await shop.graphql(
      'owner',
      `{ offerAdvice(jobId: "${jobId}", amount: "405.00") { action waitingLeaves counterPrice } }`,
    );
    expect(data.offerAdvice).toEqual({
      action: expect.stringMatching(new RegExp(`^${good.action}$`, 'i')),
      waitingLeaves: good.waitingLeaves,
      counterPrice: good.counterPrice,
    });
  });

  it('holds a deposit until the sale, and gives it back with its reversal', async () => {
    const { jobId } = await machine();
    await post('/offers', { jobId, askPrice: '420.00' });
    const low = await post('/buyer-offers', { jobId, amount: '300.00', buyer: 'A neighbour' });
    const refused = await post(`/buyer-offers/${low.id}/refuse`, { version: 1, counterPrice: '400.00' }, 200);
    expect(refused).toMatchObject({ status: 'refused', counterPrice: '400.00' });
    const good = await post('/buyer-offers', { jobId, amount: '400.00', buyer: 'A caretaker' });
    await post(`/buyer-offers/${good.id}/accept`, { version: 1, deposit: '400.01' }, 422);
    const accepted = await post(
      `/buyer-offers/${good.id}/accept`,
      { version: 1, deposit: '50.00', holdUntilDate: '2026-10-05' },
      200,
    );
    expect(accepted).toMatchObject({ status: 'accepted', depositStatus: 'held', holdUntilDate: '2026-10-05' });
    expect((await get('/business')).tiedUp.depositsHeld).toBe('50.00');
    await post('/sales', { jobId, price: '410.00' }, 409);
    const sale = await post('/sales', { jobId, price: '400.00', buyerOfferId: good.id });
    expect(sale).toMatchObject({ buyer: 'A caretaker', buyerOfferId: good.id, condition: 2 });
    expect((await get(`/buyer-offers/${good.id}`)).depositStatus).toBe('applied');
    expect(await ledger(jobId)).toEqual([
      ['deposit', '50.00'],
      ['saleProceeds', '400.00'],
      ['depositApplied', '50.00'],
    ]);
    await post(`/sales/${sale.id}/reverse`, { reason: 'The buyer never came' }, 200);
    const held = await get(`/buyer-offers/${good.id}`);
    expect(held.depositStatus).toBe('held');
    await post(`/buyer-offers/${good.id}/withdraw`, { version: held.version }, 422);
    await post(`/buyer-offers/${good.id}/withdraw`, { version: held.version, deposit: 'forfeited' }, 200);
    // What was kept lowers what the machine has cost: 60.00 paid for it, less 50.00.
    expect((await get(`/jobs/${jobId}/cost`)).cashCost).toBe('10.00');
    expect((await get('/business')).tiedUp.depositsHeld).toBe('0.00');
    expect(await shop.discrepancies()).toEqual([]);
  });
});

describe('what is closed stays', () => {
  it('values hours and space at the rates of their day, whatever they cost later', async () => {
    const { jobId } = await machine();
    const person = await post('/people', { name: 'Mira', weeklyHours: [] });
    const task = await post('/tasks', {
      jobId,
      code: 'service',
      kind: 'service',
      name: 'Service',
      handsOnMinutes: 60,
      minMinutes: 60,
      maxMinutes: 60,
    });
    on('2026-10-01');
    await post('/labour-entries', {
      taskId: task.id,
      personId: person.id,
      startedAt: '2026-10-01T09:00:00Z',
      endedAt: '2026-10-01T11:00:00Z',
    });
    const sale = async (): Promise<Json> => get(`/jobs/${jobId}/cost`);
    await post('/sales', { jobId, price: '300.00' });
    const before = await sale();
    expect(before.labour).toBe('40.00');
    on('2026-10-02');
    const { version } = await get('/shop');
    await shop
      .rest('owner', 'patch', '/shop', { hourlyValue: '35.00', spaceCostPerDay: '2.00' }, { version })
      .expect(200);
    expect(await sale()).toEqual(before);
    on('2026-10-12');
    expect(await sale()).toEqual(before);
  });

  it('tells the year: what was sold by month and kind, and what it earned an hour', async () => {
    const report = await get('/business?from=2026-01-01&to=2026-12-31');
    expect(report.total).toMatchObject({ machines: 1, netProceeds: '300.00', ownHours: 2 });
    expect(report.byMonth.map((one: Json) => [one.month, one.machines])).toEqual([['2026-10', 1]]);
    // 300 less 60 paid for it, over two hours.
    expect(report.byKind[0]).toMatchObject({ kind: 'other', cashMargin: '240.00', earningsPerHour: '120.00' });
    expect(report.bySource).toEqual([expect.objectContaining({ source: 'auction', machines: 1 })]);
    expect(report.tax).toEqual([expect.objectContaining({ scheme: 'none', sales: 1, taxAmount: '0.00' })]);
    const ages = report.tiedUp.byAge as { machines: number; amount: string }[];
    expect(ages.reduce((sum, age) => sum + age.machines, 0)).toBe(report.tiedUp.machines);
    expect(ages.reduce((sum, age) => sum + Number(age.amount), 0)).toBeCloseTo(Number(report.tiedUp.machinesAmount), 2);
    const { data } = await shop.graphql(
      'reader',
      '{ businessReport(from: "2026-01-01", to: "2026-12-31") { total { machines fullMargin } } }',
    );
    expect(data.businessReport.total).toEqual({ machines: 1, fullMargin: report.total.fullMargin });
    expect(await shop.discrepancies()).toEqual([]);
  });

  it('finds a sum that does not equal its records', async () => {
    await shop.within((context) => context.tx.sale.updateMany({ data: { sellingCost: '1.00' } }));
    expect((await shop.discrepancies()).map(({ code }) => code)).toContain('sale-tax-booked');
  });
});

describe('a bid for a machine seen for sale', () => {
  it('answers the highest price, the chance of loss at the asked one, and what is worth checking', async () => {
    const bid = await get(
      '/bid?kind=other&maker=Norvane&askedPrice=150.00&haulKilometres=20&faultsSeen=housing&claimedSound=engine',
    );
    expect(Number(bid.highestBid)).toBeLessThan(Number(bid.expected.likely));
    expect(bid.atAskedPrice.price).toBe('150.00');
    expect(bid.checks.map((one: Json) => one.fault).sort()).toEqual(['engine', 'gearbox']);
    for (const check of bid.checks) expect(Number(check.value)).toBeGreaterThanOrEqual(0);
    expect(Number(bid.limits[bid.bindingRule])).toBe(Math.min(...Object.values(bid.limits as Json).map(Number)));
    expect(bid.reasons.join('; ')).toMatch(/Parts and paint with the faults seen \(housing\)/);
  });
});
