/**
 * The five journeys from end to end over HTTP, each step through REST or GraphQL as a user would take it. The station's
 * weather is the seeded generator's; everything asserted as a number is worked out by hand in a comment.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { standardRoutes } from '../seed/routes.js';
import { makeStationDays } from '../seed/weather.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
/** A Tuesday in June: months to go before the snow, and warm enough to paint. */
const NOW = new Date('2026-06-09T13:00:00Z');
const routes: Record<string, string> = {};

const post = async (path: string, body: Json, status = 201): Promise<Json> => {
  const reply = await shop.rest('owner', 'post', path, body);
  if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${JSON.stringify(reply.body)}`);
  return reply.body;
};
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;

beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '10.00', spaceCostPerDay: '0.50', haulCostPerKilometre: '0.40' }, NOW);
  for (const route of standardRoutes) routes[route.machineKind] = (await post('/routes', route)).id;
  await post('/people', {
    name: 'Mira',
    weeklyHours: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' })),
  });
  for (const kind of ['bench', 'sprayArea', 'cureRack'])
    await post('/places', { name: kind, kind, capacity: kind === 'cureRack' ? 4 : 1 });
  const station = await post('/stations', { name: 'Lake Orrin', latitude: 45.5, longitude: -75.6 });
  const days = makeStationDays({ seed: 7, endDate: '2026-06-08', years: 30 });
  for (let at = 0; at < days.length; at += 4000)
    await shop.rest('owner', 'post', `/stations/${station.id}/days`, { days: days.slice(at, at + 4000) }).expect(200);
  for (const [price, priceKind, seenDate] of [
    ['340.00', 'sold', '2025-11-20'],
    ['395.00', 'asking', '2026-01-04'],
    ['360.00', 'sold', '2025-12-02'],
    ['420.00', 'asking', '2025-11-11'],
    ['310.00', 'sold', '2026-02-01'],
    ['380.00', 'asking', '2025-12-20'],
  ] as const) {
    await post('/comparables', {
      kind: 'singleStageThrower',
      maker: 'Norvane',
      condition: 4,
      priceKind,
      price,
      seenDate,
    });
  }
}, 60_000);
afterAll(() => shop.close());

describe('1. a marketplace purchase at intake', () => {
  it('one call takes it in; the answer has cost, completion, margin and cautions', async () => {
    const taken = await post('/intake', {
      source: 'classified',
      acquiredDate: '2026-06-09',
      price: '80.00',
      haulKilometres: 25,
      seller: 'A neighbour',
      sellerClaims: 'Ran last winter.',
      machines: [
        {
          kind: 'singleStageThrower',
          maker: 'Norvane',
          model: 'Drift 21',
          valueAsFound: '60.00',
          findings: [
            {
              component: 'Paddles',
              observation: 'Worn',
              measuredValue: 4,
              limitLow: 6,
              unit: 'mm',
              verdict: 'replace',
            },
          ],
        },
        {
          kind: 'singleStageThrower',
          maker: 'Norvane',
          model: 'Drift 21',
          disposition: 'donor',
          valueAsFound: '30.00',
        },
      ],
    });
    // 80 + 25 km × 0.40 = 90, split 60 : 30.
    expect(taken.totalCost).toBe('90.00');
    const [machine, donor] = taken.machines;
    expect(machine.machine.acquisitionShare).toBe('60.00');
    expect(donor.machine.acquisitionShare).toBe('30.00');
    expect(donor.job).toBeNull();
    expect(machine.job.status).toBe('diagnosed');
    expect(machine.findings[0].withinLimits).toBe(false);
    // Bought today, nothing done yet: the cost so far is the share.
    expect(machine.cost).toMatchObject({
      purchase: '60.00',
      cashCost: '60.00',
      fullCost: '60.00',
      labourMinutes: 0,
      spaceDays: 0,
    });
    // The route's likely minutes: 30+60+120+120 and 90+45+45+45+45 and 90+25+30+150+60+45.
    expect(machine.cost.remainingLabourMinutes).toBe(1000);
    // It cannot be done before the two weeks on the rack are over, and the paint weather of June does not hold it up long.
    expect(machine.forecast.expectedDate > '2026-06-25' && machine.forecast.expectedDate < '2026-07-20').toBe(true);
    expect(machine.forecast.chain.join('\n')).toMatch(/Cure on the rack/);
    // Six comparables between 310 and 420.
    expect(Number(machine.expectedPrice.expected.likely)).toBeGreaterThan(280);
    expect(Number(machine.expectedPrice.expected.likely)).toBeLessThan(420);
    // Expected margin: what the ask is expected to leave, less the cost at completion; its range is about that.
    const { low, likely, high } = machine.expectedMargin;
    const { expectedNet, expectedMargin } = machine.expectedPrice;
    expect(Number(expectedMargin)).toBeCloseTo(
      Number(expectedNet) - Number(machine.cost.estimateAtCompletion.likely),
      2,
    );
    expect(Number(low)).toBeLessThan(Number(expectedMargin));
    expect(Number(high)).toBeGreaterThan(Number(expectedMargin));
    expect(Number(low)).toBeLessThan(Number(likely));
    expect(Number(high)).toBeGreaterThan(Number(likely));
    // What is to be minded first, and not all of the route: nobody sprays before the machine has been drained.
    expect(machine.firstSteps.map((one: Json) => one.title)).toEqual([
      'Key out, plug wire off',
      'Nothing by hand in chute or auger',
      'Fuel out, outdoors',
    ]);
    const cautions = machine.cautions.map((one: Json) => one.code);
    expect(cautions).toEqual(expect.arrayContaining(['fuelVapour', 'spinningAuger']));
    expect(cautions).not.toContain('isocyanate');
    // The donor stands in no plan.
    expect(donor.forecast).toBeNull();
  });

  it('the same over GraphQL', async () => {
    const reply = await shop.graphql(
      'owner',
      `mutation ($input: RecordIntakeInput!) { recordIntake(input: $input, idempotencyKey: "journey-1") {
        totalCost acquisition { id seller } machines { machine { id acquisitionShare }
          job { id number status tasks { code } } cost { cashCost }
          forecast { expectedDate reasons } expectedMargin { low likely high } cautions { code title } } } }`,
      {
        input: {
          source: 'auction',
          acquiredDate: '2026-06-08',
          price: '40.00',
          splitMethod: 'equal',
          machines: [
            { kind: 'singleStageThrower', maker: 'Norvane', model: 'Drift 18' },
            { kind: 'singleStageThrower', maker: 'Pikestone', model: 'Gale 20' },
          ],
        },
      },
    );
    expect(reply.errors).toBeUndefined();
    const [first, second] = reply.data.recordIntake.machines;
    expect(first.machine.acquisitionShare).toBe('20.00');
    expect(second.job.number).toBe(first.job.number + 1);
    expect(first.job.tasks).toHaveLength(standardRoutes[0]!.tasks.length);
  });

  it('is written whole or not at all', async () => {
    const before = await shop.database.withShop(shop.shopId, (tx) => tx.acquisition.count());
    const reply = await shop.rest('owner', 'post', '/intake', {
      source: 'classified',
      acquiredDate: '2026-06-09',
      price: '10.00',
      machines: [
        {
          kind: 'singleStageThrower',
          maker: 'Norvane',
          model: 'Drift 21',
          routeId: '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11',
        },
      ],
    });
    expect(reply.status).toBe(404);
    expect(await shop.database.withShop(shop.shopId, (tx) => tx.acquisition.count())).toBe(before);
    const manual = await shop.rest('owner', 'post', '/intake', {
      source: 'classified',
      acquiredDate: '2026-06-09',
      price: '10.00',
      splitMethod: 'manual',
      machines: [{ kind: 'other', maker: 'X', model: 'Y', share: '9.00' }],
    });
    expect(manual.body.errors[0].detail).toMatch(/add up to 9/);
    expect(
      (
        await shop.rest('helper', 'post', '/intake', {
          source: 'classified',
          acquiredDate: '2026-06-09',
          price: '10.00',
          machines: [],
        })
      ).status,
    ).toBe(403);
  });
});

describe('2. a back-ordered fastener', () => {
  it('each step moves the completion of the job that needs it, and of no other, and says why', async () => {
    const taken = await post('/intake', {
      source: 'classified',
      acquiredDate: '2026-06-09',
      price: '30.00',
      machines: [{ kind: 'singleStageThrower', maker: 'Norvane', model: 'Drift 21 E' }],
    });
    const { job } = taken.machines[0];
    const tasks = (await get(`/tasks?jobId=${job.id}&first=100`)).items as Json[];
    const scraperBar = tasks.find((task) => task.code === 'scraper-bar')!;
    const part = await post('/parts', {
      name: 'Scraper bar bolt',
      family: 'fastener',
      fastener: '5/16-18 x 1 carriage, grade 5, zinc',
    });
    const supplier = await post('/suppliers', { name: 'Tarn Fasteners' });
    const need = (await post('/part-needs', { taskId: scraperBar.id, partId: part.id, quantity: 3 })).need;
    expect(need.status).toBe('unordered');

    const placed = await post('/orders', {
      supplierId: supplier.id,
      shippingCost: '3.00',
      lines: [{ partId: part.id, quantity: 3, unitPrice: '0.85', promisedDate: '2026-06-16', partNeedIds: [need.id] }],
    });
    const [line] = placed.lines;
    const expected = async () => (await get(`/jobs/${job.id}/schedule`)).expectedDate as string;
    const onTime = await expected();

    // The supplier names a day far beyond the cure: now the bolts decide.
    const slipped = await post(`/order-lines/${line.id}/promises`, {
      promisedDate: '2026-09-10',
      note: 'Batch delayed.',
    });
    expect(slipped.line).toMatchObject({ backOrdered: true, slipDays: 86 });
    const moved = slipped.effects.filter((one: Json) => one.jobId === job.id);
    expect(moved).toHaveLength(1);
    expect(moved[0].days).toBeGreaterThan(7);
    expect(moved[0].reasons.join(' ')).toMatch(/scraper bar.*Scraper bar bolt/i);
    expect(await expected()).toBe(moved[0].after);

    // It slips again: no day at all.
    const withdrawn = await post(`/order-lines/${line.id}/promises`, { promisedDate: null });
    expect(withdrawn.line).toMatchObject({ backOrdered: true, promisedDate: null });

    // Shown waiting: the scraper bar, and nothing else for a part.
    const forecast = await get(`/jobs/${job.id}/schedule`);
    expect(forecast.waits.filter((wait: Json) => wait.kind === 'part').map((wait: Json) => wait.taskName)).toEqual([
      'Fit the scraper bar',
    ]);

    // Two come, and they are the wrong ones; they go back.
    const wrong = await post(`/order-lines/${line.id}/receipts`, { quantity: 2, condition: 'wrong', note: 'Metric.' });
    expect(wrong.line).toMatchObject({ quantityReceived: 0, quantityOutstanding: 3 });
    const returned = await post(`/receipts/${wrong.receipt.id}/returns`, { quantity: 2, replacementExpected: true });
    expect(returned.line.quantityOutstanding).toBe(3);

    // One right one, then the other two: the job is back where it was.
    await post(`/order-lines/${line.id}/receipts`, { quantity: 1, bin: 'Job tray' });
    const last = await post(`/order-lines/${line.id}/receipts`, { quantity: 2, bin: 'Job tray' });
    expect(last.line).toMatchObject({ quantityReceived: 3, quantityOutstanding: 0, status: 'received' });
    expect(last.effects.find((one: Json) => one.jobId === job.id).days).toBeLessThan(-7);
    expect(await expected()).toBe(onTime);
    expect((await get(`/jobs/${job.id}/schedule`)).waits.filter((wait: Json) => wait.kind === 'part')).toEqual([]);
    // Landed: 3 × 0.85 + 3.00 shipping = 5.55, 1.85 each.
    expect(last.line.landedUnitCost).toBe('1.85');
    const readable = await shop.graphql(
      'helper',
      `{ orderLine(id: "${line.id}") { unitPrice promises { sequence promisedDate } receipts { quantity condition } } }`,
    );
    expect(readable.errors).toBeUndefined();
    expect(readable.data.orderLine.unitPrice).toBeNull();
    expect(readable.data.orderLine.promises.map((one: Json) => one.promisedDate)).toEqual([
      '2026-06-16',
      '2026-09-10',
      null,
    ]);
  }, 30_000);
});

describe('3. pricing a finished machine', () => {
  it('full cost, floor, ask, expected margin, gain on the purchase and earnings an hour; then the sale', async () => {
    shop.clock.now = NOW;
    const taken = await post('/intake', {
      source: 'donation',
      acquiredDate: '2026-05-10',
      price: '20.00',
      haulKilometres: 0,
      machines: [{ kind: 'singleStageThrower', maker: 'Norvane', model: 'Drift 21', routeId: null, openJob: false }],
    });
    const job = await post('/jobs', { machineId: taken.machines[0].machine.id, openedDate: '2026-05-10' });
    const task = await post('/tasks', {
      jobId: job.id,
      code: 'all',
      name: 'Everything',
      kind: 'service',
      handsOnMinutes: 360,
      minMinutes: 300,
      maxMinutes: 420,
    });
    const person = (await get('/people')).items[0];
    await post('/labour-entries', {
      taskId: task.id,
      personId: person.id,
      startedAt: '2026-06-01T13:00:00Z',
      endedAt: '2026-06-01T19:00:00Z',
    });
    await shop.rest('owner', 'post', `/tasks/${task.id}/finish`, { at: '2026-06-01T19:00:00Z' }).expect(200);
    await post('/ledger-entries', { jobId: job.id, kind: 'consumable', amount: '25.00', description: 'Paint' });

    const cost = await get(`/jobs/${job.id}/cost`);
    // Cash 20 + 25; 6 h at 10; 30 days at 0.50.
    expect(cost).toMatchObject({
      purchase: '20.00',
      consumables: '25.00',
      cashCost: '45.00',
      labourMinutes: 360,
      labour: '60.00',
      spaceDays: 30,
      space: '15.00',
      fullCost: '120.00',
    });

    const advice = await get(`/jobs/${job.id}/price`);
    const likely = Number(advice.expected.likely);
    expect(likely).toBeGreaterThan(280);
    expect(likely).toBeLessThan(420);
    expect(Number(advice.ask)).toBeGreaterThan(Number(advice.reservationPrice));
    const net = Number(advice.expectedNet);
    expect(Number(advice.gainOnPurchase)).toBeCloseTo(net - 20, 2);
    expect(Number(advice.expectedMargin)).toBeCloseTo(net - 120, 2);
    // (what the sale leaves − 45 paid) over 6 hours.
    expect(Number(advice.earningsPerHour)).toBeCloseTo((net - 45) / 6, 1);
    // Finished, so it is offered today: the likely price is today's, and what the ask adds to it adds up.
    expect([advice.basedOn, advice.expectedDate]).toEqual(['comparables', '2026-06-09']);
    const made = advice.askBreakdown;
    expect(made.market).toBe(advice.expected.likely);
    expect(
      ['market', 'season', 'negotiationAllowance', 'premium'].reduce((sum, key) => sum + Number(made[key]), 0),
    ).toBeCloseTo(Number(advice.ask), 2);
    expect(advice.comparablesUsed).toBe(6);

    // Not before the safety checks.
    const early = await shop.rest('owner', 'post', '/offers', { jobId: job.id, askPrice: advice.ask });
    expect(early.status).toBe(422);
    expect(early.body.type).toBe('urn:frostwright:problem:safety-checks-missing');
    for (const check of early.body.missing)
      await post('/safety-checks', { jobId: job.id, check, passed: true, checkedBy: 'Mira' });
    await post('/offers', { jobId: job.id, askPrice: advice.ask });
    expect((await get(`/jobs/${job.id}`)).status).toBe('offered');

    const sale = await post('/sales', { jobId: job.id, price: '330.00', sellingCost: '6.00', buyer: 'A caretaker' });
    const sold = await get(`/jobs/${job.id}/cost`);
    // 330 less 51 paid out; less 60 labour and 15 space; 279 over 6 hours.
    expect(sold).toMatchObject({
      salePrice: '330.00',
      taxDue: '0.00',
      cashCost: '51.00',
      cashMargin: '279.00',
      fullMargin: '204.00',
      gainOnPurchase: '310.00',
      earningsPerHour: '46.50',
    });
    // 204 / 330 and 204 / 126.
    expect(sold.marginPercentOfPrice).toBeCloseTo(61.82, 2);
    expect(sold.markupPercentOnCost).toBeCloseTo(161.9, 1);
    expect((await get(`/jobs/${job.id}`)).status).toBe('sold');

    // A sale is undone by reversal: the ledger keeps both.
    await shop.rest('owner', 'post', `/sales/${sale.id}/reverse`, { reason: 'Cheque bounced' }).expect(200);
    expect((await get(`/jobs/${job.id}`)).status).toBe('finished');
    const ledger = (await get(`/ledger-entries?jobId=${job.id}&first=50`)).items as Json[];
    expect(
      ledger
        .filter((entry) => entry.kind === 'saleProceeds')
        .map((entry) => entry.amount)
        .sort(),
    ).toEqual(['-330.00', '330.00']);
    expect((await get(`/jobs/${job.id}/cost`)).cashCost).toBe('45.00');
  }, 30_000);

  it('what to pay for the next one', async () => {
    const bid = await get('/bid?kind=singleStageThrower&partsCost=40.00&handsOnMinutes=600');
    expect(Number(bid.highestBid)).toBeGreaterThan(0);
    expect(Number(bid.highestBid)).toBeLessThanOrEqual(Number(bid.breakEvenBid));
    expect(bid.reasons.length).toBeGreaterThan(2);
    // Dearer parts and more hours leave less to pay.
    const dearer = await get('/bid?kind=singleStageThrower&partsCost=120.00&handsOnMinutes=900');
    expect(Number(dearer.highestBid)).toBeLessThan(Number(bid.highestBid));
    const unknown = await shop.rest('owner', 'get', '/bid?kind=walkBehindMower');
    expect(unknown.body.type).toBe('urn:frostwright:problem:nothing-to-go-by');
    expect((await shop.rest('helper', 'get', '/bid?kind=singleStageThrower')).status).toBe(403);
  }, 30_000);
});

describe('4. before the season', () => {
  it('who is ready, who is late, what binds, how many more fit', async () => {
    const readiness = await get('/readiness');
    // The made climate has its first inch about the third week of November.
    expect(readiness.firstSnowMedian > '2026-11-05' && readiness.firstSnowMedian < '2026-12-10').toBe(true);
    const margin = (Date.parse(readiness.firstSnowMedian) - Date.parse(readiness.readyBy)) / 86_400_000;
    expect(margin).toBe(14);
    expect(readiness.jobs.length).toBeGreaterThanOrEqual(4);
    for (const job of readiness.jobs) expect(job.ready).toBe(job.p50Date <= readiness.readyBy);
    expect(readiness.readyCount).toBe(readiness.jobs.filter((job: Json) => job.ready).length);
    const [single] = readiness.capacity;
    expect(single.kind).toBe('singleStageThrower');
    expect(single.moreThatFit).toBeGreaterThan(0);
    expect(single.lastFinishedDate <= readiness.readyBy).toBe(true);
    for (const lever of readiness.scenarios)
      expect(lever.additionalMachines).toBe(lever.moreThatFit - single.moreThatFit);

    // A month before the snow there is no time left for another coat of paint and its cure.
    shop.clock.now = new Date(`${readiness.readyBy}T13:00:00Z`);
    const late = await get('/readiness');
    expect(late.capacity[0].moreThatFit).toBe(0);
    shop.clock.now = NOW;
  }, 60_000);

  it('the briefing has the six answers, over both transports', async () => {
    const briefing = await get('/briefing');
    expect(briefing.bench.tasks.length).toBeGreaterThan(0);
    expect(briefing.jobs.length).toBeGreaterThanOrEqual(4);
    for (const job of briefing.jobs)
      expect(job).toMatchObject({ cashCost: expect.stringMatching(/^\d+\.\d\d$/), status: expect.any(String) });
    expect(briefing.bids).toHaveLength(1);
    expect(briefing.capacity).toHaveLength(2);
    const reply = await shop.graphql(
      'owner',
      '{ briefing { today bench { day tasks { name reasons } } jobs { number p50Date p80Date ' +
        'probabilityBeforeSnow cashCost ask } bids { kind highestBid } capacity { kind moreThatFit } bottleneck } }',
    );
    expect(reply.errors).toBeUndefined();
    expect(reply.data.briefing.jobs.map((job: Json) => job.number)).toEqual(
      briefing.jobs.map((job: Json) => job.number),
    );
    const asHelper = (await shop.rest('helper', 'get', '/briefing').expect(200)).body;
    expect(asHelper.jobs[0].cashCost).toBeNull();
    expect(asHelper.jobs[0].ask).toBeNull();
    expect(asHelper.bids).toEqual([]);
    expect(JSON.stringify(asHelper)).not.toMatch(/\d+\.\d\d"/);
  }, 60_000);
});

describe('5. a finding becomes work', () => {
  it('is proposed, tried out, accepted and traced; then the job goes less far, and in the end the machine as found', async () => {
    const machine = await post('/machines', {
      kind: 'twoStageThrower',
      maker: 'Norvane',
      model: 'Ridge 24',
      valueAsFound: '150.00',
    });
    const job = await post('/jobs', { machineId: machine.id, routeId: routes.twoStageThrower });
    const found = (more: Json) => post('/findings', { machineId: machine.id, ...more });
    const housing = await found({
      component: 'Auger housing',
      observation: 'Seam open',
      rustGrade: 3,
      verdict: 'repair',
      foundBy: 'Ola',
    });
    const belt = await found({ component: 'Auger belt', observation: 'Cracked', verdict: 'replace' });
    const bar = await found({
      component: 'Scraper bar',
      observation: 'Worn, straight',
      verdict: 'serveOn',
      measuredValue: 8.5,
      newSize: 12,
      limitLow: 6,
      unit: 'mm',
    });
    // 2.5 mm above the limit at 1.2 mm a season: about two seasons.
    const wear = await get(`/findings/${bar.id}/wear?partCost=22.00`);
    expect(wear.left).toBeCloseTo(2.5, 3);
    expect(wear.seasonsLeft.likely).toBeCloseTo(2.5 / 1.2, 1);
    const { proposals } = await get(`/jobs/${job.id}/proposals`);
    // The route takes it apart and paints it: nothing to open, no coat beside the route's. 120 minutes by 1.4 for the rust.
    expect(proposals.map((one: Json) => [one.title, one.handsOnMinutes, one.accessMinutes, one.coats])).toEqual([
      ['Repair the auger housing', 168, 0, false],
      ['Replace the auger belt', 20, 0, false],
    ]);
    const decisions = { decisions: [housing, belt].map((one) => ({ findingId: one.id, decision: 'accept' })) };
    const tried = await post(`/jobs/${job.id}/proposals/preview`, decisions, 200);
    const decided = await post(`/jobs/${job.id}/proposals/decide`, decisions, 200);
    expect(decided.effects).toEqual(tried.effects);
    expect(decided.effects.handsOnMinutesAfter - decided.effects.handsOnMinutesBefore).toBe(188);
    const { data } = await shop.graphql(
      'owner',
      `{ job(id: "${job.id}") { findings { component decision tasks { code } } } }`,
    );
    expect(data.job.findings.map((one: Json) => [one.component, one.decision, one.tasks.length])).toEqual([
      ['Auger housing', 'accepted', 1],
      ['Auger belt', 'accepted', 1],
      ['Scraper bar', null, 0],
    ]);
    const { options } = await get(`/jobs/${job.id}/scope-options`);
    expect(options.map((one: Json) => one.scope)).toContain('stripForParts');
    const mechanical = await post(`/jobs/${job.id}/scope`, { scope: 'mechanical', reason: 'The paint is sound.' }, 200);
    // De-rusting, five coats and the rack; what was agreed on stays.
    expect(mechanical.skippedTasks).toHaveLength(7);
    expect(mechanical.job.taskCount).toBe(17 + 2 - 7);
    expect(mechanical.effects.expectedDateAfter < mechanical.effects.expectedDateBefore).toBe(true);
    const light = await post(
      `/machines/${machine.id}/equipment`,
      { name: 'Headlight', change: 'remove', reason: 'Broken.' },
      200,
    );
    expect(light.jobTitle).toBe('Norvane Ridge 24, without headlight');
    await post(
      `/jobs/${job.id}/scope`,
      { scope: 'sellAsFound', asFound: { recordedBy: 'Ola', fuelDrained: true, plugWireOff: true } },
      200,
    );
    const { text } = await get(`/jobs/${job.id}/starting-point`);
    expect(text).toMatch(/not safe to run/);
    expect(text).toMatch(/fuel was drained and the spark plug wire taken off: recorded on 2026-06-09 by Ola/);
    await post('/offers', { jobId: job.id, askPrice: '190.00' });
  }, 60_000);
});
