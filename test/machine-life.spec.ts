/**
 * A machine through its life: sold, taken apart or scrapped it takes no more jobs; kept, it may; bought once, it is
 * paid for once.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { missingSafetyChecks } from '../src/diagnosis/diagnosis.queries.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '30.00', spaceCostPerDay: '0.50' });
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201): Promise<Json> => {
  const reply = await shop.rest('owner', 'post', path, body);
  if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${reply.body.detail}`);
  return reply.body;
};
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
const costOf = (jobId: string): Promise<Json> => get(`/jobs/${jobId}/cost`);
const version = async (path: string): Promise<number> => (await get(path)).version;

/** A machine of a purchase of 60.00 and 10.00 of haul. */
async function bought(fields: Json = {}): Promise<string> {
  const { id } = await post('/acquisitions', {
    source: 'classified',
    acquiredDate: '2026-09-05',
    price: '60.00',
    haulKilometres: 25,
  });
  return (await post('/machines', { acquisitionId: id, kind: 'other', maker: 'Hallgrim', model: 'Boreal', ...fields }))
    .id;
}
const opened = async (machineId: string, fields: Json = {}): Promise<string> =>
  (await post('/jobs', { machineId, ...fields })).id;
const close = async (jobId: string, outcome: string, status = 200): Promise<Json> =>
  (
    await shop
      .rest('owner', 'post', `/jobs/${jobId}/close`, { outcome }, { version: await version(`/jobs/${jobId}`) })
      .expect(status)
  ).body;
const reopen = async (jobId: string, status = 200): Promise<Json> =>
  (
    await shop
      .rest('owner', 'post', `/jobs/${jobId}/reopen`, {}, { version: await version(`/jobs/${jobId}`) })
      .expect(status)
  ).body;
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
async function sell(jobId: string, price: string): Promise<Json> {
  await makeSafe(jobId);
  return post('/sales', { jobId, price });
}
/** What REST and GraphQL say when a job is asked for. */
async function refusalsOf(machineId: string): Promise<{ codes: string[]; detail: string }> {
  const { body } = await shop.rest('owner', 'post', '/jobs', { machineId }).expect(409);
  const { errors } = await shop.graphql('owner', 'mutation ($m: ID!) { createJob(input: { machineId: $m }) { id } }', {
    m: machineId,
  });
  expect(errors![0].message).toBe(body.detail);
  return { codes: [body.type.split(':').at(-1), errors![0].extensions.code], detail: body.detail };
}

describe('a machine that is no longer there', () => {
  it('takes no job once it is sold, until the sale is reversed', async () => {
    const machineId = await bought();
    const jobId = await opened(machineId);
    const sale = await sell(jobId, '200.00');
    const { number } = await get(`/jobs/${jobId}`);
    const { codes, detail } = await refusalsOf(machineId);
    expect(codes).toEqual(['machine-sold', 'machine-sold']);
    expect(detail).toContain(`sold with job ${number}, closed on 2026-09-15`);
    expect(detail).toMatch(/reverse it.* new acquisition/);
    await post(`/sales/${sale.id}/reverse`, { reason: 'Brought back' }, 200);
    expect((await get(`/jobs/${jobId}`)).status).toBe('intake');
    await close(jobId, 'kept');
    await opened(machineId);
  });

  it('is not ours to take apart once it is sold', async () => {
    const machineId = await bought();
    await sell(await opened(machineId), '200.00');
    const change = await shop
      .rest(
        'owner',
        'patch',
        `/machines/${machineId}`,
        { disposition: 'donor' },
        { version: await version(`/machines/${machineId}`) },
      )
      .expect(409);
    expect(change.body.type).toMatch(/machine-sold$/);
    const { errors } = await shop.graphql(
      'owner',
      'mutation ($m: ID!, $v: Int!) { changeMachine(input: { id: $m, version: $v, disposition: keep }) { id } }',
      { m: machineId, v: await version(`/machines/${machineId}`) },
    );
    expect(errors![0].extensions.code).toBe('machine-sold');
    // Its other fields are history that may be put right.
    await shop
      .rest(
        'owner',
        'patch',
        `/machines/${machineId}`,
        { serial: 'HB-204' },
        { version: await version(`/machines/${machineId}`) },
      )
      .expect(200);
    // Not even where it stands as a donor in older records.
    await shop.within((context) =>
      context.tx.machine.update({ where: { id: machineId }, data: { disposition: 'donor' } }),
    );
    const part = await post('/parts', { name: 'Auger gearbox', family: 'gearbox' });
    const harvest = {
      machineId,
      restValue: '0',
      parts: [{ partId: part.id, quantity: 1, unitValue: '5.00', bin: 'A1' }],
    };
    expect((await post('/harvests', harvest, 409)).type).toMatch(/machine-sold$/);
  });

  it('takes no job once it is taken apart or scrapped, until that job is opened again', async () => {
    for (const [outcome, code] of [
      ['partedOut', 'machine-parted-out'],
      ['scrapped', 'machine-scrapped'],
    ] as const) {
      const machineId = await bought({ disposition: 'donor' });
      const jobId = await opened(machineId);
      await close(jobId, outcome);
      const { codes, detail } = await refusalsOf(machineId);
      expect(codes).toEqual([code, code]);
      expect(detail).toContain(`Reopen job ${(await get(`/jobs/${jobId}`)).number}`);
      await reopen(jobId);
    }
  });

  it('that is meant for scrap is a donor before it is worked on, also at intake', async () => {
    const machineId = await bought({ disposition: 'scrap' });
    expect(await refusalsOf(machineId)).toMatchObject({
      codes: ['machine-scrapped', 'machine-scrapped'],
      detail: expect.stringContaining('"donor"'),
    });
    const whole = await post(
      '/intake',
      {
        source: 'donation',
        acquiredDate: '2026-09-14',
        price: '0',
        haulKilometres: 0,
        machines: [{ kind: 'other', maker: 'Norvane', model: 'Drift', disposition: 'scrap', openJob: true }],
      },
      409,
    );
    expect(whole.type).toMatch(/machine-scrapped$/);
    await shop
      .rest(
        'owner',
        'patch',
        `/machines/${machineId}`,
        { disposition: 'donor' },
        { version: await version(`/machines/${machineId}`) },
      )
      .expect(200);
    await opened(machineId);
  });

  it('has no earlier job opened again behind the one that it left with', async () => {
    const machineId = await bought();
    const first = await opened(machineId);
    await close(first, 'kept');
    await sell(await opened(machineId), '150.00');
    expect((await reopen(first, 409)).type).toMatch(/machine-sold$/);
  });

  it('is either sold or taken for parts, though both are asked for at the same time', async () => {
    const machineId = await bought();
    const jobId = await opened(machineId);
    await makeSafe(jobId);
    const [sold, changed] = await Promise.all([
      shop.rest('owner', 'post', '/sales', { jobId, price: '90.00' }),
      shop.rest(
        'owner',
        'patch',
        `/machines/${machineId}`,
        { disposition: 'donor' },
        { version: await version(`/machines/${machineId}`) },
      ),
    ]);
    expect([
      [201, 409],
      [422, 200],
    ]).toContainEqual([sold.status, changed.status]);
  });

  it("a job begins no earlier than the machine's last one ended", async () => {
    const machineId = await bought();
    const first = await opened(machineId, { openedDate: '2026-09-10' });
    await close(first, 'kept');
    const early = await post('/jobs', { machineId, openedDate: '2026-09-14' }, 422);
    expect(early.errors).toEqual([{ detail: expect.stringContaining('closed on 2026-09-15'), pointer: '/openedDate' }]);
    await opened(machineId, { openedDate: '2026-09-15' });
  });
});

describe('a purchase', () => {
  it("is borne by the machine's first job alone; the jobs together bear what was paid", async () => {
    const machineId = await bought({ kind: 'walkBehindMower' });
    const first = await opened(machineId);
    await post('/ledger-entries', { jobId: first, kind: 'other', amount: '5.00', description: 'Belt' });
    await close(first, 'kept');
    const later = await opened(machineId);
    await post('/ledger-entries', { jobId: later, kind: 'other', amount: '8.00', description: 'Cable' });
    // 60.00 and 10.00 of haul once; 5.00 and 8.00 beside it.
    expect(await costOf(first)).toMatchObject({ purchase: '70.00', cashCost: '75.00' });
    const cost = await costOf(later);
    expect(cost).toMatchObject({ purchase: '0.00', harvested: '0.00', cashCost: '8.00', fullCost: '8.00' });
    expect(cost.reasons).toContain(
      `job ${(await get(`/jobs/${first}`)).number} bears the machine's purchase, so that it counts once`,
    );
    const { data } = await shop.graphql(
      'reader',
      `{ machine(id: "${machineId}") { jobs { cost { purchase cashCost } } } }`,
    );
    expect(data.machine.jobs.map((job: Json) => job.cost)).toEqual([
      { purchase: '70.00', cashCost: '75.00' },
      { purchase: '0.00', cashCost: '8.00' },
    ]);
    // Nothing like it was seen on the market: a quarter on the 8.00 and on the 70.00 that it was bought for, 97.50.
    expect((await get(`/jobs/${later}/price`)).expected.likely).toBe('97.50');
    await sell(later, '200.00');
    // 200 − 8; and against the machine's purchase 200 − 70, though the other job bore it.
    expect(await costOf(later)).toMatchObject({ cashMargin: '192.00', gainOnPurchase: '130.00' });
  });

  it('falls to the next job where the first was opened by mistake, which itself bears nothing', async () => {
    const machineId = await bought();
    const mistaken = await opened(machineId);
    await shop.rest('owner', 'delete', `/jobs/${mistaken}`, undefined, { version: 1 }).expect(200);
    const right = await opened(machineId);
    expect(await costOf(right)).toMatchObject({ purchase: '70.00', cashCost: '70.00', spaceDays: 10 });
    const before = shop.clock.now;
    shop.clock.now = new Date('2026-10-15T13:00:00Z');
    expect(await costOf(mistaken)).toMatchObject({
      purchase: '0.00',
      spaceDays: 0,
      fullCost: '0.00',
      estimateAtCompletion: { likely: '0.00' },
    });
    shop.clock.now = before;
  });

  it('is what the margin scheme computes from, though an earlier job bore it', async () => {
    const settings = async (fields: Json) =>
      shop.rest('owner', 'patch', '/shop', fields, { version: await version('/shop') }).expect(200);
    await settings({ taxScheme: 'marginScheme', taxRatePercent: 20 });
    const machineId = await bought();
    await close(await opened(machineId), 'kept');
    const later = await opened(machineId);
    // (180 − 60) × 20/120 = 20.00 (Directive 2006/112/EC art. 315: the margin over the purchase price, haul left out).
    expect(await sell(later, '180.00')).toMatchObject({ taxCollected: '20.00' });
    // 180 − 20, and against 70.00.
    expect(await costOf(later)).toMatchObject({ purchase: '0.00', cashMargin: '160.00', gainOnPurchase: '90.00' });
    await settings({ taxScheme: 'none', taxRatePercent: 0 });
  });

  it('goes with parts taken off later, from the job that bore it', async () => {
    const machineId = await bought({ disposition: 'donor' });
    const first = await opened(machineId);
    await close(first, 'kept');
    const later = await opened(machineId);
    const part = await post('/parts', { name: 'Engine, 5 hp', family: 'engine' });
    // Of 70.00 by value: 60 of 60 + 20, 52.50.
    await post('/harvests', {
      machineId,
      parts: [{ partId: part.id, quantity: 1, unitValue: '60.00', bin: 'B1' }],
      restValue: '20.00',
    });
    expect(await costOf(first)).toMatchObject({ purchase: '70.00', harvested: '52.50', cashCost: '17.50' });
    expect(await costOf(later)).toMatchObject({ purchase: '0.00', harvested: '0.00', cashCost: '0.00' });
  });
});

describe('parts that are held and not used', () => {
  let supplierId: string;
  beforeAll(async () => {
    supplierId = (await post('/suppliers', { name: 'Marten Belts' })).id;
  });
  /** A job with one part held of a bin and one expected of an order line. */
  async function waiting(): Promise<{
    jobId: string;
    taskId: string;
    stockId: string;
    lineId: string;
    needIds: string[];
  }> {
    const machineId = await bought();
    const jobId = await opened(machineId);
    const taskId = (
      await post('/tasks', {
        jobId,
        code: 'belt',
        name: 'Fit the belt',
        kind: 'assemble',
        minMinutes: 10,
        handsOnMinutes: 20,
        maxMinutes: 30,
      })
    ).id;
    const part = await post('/parts', { name: `Belt of ${jobId.slice(-6)}`, family: 'belt' });
    const stockId = (await post('/stock', { partId: part.id, bin: 'C1', quantity: 1, unitCost: '6.00' })).id;
    const lineId = (await post('/orders', { supplierId, lines: [{ partId: part.id, quantity: 1, unitPrice: '7.00' }] }))
      .lines[0].id;
    const held = (await post('/part-needs', { taskId, partId: part.id, quantity: 1, stockId })).need;
    const expected = (await post('/part-needs', { taskId, partId: part.id, quantity: 1, orderLineId: lineId })).need;
    expect((await get(`/stock/${stockId}`)).quantityFree).toBe(0);
    return { jobId, taskId, stockId, lineId, needIds: [held.id, expected.id] };
  }
  const receive = async (lineId: string): Promise<Json> =>
    (await post(`/order-lines/${lineId}/receipts`, { quantity: 1, bin: 'C2' })).stock;

  it('are free again once the job is closed, however it ends, and are asked for anew when it is opened again', async () => {
    for (const end of [
      (jobId: string) => close(jobId, 'scrapped'),
      (jobId: string) => close(jobId, 'kept'),
      (jobId: string) => sell(jobId, '100.00'),
    ]) {
      const { jobId, stockId, lineId } = await waiting();
      await end(jobId);
      expect((await get(`/stock/${stockId}`)).quantityFree).toBe(1);
      expect((await receive(lineId)).quantityFree).toBe(1);
    }
    const { jobId, needIds } = await waiting();
    await close(jobId, 'kept');
    await reopen(jobId);
    const { data } = await shop.graphql('reader', `{ partNeeds(jobId: "${jobId}") { edges { node { id status } } } }`);
    expect(
      data.partNeeds.edges.map(({ node }: Json) => node).sort((a: Json, b: Json) => (a.id < b.id ? -1 : 1)),
    ).toEqual([...needIds].sort().map((id) => ({ id, status: 'unordered' })));
  });

  it('are free again once the task is taken back, or the job was a mistake', async () => {
    const one = await waiting();
    const { errors } = await shop.graphql(
      'owner',
      'mutation ($id: ID!, $v: Int!) { archiveTask(input: { id: $id, version: $v }) { id } }',
      { id: one.taskId, v: await version(`/tasks/${one.taskId}`) },
    );
    expect(errors).toBeUndefined();
    expect((await get(`/stock/${one.stockId}`)).quantityFree).toBe(1);
    expect((await receive(one.lineId)).quantityFree).toBe(1);
    expect((await get(`/part-needs?jobId=${one.jobId}`)).items).toEqual([]);
    const other = await waiting();
    await shop
      .rest('owner', 'delete', `/jobs/${other.jobId}`, undefined, { version: await version(`/jobs/${other.jobId}`) })
      .expect(200);
    expect((await get(`/stock/${other.stockId}`)).quantityFree).toBe(1);
    expect((await receive(other.lineId)).quantityFree).toBe(1);
  });
});

describe('what is still to come', () => {
  const task = (jobId: string, code: string, fields: Json = {}) =>
    post('/tasks', {
      jobId,
      code,
      name: code,
      kind: 'repair',
      minMinutes: 60,
      handsOnMinutes: 60,
      maxMinutes: 60,
      ...fields,
    });
  const partsEstimateToComplete = async (jobId: string): Promise<string> =>
    (await costOf(jobId)).estimateToComplete.parts;
  const free = async (): Promise<string> =>
    (await post('/machines', { kind: 'other', maker: 'Norvane', model: 'Found' })).id;

  it('counts a core charge until the old part is sent back, as what is then charged does', async () => {
    const supplier = await post('/suppliers', { name: 'Ridgeback Exchange' });
    const starter = await post('/parts', { name: 'Starter motor, rebuilt', family: 'starter' });
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      shippingCost: '5.00',
      lines: [{ partId: starter.id, quantity: 2, unitPrice: '40.00', coreCharge: '15.00' }],
    });
    const jobId = await opened(await free());
    const strip = await task(jobId, 'starter', { minMinutes: 0, handsOnMinutes: 0, maxMinutes: 0 });
    const need = async (fields: Json) =>
      (await post('/part-needs', { taskId: strip.id, partId: starter.id, quantity: 1, ...fields })).need;
    // Not ordered for it: at the price last paid, 40.00 and 15.00 for the core.
    const { id, version: first } = await need({});
    expect(await partsEstimateToComplete(jobId)).toBe('55.00');
    // Ordered: (2 × 55 + 5) / 2.
    await shop
      .rest('owner', 'post', `/part-needs/${id}/allocate`, { orderLineId: lines[0].id }, { version: first })
      .expect(200);
    expect(await partsEstimateToComplete(jobId)).toBe('57.50');
    await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, bin: 'S1' });
    expect(await partsEstimateToComplete(jobId)).toBe('57.50');
    // One of the line's cores is paid back: (115 − 15) / 2, in the bin and on what is still on its way alike.
    await post(`/order-lines/${lines[0].id}/core-returns`, { quantity: 1 });
    expect(await partsEstimateToComplete(jobId)).toBe('50.00');
    await need({ orderLineId: lines[0].id });
    expect(await partsEstimateToComplete(jobId)).toBe('100.00');
    await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, bin: 'S1' });
    const { items } = await get(`/part-needs?jobId=${jobId}`);
    for (const one of items)
      await shop.rest('owner', 'post', `/part-needs/${one.id}/use`, {}, { version: one.version }).expect(200);
    expect(await costOf(jobId)).toMatchObject({
      parts: '100.00',
      fullCost: '100.00',
      estimateToComplete: { parts: '0.00' },
    });
  });

  it('spreads the shares of a line over what was not cancelled', async () => {
    const supplier = await post('/suppliers', { name: 'Ridgeback Belts' });
    const belt = await post('/parts', { name: 'Drive belt', family: 'belt' });
    const order = await post('/orders', {
      supplierId: supplier.id,
      shippingCost: '6.00',
      lines: [{ partId: belt.id, quantity: 3, unitPrice: '10.00' }],
    });
    const [line] = order.lines;
    const jobId = await opened(await free());
    const strip = await task(jobId, 'belt', { minMinutes: 0, handsOnMinutes: 0, maxMinutes: 0 });
    const first = await post(`/order-lines/${line.id}/receipts`, { quantity: 1, bin: 'T1' });
    await post('/part-needs', { taskId: strip.id, partId: belt.id, quantity: 1, orderLineId: line.id });
    expect(await partsEstimateToComplete(jobId)).toBe('12.00');
    // One of the two is not replaced: it leaves the line with its share, and a piece costs what the order says of it.
    await post(`/receipts/${first.receipt.id}/returns`, {
      quantity: 1,
      reason: 'Frayed',
      supplierRefund: '10.00',
      replacementExpected: false,
    });
    const { landedUnitCost } = await get(`/order-lines/${line.id}`);
    expect(await partsEstimateToComplete(jobId)).toBe(landedUnitCost);
  });

  it('leaves out what was worked on a task that is begun, as the plan does', async () => {
    const person = await post('/people', { name: 'Mira', weeklyHours: [] });
    const jobId = await opened(await free());
    const { id } = await task(jobId, 'carburettor', { minMinutes: 60, handsOnMinutes: 120, maxMinutes: 180 });
    const start = await costOf(jobId);
    expect(start).toMatchObject({ labour: '0.00', remainingLabourMinutes: 120 });
    await post('/labour-entries', {
      taskId: id,
      personId: person.id,
      startedAt: '2026-09-14T09:00:00-04:00',
      endedAt: '2026-09-14T10:30:00-04:00',
    });
    // 90 of 120 minutes are done at 30.00 an hour: 45.00, and 15.00 to come.
    const begun = await costOf(jobId);
    expect(begun).toMatchObject({ labourMinutes: 90, labour: '45.00', remainingLabourMinutes: 30 });
    // Between 0 and 90 minutes to come, most likely 30: on the way as likely above 15.00 as below, or nearly.
    expect(Number(begun.estimateAtCompletion.likely)).toBeGreaterThan(58);
    expect(Number(begun.estimateAtCompletion.likely)).toBeLessThan(64);
    await post('/labour-entries', {
      taskId: id,
      personId: person.id,
      startedAt: '2026-09-14T10:30:00-04:00',
      endedAt: '2026-09-14T11:30:00-04:00',
    });
    // All its hours are used up and it is not finished: a quarter of an hour more (src/plan/problem.ts), not two hours.
    expect(await costOf(jobId)).toMatchObject({ labourMinutes: 150, remainingLabourMinutes: 15 });
  });

  it('leaves out the days of a cure that have passed: they are in the days it has stood here', async () => {
    const jobId = await opened(await free());
    const { id } = await task(jobId, 'cure', {
      kind: 'cure',
      minMinutes: 0,
      handsOnMinutes: 0,
      maxMinutes: 0,
      people: 0,
      cureMinutes: 14 * 1440,
    });
    await shop.rest('owner', 'post', `/tasks/${id}/start`, {}, { idempotencyKey: null }).expect(200);
    // Fourteen days at 0.50.
    expect((await costOf(jobId)).estimateToComplete.space).toBe('7.00');
    const before = shop.clock.now;
    shop.clock.now = new Date('2026-09-25T13:00:00Z');
    // Ten days have stood, four are to come.
    expect(await costOf(jobId)).toMatchObject({ space: '5.00', estimateToComplete: { space: '2.00' } });
    shop.clock.now = before;
  });
});
