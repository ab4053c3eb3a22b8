/** What the plan's answers say where something is missing, unknown or still to be fetched; over both transports. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { standardRoutes } from '../seed/routes.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

const nobody = [
  'nobody is entered yet: the plan takes one person to be in all opening hours',
  'an hour of work and a day of space are computed at 0: the shop has entered no value for them',
];

let shop: TestShop;
const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
const ask = async (query: string, variables: Json = {}): Promise<Json> => {
  const { data, errors } = await shop.graphql('owner', query, variables);
  expect(errors).toBeUndefined();
  return data;
};
const openJob = async (kind: string): Promise<Json> =>
  post('/jobs', { machineId: (await post('/machines', { kind, maker: 'Norvane', model: 'Drift 21' })).id });
const addTask = (job: Json, body: Json): Promise<Json> =>
  post('/tasks', { jobId: job.id, kind: 'assemble', handsOnMinutes: 60, minMinutes: 60, maxMinutes: 60, ...body });

describe('a shop that has entered no people, no rates and no weather', () => {
  let job: Json;
  beforeAll(async () => {
    shop = await startTestShop({ hourlyValue: '0', spaceCostPerDay: '0' });
    for (const route of standardRoutes) await post('/routes', route);
    job = await openJob('singleStageThrower');
  }, 60_000);
  afterAll(() => shop.close());

  it('is told what is unknown as unknown, not as none', async () => {
    const told = await get('/readiness');
    expect(told).toMatchObject({
      readyBy: null,
      readyCount: null,
      expectedReady: null,
      marginAtRisk: null,
      bottleneck: 'unknown, as the season is',
      scenarios: [],
    });
    expect(told.jobs).toMatchObject([
      {
        jobNumber: job.number,
        ready: null,
        probability: null,
        daysToSpare: null,
        p50Date: null,
        reasons: ['it has no tasks yet, so nothing is known of when it will be done'],
      },
    ]);
    expect(told.capacity.map((one: Json) => one.moreThatFit)).toEqual([null, null]);
    expect(told.reasons).toEqual(
      expect.arrayContaining([
        'when it will snow is unknown: who is ready, and how many more would fit, is not said',
        ...nobody,
      ]),
    );
    expect(told.reasons.join()).not.toMatch(/\d of \d/);
    const { readiness } = await ask(
      '{ readiness { readyCount expectedReady jobs { ready } capacity { moreThatFit } } }',
    );
    expect(readiness).toEqual({
      readyCount: null,
      expectedReady: null,
      jobs: [{ ready: null }],
      capacity: [{ moreThatFit: null }, { moreThatFit: null }],
    });
  });

  it('and a station whose week of records says nothing of the snow leaves it so', async () => {
    const station = await post('/stations', { name: 'Lake Fennow', latitude: 45.5, longitude: -75.6 });
    const days = Array.from({ length: 7 }, (_, k) => ({ day: `2026-09-0${k + 1}`, snowfallMillimetres: 0 }));
    await shop.rest('owner', 'post', `/stations/${station.id}/days`, { days }).expect(200);
    const told = await get('/readiness');
    expect(told).toMatchObject({ firstSnowMedian: null, readyBy: null, readyCount: null, expectedReady: null });
    expect(told.curve.map((one: Json) => one.probabilityOfSnow).filter((one: Json) => one !== null)).toEqual([]);
    expect(told.reasons[0]).toContain('Lake Fennow');
  });

  it('is not told that a what-if would leave none ready', async () => {
    const { whatIf } = await ask('{ whatIf(extraMinutesADay: 60) { expectedReadyBefore expectedReadyAfter } }');
    expect(whatIf).toEqual({ expectedReadyBefore: null, expectedReadyAfter: null });
  });

  it('is told in the briefing what was taken for granted', async () => {
    const { notes } = await get('/briefing');
    const { reasons } = await get('/readiness');
    expect(notes).toEqual([
      ...reasons.slice(
        0,
        reasons.findIndex((one: string) => one.startsWith('when it will snow')),
      ),
      ...nobody,
      expect.stringMatching(/^hours are taken to be 1\.\d+ times the route's until .* a judgement$/),
      expect.stringMatching(/^sickness is expected on .*: a judgement/),
      expect.stringMatching(/^taking a machine apart is expected .*: a judgement/),
    ]);
    expect(notes).toContain('No season on record was observed well enough to say anything.');
    expect((await ask('{ briefing { notes } }')).briefing.notes).toEqual(notes);
  });
});

describe('what to have at hand', () => {
  let job: Json, bolts: Json, bin: Json, hang: Json;
  beforeAll(async () => {
    shop = await startTestShop();
    await post('/people', { name: 'Mira', weeklyHours: [] });
    job = await openJob('walkBehindMower');
    bolts = await post('/parts', { name: 'Hex bolt', family: 'fastener' });
    hang = await addTask(job, { code: 'hang', name: 'Hang the deck' });
    await addTask(job, {
      code: 'coat',
      name: 'Colour the deck',
      kind: 'colour',
      needsPaintWeather: true,
      pausable: false,
      after: [{ predecessorId: hang.id }],
    });
    const can = {
      family: 'alkyd',
      volumeSolidsPercent: 48,
      dryFilmMicrometres: 30,
      maxCelsius: 32,
      touchMinutes: 60,
      handleMinutes: 360,
      assembleMinutes: 1440,
      fullMinutes: 10_080,
      recoatMinutes: [{ fromMinutes: 15 }],
      containerLitres: 0.946,
      containerPrice: '28.00',
    };
    await post('/coating-products', { ...can, name: 'Green enamel', role: 'colour', minCelsius: 8 });
    await post('/coating-products', { ...can, name: 'Red primer', role: 'primer', minCelsius: 12 });
    bin = await post('/stock', { partId: bolts.id, bin: 'C8', quantity: 4, unitCost: '0.20' });
  }, 60_000);
  afterAll(() => shop.close());

  it('names the bin of what is held for a task, and the can by its own lowest temperature', async () => {
    const { need } = await post('/part-needs', { taskId: hang.id, partId: bolts.id, quantity: 2 });
    await shop
      .rest('owner', 'post', `/part-needs/${need.id}/reserve`, { stockId: bin.id }, { version: need.version })
      .expect(200);
    const prepare = [
      ['pick 2 × Hex bolt from bin C8'],
      ['bring Green enamel (8 °C or more) and the parts to temperature beforehand'],
    ];
    expect((await get('/plan/bench')).tasks.map((one: Json) => one.prepare)).toEqual(prepare);
    expect(
      (await ask('{ briefing { bench { tasks { prepare } } } }')).briefing.bench.tasks.map((one: Json) => one.prepare),
    ).toEqual(prepare);
  });

  it('says of a part that has come in part how many are still to come', async () => {
    const washers = await post('/parts', { name: 'Washer', family: 'washer' });
    const supplier = await post('/suppliers', { name: 'Tarn Fasteners' });
    const { need } = await post('/part-needs', { taskId: hang.id, partId: washers.id, quantity: 6 });
    const [line] = (
      await post('/orders', {
        supplierId: supplier.id,
        orderedDate: '2026-09-10',
        lines: [{ partId: washers.id, quantity: 6, unitPrice: '0.10', partNeedIds: [need.id] }],
      })
    ).lines;
    await post(`/order-lines/${line.id}/receipts`, { quantity: 4, bin: 'Tray 28' });
    const { waits } = await get(`/jobs/${job.id}/schedule`);
    expect(waits.map((one: Json) => one.what)).toEqual([
      expect.stringMatching(/^2 × Washer from Tarn Fasteners, expected /),
    ]);
    const on = waits[0].until;
    const { tasks } = await get(`/plan/bench?day=${on}`);
    expect(tasks[0]?.prepare ?? []).toEqual(
      expect.arrayContaining(['pick 4 × Washer from bin Tray 28', expect.stringMatching(/^have ready: 2 × Washer/)]),
    );
  });
});

describe('a machine whose tasks are done', () => {
  let job: Json, required: Json[];
  beforeAll(async () => {
    shop = await startTestShop();
    job = await openJob('singleStageThrower');
    const task = await addTask(job, { code: 'all', name: 'All of it' });
    await post(`/tasks/${task.id}/finish`, {}, 200);
    required = (await get(`/jobs/${job.id}/safety-status`)).required;
  }, 60_000);
  afterAll(() => shop.close());
  const check = (code: string, passed: boolean) =>
    post('/safety-checks', { jobId: job.id, check: code, passed, checkedBy: 'Ines' });

  it('waits for its safety checks, by name, until all of them are passed', async () => {
    expect(required.length).toBeGreaterThan(3);
    await check('guards', false);
    const titles = required.filter(({ code }) => code !== 'guards').map(({ title }) => title.toLowerCase());
    const what = `1 safety check failed: guards in place. ${titles.length} safety checks to make: ${titles.join('; ')}`;
    expect((await get(`/jobs/${job.id}/schedule`)).waits).toEqual([
      { taskId: null, taskName: null, until: null, what, kind: 'safetyChecks' },
    ]);
    const { jobSchedule, briefing } = await ask(
      'query ($id: ID!) { jobSchedule(id: $id) { waits { kind until what } } briefing { jobs { status waitsFor } } }',
      { id: job.id },
    );
    expect(jobSchedule.waits).toEqual([{ kind: 'safetyChecks', until: null, what }]);
    expect(briefing.jobs).toEqual([{ status: 'finished', waitsFor: what }]);
    for (const { code } of required) await check(code, true);
    expect((await get(`/jobs/${job.id}/schedule`)).waits).toEqual([]);
    expect((await get('/briefing')).jobs).toMatchObject([{ waitsFor: null }]);
  });
});
