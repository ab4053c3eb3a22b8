/** How far a job goes, equipment that leaves, machines sold as found and machines taken apart, through both APIs. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
  await post('/people', { name: 'Ola', weeklyHours: [] });
  for (const [condition, price] of [
    [2, '180.00'],
    [2, '200.00'],
    [4, '820.00'],
    [4, '900.00'],
    [3, '560.00'],
  ] as const)
    await post('/comparables', {
      kind: 'twoStageThrower',
      maker: 'Norvane',
      model: 'Ridge 24',
      condition,
      price,
      priceKind: 'sold',
      seenDate: '2026-09-01',
    });
}, 120_000);
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
const tasksOf = async (job: Json, more = ''): Promise<Json[]> =>
  (await get(`/tasks?jobId=${job.id}&first=100${more}`)).items;
const codes = (tasks: Json[]): string[] => tasks.map((one) => one.code);

const route: [string, string, string[]][] = [
  ['wash', 'clean', []],
  ['strip', 'strip', ['wash']],
  ['derust', 'derust', ['strip']],
  ['prime', 'prime', ['derust']],
  ['colour', 'colour', ['prime']],
  ['cure', 'cure', ['colour']],
  ['engine', 'service', ['strip']],
  ['assemble', 'assemble', ['cure', 'engine']],
  ['test-run', 'test', ['assemble']],
];
async function newJob(more: Json = {}) {
  const machine = await post('/machines', {
    kind: 'twoStageThrower',
    maker: 'Norvane',
    model: 'Ridge 24',
    valueAsFound: '150.00',
    ...more,
  });
  const { id: routeId } = await post('/routes', {
    name: `Route ${machine.id}`,
    machineKind: 'other',
    tasks: route.map(([code, kind, after]) => ({
      code,
      name: code,
      kind,
      minMinutes: 30,
      handsOnMinutes: 60,
      maxMinutes: 120,
      after: after.map((one) => ({ code: one })),
    })),
  });
  return { machine, job: await post('/jobs', { machineId: machine.id, routeId }) };
}
const find = (machine: Json, component: string, verdict: string, more: Json = {}) =>
  post('/findings', { machineId: machine.id, component, verdict, observation: 'as seen', ...more });

describe('scope', () => {
  it('mechanical leaves the paint out in one call, followers go on, and full takes it in again', async () => {
    const { job } = await newJob();
    const tried = await post(`/jobs/${job.id}/scope/preview`, { scope: 'mechanical' }, 200);
    expect(await tasksOf(job)).toHaveLength(9);
    const chosen = await post(`/jobs/${job.id}/scope`, { scope: 'mechanical', reason: 'The paint is good.' }, 200);
    expect(chosen.effects).toEqual(tried.effects);
    expect(codes(chosen.skippedTasks)).toEqual(['derust', 'prime', 'colour', 'cure']);
    expect(chosen.skippedTasks[0]).toMatchObject({
      status: 'skipped',
      skippedReason: 'the job is mechanical: paint stays as it is (The paint is good.)',
    });
    expect(chosen.job).toMatchObject({ scope: 'mechanical', scopeReason: 'The paint is good.', taskCount: 5 });
    const assemble = (await tasksOf(job)).find((one) => one.code === 'assemble')!;
    const named = new Map((await tasksOf(job, '&includeArchived=true')).map((one) => [one.id, one.code]));
    const before = assemble.predecessors.map((link: Json) => named.get(link.predecessorId)).sort();
    // Over the skipped ones it waits for what they waited for; its old links stay for when they come back.
    expect(before).toEqual(['cure', 'engine', 'strip']);
    for (const code of ['wash', 'strip', 'engine', 'assemble'])
      await post(`/tasks/${(await tasksOf(job)).find((one) => one.code === code)!.id}/finish`, {}, 200);
    expect(Number(chosen.effects.priceAfter)).toBeLessThan(Number(chosen.effects.priceBefore));
    const full = await post(`/jobs/${job.id}/scope`, { scope: 'full' }, 200);
    expect(codes(full.restoredTasks)).toEqual(['derust', 'prime', 'colour', 'cure']);
    expect(await shop.discrepancies()).toEqual([]);
  }, 60_000);

  it('skips and restores single tasks with their parts, and a scope leaves those alone', async () => {
    const { job } = await newJob();
    const engine = (await tasksOf(job)).find((one) => one.code === 'engine')!;
    const part = await post('/parts', { name: `Plug ${job.number}`, family: 'plug' });
    const { need } = await post('/part-needs', { taskId: engine.id, partId: part.id, quantity: 1 });
    const skipped = await post(`/tasks/${engine.id}/skip`, { reason: 'Serviced last month.' }, 200);
    expect(skipped).toMatchObject({ status: 'skipped', skippedReason: 'Serviced last month.' });
    expect((await get(`/part-needs/${need.id}`)).archivedAt).not.toBeNull();
    await post(`/jobs/${job.id}/scope`, { scope: 'mechanical' }, 200);
    await post(`/jobs/${job.id}/scope`, { scope: 'full' }, 200);
    expect(codes(await tasksOf(job))).not.toContain('engine');
    expect(codes((await get(`/tasks?jobId=${job.id}&status=skipped&includeArchived=true`)).items)).toEqual(['engine']);
    await post(`/tasks/${engine.id}/restore`, {}, 200);
    expect((await get(`/part-needs/${need.id}`)).archivedAt).toBeNull();
    await post(`/tasks/${engine.id}/restore`, {}, 422);
    const wash = (await tasksOf(job)).find((one) => one.code === 'wash')!;
    await post(`/tasks/${wash.id}/finish`, {}, 200);
    await post(`/tasks/${wash.id}/skip`, { reason: 'No.' }, 409);
  }, 60_000);

  it('mends one fault: only its work, opened up for it, and the trying out are left', async () => {
    const { machine, job } = await newJob();
    const belt = await find(machine, 'Auger belt', 'replace');
    const rust = await find(machine, 'Auger housing', 'repair');
    await post(`/jobs/${job.id}/scope`, { scope: 'mendOneFault' }, 422);
    const chosen = await post(`/jobs/${job.id}/scope`, { scope: 'mendOneFault', findingIds: [belt.id] }, 200);
    expect(codes(chosen.addedTasks)).toEqual(['replace-auger-belt', 'open-1', 'close-1']);
    expect(codes(await tasksOf(job))).toEqual(['test-run', 'replace-auger-belt', 'open-1', 'close-1']);
    // The other fault stays known and is not counted as likely.
    expect(await get(`/jobs/${job.id}/proposals`)).toMatchObject({
      proposals: [{ findingId: rust.id, probability: 0 }],
    });
  }, 60_000);

  it('sells as found with its record instead of the checks, and says so in its papers; nothing else goes without', async () => {
    const { machine, job } = await newJob();
    await find(machine, 'Engine', 'replace');
    const offer = { jobId: job.id, askPrice: '190.00' };
    expect((await post('/offers', offer, 422)).type).toMatch(/safety-checks-missing$/);
    await post(`/jobs/${job.id}/scope`, { scope: 'sellAsFound', reason: 'The engine is seized.' }, 200);
    expect((await post('/offers', offer, 422)).type).toMatch(/not-recorded-as-found$/);
    const record = { recordedBy: 'Ola', fuelDrained: true, plugWireOff: false, note: 'The engine does not turn.' };
    expect((await post(`/jobs/${job.id}/as-found`, record, 422)).errors[0].pointer).toBe('/plugWireOff');
    await post(`/jobs/${job.id}/as-found`, { ...record, plugWireOff: true }, 200);
    await post('/safety-checks', { jobId: job.id, check: 'guards', passed: true, checkedBy: 'Ola' });
    const papers = await get(`/jobs/${job.id}/starting-point`);
    expect(papers.asFound).toMatchObject({
      recordedDate: '2026-09-15',
      recordedBy: 'Ola',
      note: 'The engine does not turn.',
    });
    expect(papers.text).toMatch(/not safe to run/);
    expect(papers.text).toMatch(/\*\*Engine\*\*: as seen\. Decided: replace\. \*\*Not done\.\*\*/);
    expect(papers.text).toMatch(/Guards in place, passed, by Ola/);
    expect(papers.text).toMatch(/Not checked yet:\*\* Engine stops/);
    expect(papers.text).not.toMatch(/Not finished yet/);
    const offered = await post('/offers', offer);
    expect((await post(`/jobs/${job.id}/scope`, { scope: 'full' }, 409)).type).toMatch(/offered$/);
    const price = await get(`/jobs/${job.id}/price`);
    expect(Number(price.expected.likely)).toBeLessThan(400);
    const sale = await post('/sales', { jobId: job.id, price: '180.00' });
    expect(sale.condition).toBe(2);
    expect(offered.id).toBeDefined();
  }, 60_000);

  it('compares scopes from here on, and turns a machine that repair does not pay for into a donor', async () => {
    const { machine, job } = await newJob({ condition: 1 });
    await find(machine, 'Auger housing', 'repair', { rustGrade: 5 });
    const paddle = await post('/parts', {
      name: 'Muffler, small',
      family: 'muffler',
      fits: ['twoStageThrower'],
      expectedPrice: '60.00',
    });
    const other = await newJob();
    const engine = (await tasksOf(other.job)).find((one) => one.code === 'engine')!;
    await post('/part-needs', { taskId: engine.id, partId: paddle.id, quantity: 1 });
    const list = await get(`/machines/${machine.id}/harvest-list`);
    expect(list.parts).toMatchObject([
      { partName: 'Muffler, small', neededOnJobs: 1, quantity: 1, unitValue: '30.00' },
    ]);
    const { options, best } = await get(`/jobs/${job.id}/scope-options`);
    expect(options.map((one: Json) => one.scope)).toEqual([
      'full',
      'mechanical',
      'mendOneFault',
      'sellAsFound',
      'stripForParts',
    ]);
    expect(options.filter((one: Json) => one.chosen).map((one: Json) => one.scope)).toEqual(['full']);
    for (const one of options as Json[])
      expect(Number(one.margin)).toBeCloseTo(Number(one.brings) - Number(one.estimateToComplete), 2);
    const most = Math.max(...options.map((one: Json) => Number(one.margin)));
    expect(Number(options.find((one: Json) => one.scope === best).margin)).toBe(most);
    expect((await get(`/jobs/${job.id}`)).scope).toBe('full');
    await post(`/jobs/${job.id}/scope`, { scope: 'stripForParts' }, 200);
    expect(await tasksOf(job)).toEqual([]);
    expect((await get(`/machines/${machine.id}`)).disposition).toBe('donor');
    await post('/harvests', {
      machineId: machine.id,
      restValue: '5.00',
      parts: [{ partId: paddle.id, quantity: 1, unitValue: '30.00', bin: 'B1' }],
    });
    await post(`/jobs/${job.id}/scope`, { scope: 'full' }, 409);
    expect(await shop.discrepancies()).toEqual([]);
  }, 60_000);
});

describe('equipment', () => {
  it('that leaves takes title and price with it, lies in a bin with its part of the purchase, and is in the papers', async () => {
    const acquisition = await post('/acquisitions', {
      source: 'classified',
      acquiredDate: '2026-09-01',
      price: '100.00',
    });
    const { machine, job } = await newJob({
      acquisitionId: acquisition.id,
      equipment: [{ name: 'Electric starter', status: 'fitted' }],
    });
    const finding = await find(machine, 'Electric starter', 'remove', { reason: 'Smells burnt.' });
    const part = await post('/parts', { name: 'Starter motor, used', family: 'starter', fits: ['twoStageThrower'] });
    const body = {
      name: 'electric starter',
      change: 'remove',
      reason: 'Burnt out.',
      findingId: finding.id,
      toBin: { partId: part.id, bin: 'S1', unitValue: '15.00' },
    };
    const changed = (await shop.rest('helper', 'post', `/machines/${machine.id}/equipment`, body).expect(200)).body;
    expect(changed).toMatchObject({
      jobTitle: 'Norvane Ridge 24, without electric starter',
      wentTo: 'It lies in bin S1.',
    });
    expect(changed.machine.equipment).toEqual([{ name: 'Electric starter', status: 'removed', note: 'Burnt out.' }]);
    expect(changed.effects.priceAfter).toBeNull();
    expect((await get(`/findings/${finding.id}`)).decision).toBe('accepted');
    // 15 of 15 and the 150 that the rest is worth, of 100.
    expect((await get(`/stock?partId=${part.id}`)).items).toMatchObject([{ bin: 'S1', unitCost: '9.09' }]);
    expect((await get(`/jobs/${job.id}/starting-point`)).text).toMatch(/Removed: Electric starter \(Burnt out\.\)/);
    await post(`/machines/${machine.id}/equipment`, body, 409);
    const back = await shop.graphql(
      'owner',
      `mutation { changeEquipment(input: { id: "${machine.id}", name: "Electric starter", change: add }) {
        jobTitle effects { priceBefore priceAfter } } }`,
    );
    expect(back.errors).toBeUndefined();
    expect(back.data.changeEquipment.jobTitle).toBe('Norvane Ridge 24');
    const { priceBefore, priceAfter } = back.data.changeEquipment.effects;
    expect(Number(priceAfter)).toBeGreaterThan(Number(priceBefore));
    expect(await shop.discrepancies()).toEqual([]);
  }, 60_000);
});

describe('wear', () => {
  it('is looked ahead from readings years apart, and says whether to replace now or leave it', async () => {
    const { machine, job } = await newJob();
    const bar = { measuredValue: 9, newSize: 12, limitLow: 6, unit: 'mm', foundDate: '2025-09-15' };
    await find(machine, 'Scraper bar', 'serveOn', bar);
    const now = await find(machine, 'Scraper bar', 'serveOn', { ...bar, measuredValue: 7, foundDate: '2026-09-15' });
    const wear = await get(`/findings/${now.id}/wear?partCost=20.00`);
    expect(wear).toMatchObject({ unit: 'mm', limit: 6, readings: [{ value: 9 }, { value: 7 }] });
    // Two readings say 2 mm a season, the usual is 1.2: in between, and about a half to one season left.
    expect(wear.perSeason).toBeGreaterThan(1.2);
    expect(wear.perSeason).toBeLessThan(2);
    expect(wear.seasonsLeft.likely).toBeGreaterThan(0.4);
    expect(wear.seasonsLeft.likely).toBeLessThan(1);
    expect(wear.replaceOrLeave).toMatchObject({
      partCost: '20.00',
      decision: expect.stringMatching(/replaceNow|leave/),
    });
    expect(
      (await shop.rest('helper', 'get', `/findings/${now.id}/wear?partCost=20.00`).expect(200)).body.replaceOrLeave
        .costNow,
    ).toBeNull();
    const papers = await get(`/jobs/${job.id}/starting-point`);
    expect(papers.maintenance.map((one: Json) => one.title)).toContain('Scraper bar: look again');
    const worn = await find(machine, 'Skid shoe', 'serveOn', {
      position: 'left',
      measuredValue: 1.5,
      limitLow: 2,
      unit: 'mm',
      reason: 'The buyer turns it over.',
    });
    expect((await get(`/jobs/${job.id}/starting-point`)).text).toMatch(
      /Skid shoe.*out of limits.*\*\*serves on outside its limits\*\*/,
    );
    const graph = await shop.graphql(
      'owner',
      `{ finding(id: "${worn.id}") { wear { seasonsLeft { likely } } } rustScale { steps { grade } } ` +
        'components(kind: twoStageThrower) { components { code } } }',
    );
    expect(graph.errors).toBeUndefined();
    expect(graph.data.finding.wear.seasonsLeft.likely).toBe(0);
    expect(graph.data.rustScale.steps).toHaveLength(6);
    expect(graph.data.components.components.length).toBeGreaterThan(30);
  }, 60_000);
});
