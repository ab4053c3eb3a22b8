/** What a job has cost: the ledger and its reversals, labour and space, harvests and refunds, by hand. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

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
  const { id } = await post('/acquisitions', {
    source: 'classified',
    acquiredDate: '2026-09-05',
    price,
    haulKilometres: 25,
  });
  const machineId = (
    await post('/machines', { acquisitionId: id, kind: 'other', maker: 'Hallgrim', model: 'Boreal', ...fields })
  ).id;
  return { machineId, jobId: (await post('/jobs', { machineId })).id };
}
const costOf = (jobId: string) => get(`/jobs/${jobId}/cost`);

describe("a job's cost", () => {
  it('is purchase, haul, ledger, labour and space; cash and full told apart', async () => {
    const { jobId } = await bought('60.00');
    await post('/ledger-entries', { jobId, kind: 'consumable', amount: '14.95', description: 'Paint' });
    await post('/ledger-entries', {
      jobId,
      kind: 'other',
      amount: '5.05',
      occurredDate: '2026-09-01',
      description: 'Scrap fee',
    });
    await post('/ledger-entries', { jobId, kind: 'supplierRefund', amount: '4.00', description: 'Can returned' });
    const person = await post('/people', { name: 'Mira', weeklyHours: [] });
    const task = await post('/tasks', {
      jobId,
      name: 'Strip',
      code: 'strip',
      kind: 'strip',
      handsOnMinutes: 60,
      minMinutes: 60,
      maxMinutes: 60,
    });
    await post('/labour-entries', {
      taskId: task.id,
      personId: person.id,
      startedAt: '2026-09-14T09:00:00-04:00',
      endedAt: '2026-09-14T09:50:00-04:00',
    });
    // Cash 70 + 14.95 + 5.05 − 4; 50 min at 25.00 = 20.83; ten days from the 5th to the 15th at 0.50.
    expect(await costOf(jobId)).toMatchObject({
      purchase: '70.00',
      consumables: '14.95',
      other: '5.05',
      refunds: '4.00',
      cashCost: '86.00',
      labourMinutes: 50,
      labour: '20.83',
      spaceDays: 10,
      space: '5.00',
      fullCost: '111.83',
      salePrice: null,
      earningsPerHour: null,
    });
    const reply = await shop.graphql(
      'reader',
      `{ job(id: "${jobId}") { cost { cashCost fullCost estimateAtCompletion { likely } } ledger { kind amount } } }`,
    );
    expect(reply.data.job.cost).toMatchObject({ cashCost: '86.00', fullCost: '111.83' });
    expect(reply.data.job.ledger).toEqual([
      { kind: 'other', amount: '5.05' },
      { kind: 'purchase', amount: '70.00' },
      { kind: 'consumable', amount: '14.95' },
      { kind: 'supplierRefund', amount: '4.00' },
    ]);
    for (const asked of [`/jobs/${jobId}/cost`, `/ledger-entries?jobId=${jobId}`, `/jobs/${jobId}/price`])
      await shop.rest('helper', 'get', asked).expect(403);
    expect(
      (await shop.graphql('helper', `{ job(id: "${jobId}") { cost { cashCost } } }`)).errors?.[0].extensions.code,
    ).toBe('not-allowed');
  });

  it("counts a day when the shop's own day begins", async () => {
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
    await post('/ledger-entries', {
      jobId,
      kind: 'supplierRefund',
      amount: '100.00',
      description: 'The seller paid it back, and more',
    });
    expect(await costOf(jobId)).toMatchObject({ cashCost: '-30.00', fullCost: '-25.00' });
    await post('/comparables', {
      kind: 'walkBehindMower',
      maker: 'Hallgrim',
      condition: 4,
      priceKind: 'sold',
      price: '200.00',
      seenDate: '2026-09-10',
    });
    const advice = await get(`/jobs/${jobId}/price`);
    // What the ask is expected to leave, less the full cost, which is a gain here.
    expect(Number(advice.expectedMargin)).toBeCloseTo(Number(advice.expectedNet) + 25, 2);
  });

  it('counts a day in the shop for one job only', async () => {
    const { machineId, jobId } = await bought('60.00', { disposition: 'keep' });
    await shop.rest('owner', 'post', `/jobs/${jobId}/close`, { outcome: 'kept' }, { version: 1 }).expect(200);
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
    await post('/tasks', {
      jobId,
      name: 'Polish',
      code: 'polish',
      kind: 'clean',
      handsOnMinutes: 60,
      minMinutes: 30,
      maxMinutes: 90,
    });
    // 70.00, ten days at 0.50, and an hour at 25.00 to come, which can be worked today.
    expect(await costOf(jobId)).toMatchObject({
      fullCost: '75.00',
      remainingLabourMinutes: 60,
      estimateToComplete: { labour: '25.00', parts: '0.00', paint: '0.00', space: '0.00' },
    });
    expect(Number((await costOf(jobId)).estimateAtCompletion.likely)).toBeCloseTo(100, 0);
    await shop.rest('owner', 'post', `/jobs/${jobId}/close`, { outcome: 'scrapped' }, { version: 1 }).expect(200);
    expect(await costOf(jobId)).toMatchObject({
      fullCost: '75.00',
      remainingLabourMinutes: 0,
      estimateAtCompletion: { low: '75.00', likely: '75.00', high: '75.00' },
    });
  });

  it('goes on until it is finished: space, paint and parts to come, and what is not counted', async () => {
    const { jobId } = await bought('60.00');
    const task = (code: string, kind: string, fields: Json = {}) =>
      post('/tasks', {
        jobId,
        name: code,
        code,
        kind,
        handsOnMinutes: 60,
        minMinutes: 60,
        maxMinutes: 60,
        ...fields,
      });
    const prime = await task('prime', 'prime');
    await task('colour', 'colour', { cureMinutes: 14 * 1440 });
    expect((await costOf(jobId)).reasons).toContain(
      'paint for the 2 coats to come is not counted: no coating system ends in such coats',
    );
    // 10 × 50 % ÷ 50 µm = 10 m² a litre, nothing lost; a machine of no certain kind has about 1.5 m²: 0.15 L a coat at 40.00 a litre, 6.00.
    const can = {
      family: 'alkyd',
      volumeSolidsPercent: 50,
      dryFilmMicrometres: 50,
      lossPercent: 0,
      minCelsius: 8,
      maxCelsius: 32,
      touchMinutes: 60,
      handleMinutes: 360,
      assembleMinutes: 4320,
      fullMinutes: 14400,
      recoatMinutes: [{ fromMinutes: 15 }],
      containerLitres: 1,
      containerPrice: '40.00',
    };
    const [primer, colour] = [
      await post('/coating-products', { ...can, name: 'Primer', role: 'primer' }),
      await post('/coating-products', { ...can, name: 'Colour', role: 'colour' }),
    ];
    await post('/coating-systems', {
      name: 'Thin',
      coats: [primer, primer, colour].map(({ id }) => ({ productId: id })),
    });
    const known = await post('/parts', { name: 'Scraper', family: 'scraper' });
    const unknown = await post('/parts', { name: 'Odd bracket', family: 'bracket' });
    const supplier = await post('/suppliers', { name: 'Skell Parts' });
    await post('/orders', { supplierId: supplier.id, lines: [{ partId: known.id, quantity: 1, unitPrice: '7.00' }] });
    for (const [partId, quantity] of [
      [known.id, 2],
      [unknown.id, 3],
    ])
      await post('/part-needs', { taskId: prime.id, partId, quantity });
    const { expectedDate } = await get(`/jobs/${jobId}/schedule`);
    const days = (Date.parse(expectedDate) - Date.parse('2026-09-15')) / 86_400_000;
    expect(days).toBeGreaterThanOrEqual(14);
    const cost = await costOf(jobId);
    // Two hours at 25.00, two scrapers at the 7.00 last paid, two coats at 6.00, and the days at 0.50; 70.00 and ten days before.
    expect(cost).toMatchObject({
      fullCost: '75.00',
      estimateToComplete: { labour: '50.00', parts: '14.00', paint: '12.00', space: (days / 2).toFixed(2) },
    });
    expect(cost.reasons).toEqual(
      expect.arrayContaining([
        `${days} days of space are still to come, until it is finished about ${expectedDate}`,
        'paint for 2 coats of "Thin" on the areas that such a machine roughly has',
        'parts without a known price are not counted: 3 × Odd bracket',
      ]),
    );
    // Hours and parts are certain; paint between 0.7 and 1.5 of the likely, space up to half as much again.
    const [low, likely, high] = ['low', 'likely', 'high'].map((key) => Number(cost.estimateAtCompletion[key]));
    const least = 75 + 50 + 14 + 8.4 + days / 2;
    expect(low).toBeGreaterThan(least);
    expect(likely! - least).toBeGreaterThan(0);
    expect(high).toBeLessThan(75 + 50 + 14 + 18 + 0.75 * days);
    const { data } = await shop.graphql(
      'reader',
      `{ job(id: "${jobId}") { cost { estimateToComplete { labour parts paint space surprises committed } } } }`,
    );
    expect(data.job.cost.estimateToComplete).toEqual(cost.estimateToComplete);
    // A coat that has been put on is paid for, though its task is still open: only the colour is to come.
    await post('/coats', { jobId, taskId: prime.id, productId: primer.id, surface: 'housing', squareMetres: 1 });
    expect((await get(`/tasks/${prime.id}`)).finishedAt).toBeNull();
    expect((await costOf(jobId)).estimateToComplete.paint).toBe('6.00');
    // A plan looks 500 days ahead.
    await task('rest', 'cure', { cureMinutes: 600 * 1440 });
    expect((await costOf(jobId)).reasons).toContain(
      'space to come is not counted: no day is in sight on which it will be finished',
    );
  });

  it('of one job that is out of all reason is told of that job alone', async () => {
    const [odd, other] = [await bought('60.00'), await bought('60.00')];
    expect(
      (
        await post(
          '/ledger-entries',
          { jobId: odd.jobId, kind: 'other', amount: '99999999999.00', description: 'Slip' },
          422,
        )
      ).errors[0].detail,
    ).toContain('at most 9 digits');
    // As it may stand in older records.
    await shop.within((context) =>
      context.tx.ledgerEntry.createMany({
        data: Array.from({ length: 12 }, () => ({
          shopId: shop.shopId,
          jobId: odd.jobId,
          kind: 'other' as const,
          amount: '99999999999',
          occurredDate: new Date('2026-09-15'),
          description: 'Slip',
        })),
      }),
    );
    const refused = await shop.rest('owner', 'get', `/jobs/${odd.jobId}/cost`).expect(422);
    expect(refused.body).toMatchObject({
      type: 'urn:frostwright:problem:out-of-reach',
      detail: expect.stringMatching(/Job \d+ cannot be computed.*ledger/),
    });
    const { data, errors } = await shop.graphql(
      'owner',
      `{ a: job(id: "${odd.jobId}") { number cost { cashCost } price { ask } } b: ` +
        `job(id: "${other.jobId}") { cost { cashCost } price { ask } } }`,
    );
    expect(data).toEqual({
      a: { number: expect.any(Number), cost: null, price: null },
      b: { cost: { cashCost: '70.00' }, price: { ask: expect.any(String) } },
    });
    expect(errors!.map((one) => [one.path, one.extensions.code])).toEqual([
      [['a', 'cost'], 'out-of-reach'],
      [['a', 'price'], 'out-of-reach'],
    ]);
    const briefing = await get('/briefing');
    expect(briefing.jobs.find((job: Json) => job.jobId === odd.jobId)).toMatchObject({ cashCost: null, ask: null });
    expect(briefing.jobs.find((job: Json) => job.jobId === other.jobId)).toMatchObject({
      cashCost: '70.00',
      ask: expect.any(String),
    });
    await shop.rest('owner', 'get', '/readiness').expect(200);
    // One such amount can still be added up, but no price brings it back.
    const large = await bought('60.00', { kind: 'twoStageThrower' });
    await shop.within((context) =>
      context.tx.ledgerEntry.create({
        data: {
          shopId: shop.shopId,
          jobId: large.jobId,
          kind: 'other',
          amount: '95000000000',
          occurredDate: new Date('2026-09-15'),
          description: 'Slip',
        },
      }),
    );
    expect(await costOf(large.jobId)).toMatchObject({ cashCost: '95000000070.00' });
    expect((await shop.rest('owner', 'get', `/jobs/${large.jobId}/price`).expect(422)).body).toMatchObject({
      type: 'urn:frostwright:problem:out-of-reach',
      detail: expect.stringMatching(/Job \d+ cannot be computed: .*too large.*ledger/),
    });
    const again = await get('/briefing');
    expect(again.jobs.find((job: Json) => job.jobId === large.jobId)).toMatchObject({
      cashCost: '95000000070.00',
      ask: null,
    });
    expect(again.jobs.find((job: Json) => job.jobId === other.jobId).ask).toBe(data.b.price.ask);
    expect((await get('/readiness')).jobs.find((job: Json) => job.jobId === large.jobId)).toMatchObject({
      marginAtRisk: null,
    });
    // Sold, it tells nothing of what the next of its kind takes: the mean of the others, of whom there are none, counts.
    await post('/comparables', {
      kind: 'twoStageThrower',
      maker: 'Hallgrim',
      condition: 4,
      priceKind: 'sold',
      price: '700.00',
      seenDate: '2026-09-10',
    });
    await shop.within((context) =>
      context.tx.job.update({
        where: { id: large.jobId },
        data: { outcome: 'sold', closedDate: new Date('2026-09-15') },
      }),
    );
    expect(await get('/bid?kind=twoStageThrower')).toMatchObject({
      expected: { likely: expect.stringMatching(/^7\d\d\.\d\d$/) },
    });
    await get('/briefing');
  });

  it('of a machine that nobody bought is its work alone', async () => {
    const machine = await post('/machines', { kind: 'other', maker: 'Hallgrim', model: 'Found' });
    const { id } = await post('/jobs', { machineId: machine.id });
    expect(await costOf(id)).toMatchObject({ purchase: '0.00', cashCost: '0.00', spaceDays: 0, fullCost: '0.00' });
  });

  it("another shop's job has none here", async () => {
    const { jobId } = await bought('60.00');
    const other = await shop.anotherShop();
    const stranger = { headers: { Authorization: `Bearer ${other.keys.owner}` } };
    await shop.rest('owner', 'get', `/jobs/${jobId}/cost`, undefined, stranger).expect(404);
    await shop
      .rest(
        'owner',
        'post',
        '/ledger-entries',
        { jobId, kind: 'other', amount: '1.00', description: 'Mischief' },
        stranger,
      )
      .expect(404);
  });
});

describe('the ledger', () => {
  it('takes positive amounts of the currency, of past days, from the owner', async () => {
    const { jobId } = await bought('60.00');
    const entry = { jobId, kind: 'consumable', amount: '1.00', description: 'Rags' };
    for (const fields of [
      { amount: '0' },
      { amount: '0.00' },
      { amount: '-1.00' },
      { amount: '1.005' },
      { amount: 1 },
      { amount: '1e2' },
      { amount: '999999999999.00' },
      { kind: 'part' },
      { kind: 'saleProceeds' },
      { kind: 'tax' },
      { occurredDate: '2026-09-16' },
      { occurredDate: '2026-02-30' },
      { description: '' },
      { reversesId: jobId },
    ]) {
      await post('/ledger-entries', { ...entry, ...fields }, 422);
    }
    for (const role of ['helper', 'reader'] as const)
      await shop.rest(role, 'post', '/ledger-entries', entry).expect(403);
    expect((await get(`/ledger-entries?jobId=${jobId}`)).items).toMatchObject([{ kind: 'purchase', amount: '70.00' }]);
  });

  it('is taken back by the opposite, once, over both transports, and never rewritten', async () => {
    const { jobId } = await bought('60.00');
    const entry = await post('/ledger-entries', {
      jobId,
      kind: 'consumable',
      amount: '12.00',
      occurredDate: '2026-09-10',
      description: 'Paint',
    });
    const both = await Promise.all([
      shop.rest('owner', 'post', `/ledger-entries/${entry.id}/reverse`, { reason: 'Other job' }),
      shop.graphql(
        'owner',
        'mutation ($id: ID!) { reverseLedgerEntry(input: { id: $id, reason: "Other job" }) { amount } }',
        { id: entry.id },
      ),
    ]);
    expect(
      [both[0].status === 201, both[1].data?.reverseLedgerEntry?.amount === '-12.00'].filter(Boolean),
    ).toHaveLength(1);
    const { items } = await get(`/ledger-entries?jobId=${jobId}&sort=createdAt`);
    expect(items.map((one: Json) => [one.amount, one.occurredDate, one.reversesId])).toEqual([
      ['70.00', '2026-09-05', null],
      ['12.00', '2026-09-10', null],
      ['-12.00', '2026-09-15', entry.id],
    ]);
    await post(`/ledger-entries/${items[1].id}/reverse`, { reason: 'Again' }, 409);
    await post(`/ledger-entries/${items[0].id}/reverse`, { reason: 'Again' }, 409);
    await post(`/ledger-entries/${jobId}/reverse`, { reason: 'No entry' }, 404);
    expect(await costOf(jobId)).toMatchObject({ consumables: '0.00', cashCost: '70.00' });
    await expect(
      shop.database.withShop(shop.shopId, (tx) => tx.ledgerEntry.updateMany({ data: { amount: '1' } })),
    ).rejects.toThrow();
    await expect(shop.database.withShop(shop.shopId, (tx) => tx.ledgerEntry.deleteMany({}))).rejects.toThrow();
    // Not even the database takes a reversal that is not the opposite.
    const wrong = {
      shopId: shop.shopId,
      jobId,
      kind: 'consumable' as const,
      amount: '-3',
      occurredDate: new Date('2026-09-15'),
      description: 'Half',
      reversesId: entry.id,
    };
    await expect(shop.database.withShop(shop.shopId, (tx) => tx.ledgerEntry.create({ data: wrong }))).rejects.toThrow();
  });

  it('lets material for making a part be taken back, and a part that was used only by taking it back', async () => {
    const { jobId } = await bought('60.00');
    const task = await post('/tasks', {
      jobId,
      name: 'Fit the paddles',
      code: 'paddles',
      kind: 'assemble',
      handsOnMinutes: 60,
      minMinutes: 60,
      maxMinutes: 60,
    });
    const part = await post('/parts', { name: 'Paddle', family: 'rubber' });
    const supplier = await post('/suppliers', { name: 'Tarn Rubber' });
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      lines: [{ partId: part.id, quantity: 2, unitPrice: '7.00' }],
    });
    await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 2, orderLineId: lines[0].id });
    await post(`/order-lines/${lines[0].id}/shortage-options`, {
      kind: 'rework',
      reworkMinutes: 40,
      reworkCost: '4.00',
    });
    const [material] = (await get(`/ledger-entries?jobId=${jobId}`)).items;
    expect(material).toMatchObject({ kind: 'part', amount: '4.00' });
    await post(`/ledger-entries/${material.id}/reverse`, { reason: 'The sheet was here already' });
    expect(await costOf(jobId)).toMatchObject({ parts: '0.00', cashCost: '70.00' });
    const stock = await post('/stock', { partId: part.id, bin: 'P1', quantity: 1, unitCost: '6.00' });
    const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1, stockId: stock.id });
    await shop.rest('owner', 'post', `/part-needs/${need.id}/use`, {}, { version: need.version }).expect(200);
    const [used] = (await get(`/ledger-entries?jobId=${jobId}&kind=part&sort=-createdAt`)).items;
    const { errors } = await shop.graphql(
      'owner',
      'mutation ($id: ID!) { reverseLedgerEntry(input: { id: $id, reason: "Wrong" }) { amount } }',
      { id: used.id },
    );
    expect(errors![0]).toMatchObject({
      message: expect.stringContaining('take the part back instead'),
      extensions: { code: 'booked-elsewhere' },
    });
  });

  it('is listed by kind and day', async () => {
    const { jobId } = await bought('60.00');
    for (const [kind, occurredDate] of [
      ['consumable', '2026-09-08'],
      ['other', '2026-09-09'],
      ['consumable', '2026-09-10'],
    ])
      await post('/ledger-entries', { jobId, kind, amount: '1.00', occurredDate, description: 'One' });
    const daysOf = async (filter: string) =>
      (await get(`/ledger-entries?jobId=${jobId}&${filter}`)).items.map((one: Json) => one.occurredDate);
    expect(await daysOf('kind=consumable')).toEqual(['2026-09-10', '2026-09-08']);
    expect(await daysOf('from=2026-09-09&sort=occurredDate')).toEqual(['2026-09-09', '2026-09-10']);
    expect(await daysOf('to=2026-09-09')).toEqual(['2026-09-09', '2026-09-08', '2026-09-05']);
  });

  it('of a archived job is closed, that of a sold one takes a late bill', async () => {
    const { jobId } = await bought('60.00');
    const { version } = await get(`/jobs/${jobId}`);
    await shop.rest('owner', 'delete', `/jobs/${jobId}`, undefined, { version }).expect(200);
    await post('/ledger-entries', { jobId, kind: 'other', amount: '1.00', description: 'Late' }, 409);
    const kept = await bought('60.00');
    await shop.rest('owner', 'post', `/jobs/${kept.jobId}/close`, { outcome: 'kept' }, { version: 1 }).expect(200);
    await post('/ledger-entries', { jobId: kept.jobId, kind: 'other', amount: '1.00', description: 'Late' });
  });
});

it('parts taken off a machine take their share of its purchase along', async () => {
  const { machineId, jobId } = await bought('60.00', { disposition: 'donor' });
  const part = await post('/parts', { name: 'Auger gearbox', family: 'gearbox' });
  // 70.00 by value: 60 of 60 + 20 goes with the part, 52.50.
  await post('/harvests', {
    machineId,
    parts: [{ partId: part.id, quantity: 1, unitValue: '60.00', bin: 'A1' }],
    restValue: '20.00',
  });
  expect(await costOf(jobId)).toMatchObject({ purchase: '70.00', harvested: '52.50', cashCost: '17.50' });
  // Its share may not fall below what went along.
  const { acquisitionId } = await get(`/machines/${machineId}`);
  await shop.rest('owner', 'patch', `/acquisitions/${acquisitionId}`, { price: '40.00' }, { version: 1 }).expect(409);
  await shop.rest('owner', 'patch', `/acquisitions/${acquisitionId}`, { price: '50.00' }, { version: 1 }).expect(200);
  expect(await costOf(jobId)).toMatchObject({ purchase: '60.00', harvested: '52.50', cashCost: '7.50' });
  // The rest turns out to be waste: a part worth 1.00 takes 1.00 of the 7.50 along, and the loss stays where it was made.
  const cable = await post('/parts', { name: 'Cable', family: 'cable' });
  const made = await shop.graphql(
    'owner',
    'mutation ($input: CreateHarvestInput!) { createHarvest(input: $input) { basisLeft reasons stock { unitCost } } }',
    {
      input: { machineId, parts: [{ partId: cable.id, quantity: 1, unitValue: '1.00', bin: 'A2' }], restValue: '0' },
    },
  );
  expect(made.data.createHarvest).toEqual({
    basisLeft: '6.50',
    reasons: [expect.stringContaining('at most what they are worth')],
    stock: [{ unitCost: '1.00' }],
  });
  expect(await costOf(jobId)).toMatchObject({ harvested: '53.50', cashCost: '6.50' });
});
