/** Readiness with chances, what-if, the timeline and the drawing, over both transports; on a shop with thirty winters. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { makeStationDays } from '../seed/weather.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let mira: Json, painted: Json, waiting: Json, line: Json;

const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string, role: 'owner' | 'helper' | 'reader' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'get', path).expect(200)).body;
const nothing = '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11';

async function openJob(maker: string, tasks: Json[]): Promise<Json> {
  const machine = await post('/machines', { kind: 'singleStageThrower', maker, model: 'Drift 21' });
  const job = await post('/jobs', { machineId: machine.id });
  const made: Json[] = [];
  for (const task of tasks)
    made.push(
      await post('/tasks', {
        jobId: job.id,
        kind: 'service',
        minMinutes: Math.round(task.handsOnMinutes * 0.7),
        maxMinutes: task.handsOnMinutes * 2,
        ...task,
        after: made.length ? [{ predecessorId: made.at(-1)!.id }] : [],
      }),
    );
  return { ...job, tasks: made };
}

beforeAll(async () => {
  shop = await startTestShop();
  mira = await post('/people', { name: 'Mira', weeklyHours: [] });
  await post('/places', { name: 'Bench', kind: 'bench' });
  await post('/places', { name: 'Rack', kind: 'cureRack', capacity: 2 });
  await post('/places', { name: 'Lean-to', kind: 'sprayArea' });
  const station = await post('/stations', { name: 'Lake Fennow', latitude: 45.5, longitude: -75.6 });
  const days = makeStationDays({ seed: 7, endDate: '2026-09-14', years: 30 });
  for (let from = 0; from < days.length; from += 4000)
    await shop
      .rest('owner', 'post', `/stations/${station.id}/days`, { days: days.slice(from, from + 4000) })
      .expect(200);
  painted = await openJob('Norvane', [
    { code: 'strip', name: 'Strip', handsOnMinutes: 240, placeKind: 'bench' },
    {
      code: 'coat',
      name: 'Colour',
      handsOnMinutes: 60,
      kind: 'colour',
      needsPaintWeather: true,
      pausable: false,
      placeKind: 'sprayArea',
      cureMinutes: 14 * 1440,
    },
    { code: 'build', name: 'Build', handsOnMinutes: 300, placeKind: 'bench' },
  ]);
  waiting = await openJob('Pikestone', [
    { code: 'belt', name: 'Hang the belt', handsOnMinutes: 60, placeKind: 'bench' },
  ]);
  const part = await post('/parts', { name: 'Belt', family: 'belt' });
  const supplier = await post('/suppliers', { name: 'Tarn Belts' });
  const { need } = await post('/part-needs', { taskId: waiting.tasks[0].id, partId: part.id, quantity: 1 });
  [line] = (
    await post('/orders', {
      supplierId: supplier.id,
      orderedDate: '2026-09-15',
      lines: [{ partId: part.id, quantity: 1, unitPrice: '17.50', promisedDate: '2026-10-06', partNeedIds: [need.id] }],
    })
  ).lines;
}, 60_000);
afterAll(() => shop.close());

describe('readiness', () => {
  it('gives each job its chance, and what a week would bring', async () => {
    const told = await get('/readiness', 'reader');
    const [snow] = [told.firstSnowMedian];
    expect(told.jobs.map((one: Json) => one.jobNumber).sort()).toEqual([painted.number, waiting.number]);
    const probabilities = told.jobs.map((one: Json) => one.probability);
    expect(told.expectedReady).toBeCloseTo(
      probabilities.reduce((a: number, b: number) => a + b, 0),
      3,
    );
    // Stripped, painted and cured from mid-September it is done in early October, weeks before the median of first snows.
    const first = told.jobs.find((one: Json) => one.jobNumber === painted.number);
    expect(first.expectedDate < told.readyBy && told.readyBy < snow).toBe(true);
    expect(first.probability).toBeGreaterThan(0.7);
    expect(told.topPriorities.length).toBeLessThanOrEqual(3);
    for (const one of told.topPriorities) expect(one.readinessGainPerWeek).toBeGreaterThan(0);
    // The curve of what is finished rises, to both jobs, unless the belt never comes.
    const finished = told.curve.map((one: Json) => one.expectedFinished);
    expect([...finished].sort((a, b) => a - b)).toEqual(finished);
    expect(finished.at(-1)).toBeGreaterThan(1.9);
    const forecast = await get(`/jobs/${painted.id}/schedule`);
    expect(forecast.probabilityBeforeSnow).toBe(first.probability);
    expect(
      (
        await shop.graphql(
          'helper',
          '{ readiness { expectedReady marginAtRisk jobs { probability marginAtRisk } topPriorities { what } } }',
        )
      ).data.readiness,
    ).toMatchObject({ expectedReady: told.expectedReady, marginAtRisk: null });
  });

  it('is drawn with each job on the curve of the snow', async () => {
    const drawn = await shop
      .rest('reader', 'get', '/readiness.svg')
      .buffer(true)
      .parse((response, done) => {
        let text = '';
        response.on('data', (part: Buffer) => (text += part.toString('utf8')));
        response.on('end', () => done(null, text));
      });
    expect([drawn.status, drawn.headers['content-type']]).toEqual([200, expect.stringContaining('image/svg+xml')]);
    const { p80Date } = await get(`/jobs/${painted.id}/schedule`);
    expect(drawn.body).toContain(
      '<title id="first-snow-title">First snow of 2026-27 (25 mm), and when the machines will be finished</title>',
    );
    expect(drawn.body).toMatch(
      new RegExp(
        `<desc[^>]*>.*Job ${painted.number} Norvane Drift 21: finished by ${Number(p80Date.slice(8))} [A-Z][a-z]+ ` +
          `2026 with four chances in five, when the chance that it has snowed is \\d+ %; the chance that it is in time is \\d+ %`,
      ),
    );
    expect(drawn.body.match(/<g class="job">/g)).toHaveLength(2);
    await shop
      .rest('owner', 'get', '/readiness.svg', undefined, { headers: { Authorization: 'Bearer nobody' } })
      .expect(401);
  });
});

describe('what if', () => {
  it('tells of before what the plan tells', async () => {
    const plan = await get('/plan');
    const told = await get('/plan/what-if?extraPlace=bench');
    expect(told.scenarios).toBe(plan.scenarios);
    const before = (one: Json) => [
      one.jobId,
      one.p80Before,
      one.probabilityByDueBefore,
      one.probabilityBeforeSnowBefore,
    ];
    const planned = (one: Json) => [one.jobId, one.p80Date, one.probabilityByDue, one.probabilityBeforeSnow];
    expect(told.jobs.map(before).sort()).toEqual(plan.jobs.map(planned).sort());
  });

  it('the belt comes two weeks later: its own job alone is moved, and nothing is saved', async () => {
    const before = await get('/plan');
    const told = await get(`/plan/what-if?orderLineId=${line.id}&daysLate=14`, 'helper');
    expect(told.change).toBe('Belt 14 days later');
    const mine = told.jobs.find((one: Json) => one.jobNumber === waiting.number);
    // Two weeks later is the same weekday, so as far as hands are free that day it is fourteen days in every scenario.
    expect(mine.meanDays).toBeGreaterThan(13);
    expect(mine.meanDays).toBeLessThan(15);
    expect(mine.probabilityLater).toBe(1);
    expect(mine.probabilityBeforeSnowAfter).toBeLessThan(mine.probabilityBeforeSnowBefore);
    expect(told.expectedReadyAfter).toBeLessThan(told.expectedReadyBefore);
    expect(told.reasons.join(' ')).toContain(`Hang the belt on job ${waiting.number} waits for it`);
    expect(await get('/plan')).toEqual(before);
  });

  it('is the same over GraphQL, for days off, another place, a job less, longer days', async () => {
    const ask = async (args: string): Promise<Json> => {
      const { data, errors } = await shop.graphql(
        'reader',
        `{ whatIf(${args}) { change expectedReadyBefore expectedReadyAfter jobs ` +
          `{ jobNumber meanDays probabilitySooner probabilityLater } } }`,
      );
      expect(errors).toBeUndefined();
      return data.whatIf;
    };
    const off = await ask(`offFrom: "2026-09-15", offTo: "2026-09-18", offPersonId: "${mira.id}"`);
    expect(off.change).toBe('Mira off from 2026-09-15 to 2026-09-18');
    expect(off.jobs.find((one: Json) => one.jobNumber === painted.number).probabilityLater).toBeGreaterThan(0.9);
    const longer = await ask('extraMinutesADay: 180, extraPlace: bench');
    expect(longer.change).toBe('one more bench; 180 minutes more a day');
    expect(longer.jobs.every((one: Json) => one.meanDays <= 0)).toBe(true);
    const less = await ask(`withoutJobId: "${painted.id}"`);
    expect(less.jobs.map((one: Json) => one.jobNumber)).toEqual([waiting.number]);
    expect(less.expectedReadyAfter).toBeLessThan(less.expectedReadyBefore);
  });

  it('refuses what it cannot answer', async () => {
    const refused = async (query: string, status: number): Promise<Json> =>
      (await shop.rest('owner', 'get', `/plan/what-if${query}`).expect(status)).body;
    await refused('', 422);
    await refused(`?orderLineId=${nothing}&daysLate=3`, 404);
    expect((await refused(`?orderLineId=${line.id}`, 422)).errors[0].pointer).toBe('/daysLate');
    await refused('?offFrom=2026-10-02&offTo=2026-10-01', 422);
    await refused(`?offFrom=2026-10-02&offPersonId=${nothing}`, 404);
    await refused(`?withoutJobId=${nothing}`, 404);
  });
});

describe('a coat', () => {
  it('holds the assembly that comes on it, from the moment it is recorded', async () => {
    // Mowers are tied to no snow; an hour of assembly on its own, this morning.
    const machine = await post('/machines', { kind: 'walkBehindMower', maker: 'Hallgrim', model: 'Meadow 21' });
    const job = await post('/jobs', { machineId: machine.id, priority: 100 });
    await post('/tasks', {
      jobId: job.id,
      code: 'assemble',
      name: 'Assemble',
      kind: 'assemble',
      handsOnMinutes: 60,
      minMinutes: 60,
      maxMinutes: 60,
    });
    const expected = async () => (await get(`/jobs/${job.id}/schedule`)).expectedDate as string;
    expect(await expected()).toBe('2026-09-15');
    const product = await post('/coating-products', {
      name: 'Green enamel',
      family: 'alkyd',
      role: 'colour',
      volumeSolidsPercent: 48,
      dryFilmMicrometres: 30,
      minCelsius: 8,
      maxCelsius: 32,
      touchMinutes: 60,
      handleMinutes: 360,
      assembleMinutes: 1440,
      fullMinutes: 10_080,
      recoatMinutes: [{ fromMinutes: 15, toMinutes: 60 }, { fromMinutes: 2880 }],
      containerLitres: 0.946,
      containerPrice: '28.00',
    });
    await post('/coats', { jobId: job.id, productId: product.id, surface: 'deck', appliedAt: '2026-09-15T12:00:00Z' });
    // The shop's own wait is fourteen days from eight in the morning, longer than the can's day: Tuesday 29 September.
    expect(await expected()).toBe('2026-09-29');
    expect((await get(`/jobs/${job.id}/schedule`)).reasons.join(' ')).toBe(
      'Assemble waits until 2026-09-29 for the paint to cure',
    );
  });
});

describe('the timeline', () => {
  it('has a bar for each task, where it needs something and under its job', async () => {
    const told = await get('/plan/timeline?endDate=2026-12-31');
    const resource = (name: string) => told.resources.find((one: Json) => one.resource === name);
    expect(told).toMatchObject({ startDate: '2026-09-15', endDate: '2026-12-31' });
    expect(
      resource('bench')
        .bars.map((bar: Json) => bar.name)
        .sort(),
    ).toEqual(['Build', 'Hang the belt', 'Strip']);
    const [rack] = resource('cureRack').bars;
    expect(rack).toMatchObject({ name: 'Cure after colour', jobNumber: painted.number, curing: true, amount: 1 });
    expect(Date.parse(rack.to) - Date.parse(rack.from)).toBe(14 * 86_400_000);
    // Open until five: the first gap of the people is tonight, from 17 to 9.
    expect(resource('people').closed.slice(0, 2)).toEqual([
      { from: '2026-09-15T04:00:00.000Z', to: '2026-09-15T13:00:00.000Z' },
      { from: '2026-09-15T21:00:00.000Z', to: '2026-09-16T13:00:00.000Z' },
    ]);
    const mine = told.jobs.find((one: Json) => one.jobNumber === painted.number);
    expect(mine.bars.map((bar: Json) => bar.name)).toEqual(['Strip', 'Colour', 'Cure after colour', 'Build']);
    const { timeline } = (
      await shop.graphql(
        'helper',
        '{ timeline(startDate: "2026-09-15", endDate: "2026-09-15") { jobs { bars { name } } } }',
      )
    ).data;
    expect(timeline.jobs.flatMap((job: Json) => job.bars.map((bar: Json) => bar.name))).toContain('Strip');
    await shop.rest('owner', 'get', '/plan/timeline?endDate=2026-09-01').expect(422);
  });
});
