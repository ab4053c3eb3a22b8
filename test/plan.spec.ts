/**
 * The plan over both transports, on a shop of one person, nine to five from Monday to Friday. Days are computed by hand
 * beside each check: it is Tuesday 15 September 2026, nine in the morning.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let mira: Json, machine: Json, job: Json, coat: Json, build: Json, test: Json;

const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string, role: 'owner' | 'helper' | 'reader' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'get', path).expect(200)).body;
const ask = async (
  query: string,
  variables: Json = {},
  role: 'owner' | 'helper' | 'reader' = 'owner',
): Promise<Json> => {
  const { data, errors } = await shop.graphql(role, query, variables);
  expect(errors).toBeUndefined();
  return data;
};
const expectedDate = async (): Promise<string> => (await get(`/jobs/${job.id}/schedule`)).expectedDate;

beforeAll(async () => {
  shop = await startTestShop();
  mira = await post('/people', { name: 'Mira', weeklyHours: [] });
  await post('/places', { name: 'Bench', kind: 'bench' });
  await post('/places', { name: 'Rack', kind: 'cureRack', capacity: 2 });
  machine = await post('/machines', { kind: 'walkBehindMower', maker: 'Hallgrim', model: 'Meadow 21' });
  job = await post('/jobs', { machineId: machine.id, promisedDate: '2026-10-02' });
  const task = (body: Json) => post('/tasks', { jobId: job.id, kind: 'assemble', ...body });
  coat = await task({
    code: 'coat',
    name: 'Coat',
    kind: 'prime',
    handsOnMinutes: 180,
    minMinutes: 180,
    maxMinutes: 180,
    cureMinutes: 14 * 1440,
  });
  build = await task({
    code: 'build',
    name: 'Build',
    handsOnMinutes: 480,
    minMinutes: 480,
    maxMinutes: 480,
    pausable: true,
    placeKind: 'bench',
    after: [{ predecessorId: coat.id }],
  });
  test = await task({
    code: 'test',
    name: 'Test run',
    kind: 'test',
    handsOnMinutes: 120,
    minMinutes: 120,
    maxMinutes: 120,
    after: [{ predecessorId: build.id }],
  });
}, 60_000);
afterAll(() => shop.close());

describe('a chain of three with a cure of fourteen days', () => {
  // Coat Tue 15 Sep 9-12, rack until Tue 29 Sep 12:00, build 12-17 and Wed 30 Sep 9-12, test run 12-14.
  it('is forecast for the day computed by hand, over both transports', async () => {
    const told = await get(`/jobs/${job.id}/schedule`, 'reader');
    expect(told).toMatchObject({
      jobNumber: job.number,
      expectedDate: '2026-09-30',
      earliestDate: '2026-09-30',
      dueDate: '2026-10-02',
      daysLate: -2,
      nextTask: 'Coat',
      remainingHandsOnMinutes: 780,
      reasons: ['only the work itself takes time'],
    });
    // Nothing is uncertain here, so every quantile is that day, and it is certain to be in time.
    expect(told).toMatchObject({
      p10Date: '2026-09-30',
      p50Date: '2026-09-30',
      p80Date: '2026-09-30',
      p95Date: '2026-09-30',
      probabilityByDue: 1,
      probabilityBeforeSnow: null,
    });
    expect(told.deciding.map((one: Json) => [one.name, one.share])).toEqual([
      ['Coat', 1],
      ['cure after coat', 1],
      ['Build', 1],
      ['Test run', 1],
    ]);
    const { jobSchedule, job: node } = await ask(
      'query ($id: ID!) { jobSchedule(id: $id) { expectedDate p80Date chain } ' +
        'job(id: $id) { forecast { expectedDate probabilityByDue } } }',
      { id: job.id },
      'helper',
    );
    expect(jobSchedule).toMatchObject({ expectedDate: '2026-09-30', p80Date: '2026-09-30' });
    expect(jobSchedule.chain).toEqual(told.chain);
    expect(node.forecast).toEqual({ expectedDate: '2026-09-30', probabilityByDue: 1 });
  });

  it('stands in the plan by the minute', async () => {
    const plan = await get('/plan');
    expect(plan).toMatchObject({ stale: false, ageSeconds: 0, schedulesTried: 0, scenarios: 500 });
    expect(plan.tasks.map((one: Json) => [one.name, one.startsAt, one.finishesAt])).toEqual([
      ['Coat', '2026-09-15T13:00:00.000Z', '2026-09-15T16:00:00.000Z'],
      ['Build', '2026-09-29T16:00:00.000Z', '2026-09-30T16:00:00.000Z'],
      ['Test run', '2026-09-30T16:00:00.000Z', '2026-09-30T18:00:00.000Z'],
    ]);
    const { plan: same } = await ask(
      '{ plan { fingerprint seed quality { daysLate daysLateAtLeast reasons } tasks { name startsAt } } }',
      {},
      'reader',
    );
    expect(same.fingerprint).toBe(plan.fingerprint);
    expect(same.quality).toEqual({ daysLate: 0, daysLateAtLeast: 0, reasons: ['no job ends after its due day'] });
  });

  it('is on the bench list on its days, and says why there is nothing on others', async () => {
    const today = await get('/plan/bench', 'helper');
    expect(today.day).toBe('2026-09-15');
    expect(today.tasks).toHaveLength(1);
    expect(today.tasks[0]).toMatchObject({
      name: 'Coat',
      minutes: 180,
      reasons: ['it can be done now; its job has 2 days to spare'],
      prepare: ['keep a place on the rack free for 14 days'],
    });
    const curing = await get('/plan/bench?day=2026-09-21');
    expect(curing).toMatchObject({
      tasks: [],
      note: `Nothing can be worked on. Next: build on job ${job.number} on 2026-09-29; it follows the cure after coat.`,
    });
    const { benchList } = await ask('{ benchList(day: "2026-09-30") { tasks { name minutes } } }');
    expect(benchList.tasks).toEqual([
      { name: 'Build', minutes: 180 },
      { name: 'Test run', minutes: 120 },
    ]);
    const past = await shop.rest('owner', 'get', '/plan/bench?day=2026-09-14');
    expect([past.status, past.body.type]).toEqual([422, expect.stringMatching(/day-past$/)]);
  });

  it('is a day later when its Wednesday is off, for all or for the one person', async () => {
    for (const personId of [null, mira.id]) {
      const off = await post('/days-off', { personId, startDate: '2026-09-30', endDate: '2026-09-30' });
      expect(await expectedDate()).toBe('2026-10-01');
      await shop.rest('owner', 'delete', `/days-off/${off.id}`, undefined, { version: 1 }).expect(200);
      expect(await expectedDate()).toBe('2026-09-30');
    }
  });

  it('is faster done with a second person who comes in the evening', async () => {
    // Odran is in on Tuesdays 17-21: build Tue 29 Sep 12-20, test run Wed 9-11. Still Wednesday, two hours and a half sooner.
    const odran = await post('/people', {
      name: 'Odran',
      weeklyHours: [{ weekday: 2, opens: '17:00', closes: '21:00' }],
    });
    const plan = await get('/plan');
    expect(plan.tasks.map((one: Json) => [one.name, one.finishesAt])).toEqual([
      ['Coat', '2026-09-15T16:00:00.000Z'],
      ['Build', '2026-09-30T00:00:00.000Z'],
      ['Test run', expect.any(String)],
    ]);
    await shop.rest('owner', 'delete', `/people/${odran.id}`, undefined, { version: 1 }).expect(200);
  });
});

describe('a part that does not come', () => {
  it('moves exactly the task that needs it, and says so everywhere', async () => {
    const part = await post('/parts', { name: 'Deck belt', family: 'belt' });
    const supplier = await post('/suppliers', { name: 'Tarn Belts' });
    const { need } = await post('/part-needs', { taskId: test.id, partId: part.id, quantity: 1 });
    await post('/orders', {
      supplierId: supplier.id,
      orderedDate: '2026-09-15',
      lines: [{ partId: part.id, quantity: 1, unitPrice: '17.50', promisedDate: '2026-10-20', partNeedIds: [need.id] }],
    });
    const arrival = (await get('/arrivals')).arrivals[0];
    const told = await get(`/jobs/${job.id}/schedule`);
    const plan = await get('/plan');
    const start = (name: string) => plan.tasks.find((one: Json) => one.name === name).startsAt as string;
    expect(start('Coat')).toBe('2026-09-15T13:00:00.000Z');
    expect(start('Build')).toBe('2026-09-29T16:00:00.000Z');
    // On the median day it has come; the shop is open from Monday to Friday, so a Saturday's part waits for Monday.
    const weekday = new Date(`${arrival.p50Date}T12:00:00Z`).getUTCDay();
    const worked = new Date(
      Date.parse(`${arrival.p50Date}T12:00:00Z`) + (weekday === 6 ? 2 : weekday === 0 ? 1 : 0) * 86_400_000,
    )
      .toISOString()
      .slice(0, 10);
    expect(start('Test run').slice(0, 10)).toBe(worked);
    expect(told.expectedDate).toBe(worked);
    expect(told.reasons).toEqual([`Test run waits for 1 × Deck belt from Tarn Belts, expected ${arrival.p50Date}`]);
    expect(told.waits).toEqual([
      {
        taskId: test.id,
        taskName: 'Test run',
        until: arrival.p50Date,
        what: `1 × Deck belt from Tarn Belts, expected ${arrival.p50Date}`,
        kind: 'part',
      },
    ]);
    // The quantiles of the job are those of the part, as far as working days and the luck of 500 draws let them: two standard
    // errors of a share of 0.8 are 3.6 points, which are some days here.
    expect(Math.abs(Date.parse(told.p80Date) - Date.parse(arrival.p80Date))).toBeLessThanOrEqual(5 * 86_400_000);
    expect(told.p10Date < told.p50Date && told.p50Date <= told.p80Date && told.p80Date < told.p95Date).toBe(true);
    expect(told.probabilityByDue).toBeLessThan(0.5);
  });
});

describe('work for two', () => {
  it('has come as far as the two have worked side by side', async () => {
    const other = await startTestShop();
    const make = async (path: string, body: Json): Promise<Json> =>
      (await other.rest('owner', 'post', path, body).expect(201)).body;
    const people = [
      await make('/people', { name: 'Mira', weeklyHours: [] }),
      await make('/people', { name: 'Odran', weeklyHours: [] }),
    ];
    const machine = await make('/machines', { kind: 'twoStageThrower', maker: 'Hallgrim', model: 'Boreal 24' });
    const job = await make('/jobs', { machineId: machine.id });
    const lift = await make('/tasks', {
      jobId: job.id,
      code: 'lift',
      name: 'Lift the engine',
      kind: 'assemble',
      people: 2,
      pausable: true,
      handsOnMinutes: 480,
      minMinutes: 480,
      maxMinutes: 480,
    });
    const at = (minutes: number) => new Date(TEST_NOW.getTime() + minutes * 60_000).toISOString();
    for (const { id: personId } of people)
      await make('/labour-entries', { taskId: lift.id, personId, startedAt: at(-60), endedAt: at(0) });
    // Of eight hours for two, one is done: from nine it takes until four, not until three.
    const { tasks } = (await other.rest('owner', 'get', '/plan').expect(200)).body;
    expect(tasks).toMatchObject([{ name: 'Lift the engine', begun: true, finishesAt: '2026-09-15T20:00:00.000Z' }]);
    await other.close();
  });
});

describe('refusals', () => {
  it('are clear: closed jobs, foreign jobs, no such job', async () => {
    const other = await shop.anotherShop();
    const foreign = await shop.rest('owner', 'get', `/jobs/${job.id}/schedule`, undefined, {
      headers: { Authorization: `Bearer ${other.keys.owner}` },
    });
    expect(foreign.status).toBe(404);
    const empty = await shop.rest('owner', 'get', '/plan', undefined, {
      headers: { Authorization: `Bearer ${other.keys.owner}` },
    });
    expect(empty.body).toMatchObject({ jobs: [], tasks: [] });
    expect(shop.clock.now).toEqual(TEST_NOW);
  });
});
