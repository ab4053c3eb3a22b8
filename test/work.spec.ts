/** Jobs, routes, tasks, links and labour, over HTTP on a real database. The clock stands at 09:00 in Toronto. */
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { standardRoutes } from '../seed/routes.js';
import { closeJobRow, reopenJobRow } from '../src/work/jobs.js';
import { labourByJob, labourByTask } from '../src/work/labour.js';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let person: Json;

beforeAll(async () => {
  shop = await startTestShop();
  person = (await shop.rest('owner', 'post', '/people', { name: 'Ines', weeklyHours: [] }).expect(201)).body;
}, 60_000);
beforeEach(() => void (shop.clock.now = TEST_NOW));
afterAll(() => shop?.close(), 60_000);

/** Minutes after the test's clock, as an instant. */
const at = (minutes: number): string => new Date(TEST_NOW.getTime() + minutes * 60_000).toISOString();
const moveTo = (minutes: number): void => void (shop.clock.now = new Date(TEST_NOW.getTime() + minutes * 60_000));

async function made(path: string, body: Json): Promise<Json> {
  const response = await shop.rest('owner', 'post', path, body);
  if (response.status !== 201) throw new Error(`${path}: ${response.status} ${JSON.stringify(response.body)}`);
  return response.body;
}
const makeMachine = (over: Json = {}): Promise<Json> =>
  made('/machines', { kind: 'twoStageThrower', maker: 'Pikestone', model: 'P8', ...over });
const makeJob = async (over: Json = {}): Promise<Json> =>
  made('/jobs', { machineId: (await makeMachine()).id, ...over });
const makeTask = (job: Json, code: string, over: Json = {}): Promise<Json> =>
  made('/tasks', {
    jobId: job.id,
    code,
    name: code,
    kind: 'repair',
    minMinutes: 30,
    handsOnMinutes: 60,
    maxMinutes: 90,
    ...over,
  });
const readJob = async (job: Json): Promise<Json> =>
  (await shop.rest('reader', 'get', `/jobs/${job.id}`).expect(200)).body;
const act = (
  role: 'owner' | 'helper' | 'reader',
  task: Json,
  action: 'start' | 'finish' | 'reopen',
  body: Json = action === 'reopen' ? { reason: 'A slip.' } : {},
) => shop.rest(role, 'post', `/tasks/${task.id}/${action}`, body, { idempotencyKey: null });

describe('opening a job', () => {
  it('numbers jobs in one run, also when many are opened at once', async () => {
    const machines = await Promise.all([1, 2, 3, 4, 5].map(() => makeMachine()));
    const jobs = await Promise.all(machines.map((machine) => made('/jobs', { machineId: machine.id })));
    const numbers = jobs.map(({ number }) => number).sort((a, b) => a - b);
    expect(numbers).toEqual([0, 1, 2, 3, 4].map((step) => numbers[0] + step));
    expect(jobs[0]).toMatchObject({
      title: 'Pikestone P8',
      status: 'intake',
      openedDate: '2026-09-15',
      taskCount: 0,
      finishedDate: null,
      outcome: null,
    });
  });

  it('opens one job a machine, also when two are asked for at once', async () => {
    const machine = await makeMachine();
    const both = await Promise.all([1, 2].map(() => shop.rest('owner', 'post', '/jobs', { machineId: machine.id })));
    expect(both.map(({ status }) => status).sort()).toEqual([201, 409]);
    const { body } = await shop.rest('owner', 'post', '/jobs', { machineId: machine.id }).expect(409);
    expect(body.type).toMatch(/job-open$/);
  });

  it('gives the first reply again for the same Idempotency-Key', async () => {
    const machine = await makeMachine();
    const first = await shop
      .rest('owner', 'post', '/jobs', { machineId: machine.id }, { idempotencyKey: 'job-once' })
      .expect(201);
    const again = await shop
      .rest('owner', 'post', '/jobs', { machineId: machine.id }, { idempotencyKey: 'job-once' })
      .expect(201);
    expect(again.body).toEqual(first.body);
  });

  it("refuses helpers, strangers' machines and routes, and days to come", async () => {
    const machine = await makeMachine();
    await shop.rest('helper', 'post', '/jobs', { machineId: machine.id }).expect(403);
    await shop.rest('owner', 'post', '/jobs', { machineId: person.id }).expect(404);
    await shop.rest('owner', 'post', '/jobs', { machineId: machine.id, routeId: person.id }).expect(404);
    await shop.rest('owner', 'post', '/jobs', { machineId: machine.id, openedDate: '2026-09-16' }).expect(422);
    const other = await shop.anotherShop();
    const own = shop.keys.owner;
    const job = await makeJob();
    shop.keys.owner = other.keys.owner;
    try {
      await shop.rest('owner', 'get', `/jobs/${job.id}`).expect(404);
      await shop.rest('owner', 'post', '/jobs', { machineId: machine.id }).expect(404);
      await shop
        .rest('owner', 'post', '/tasks', {
          jobId: job.id,
          code: 'x',
          name: 'x',
          kind: 'repair',
          minMinutes: 1,
          handsOnMinutes: 1,
          maxMinutes: 1,
        })
        .expect(404);
    } finally {
      shop.keys.owner = own;
    }
    // A refused opening uses up no number and leaves nothing behind.
    expect((await made('/jobs', { machineId: machine.id })).number).toBe(job.number + 1);
  });
});

describe("a job's state", () => {
  it('is told from the records at every step, and lists can be asked for by it', async () => {
    const job = await makeJob();
    const expectState = async (status: string, over: Json = {}): Promise<void> => {
      expect(await readJob(job)).toMatchObject({ status, ...over });
      const { body } = await shop.rest('reader', 'get', `/jobs?status=${status}&first=200`).expect(200);
      expect(body.items.map(({ id }: Json) => id)).toContain(job.id);
      expect(new Set(body.items.map((one: Json) => one.status))).toEqual(new Set([status]));
    };
    await expectState('intake');
    await made('/findings', { machineId: job.machineId, component: 'belt', observation: 'glazed', verdict: 'replace' });
    await expectState('diagnosed');
    const [one, two] = [await makeTask(job, 'one'), await makeTask(job, 'two')];
    await expectState('diagnosed', { taskCount: 2, finishedTaskCount: 0 });
    await act('helper', one, 'start').expect(200);
    await expectState('inWork');
    await act('helper', one, 'finish').expect(200);
    await expectState('inWork', { finishedTaskCount: 1, finishedDate: null });
    // 23:30 in Toronto on the 15th is the 16th in UTC; the shop's own day counts.
    moveTo(14 * 60 + 30);
    await act('helper', two, 'finish').expect(200);
    await expectState('finished', { finishedTaskCount: 2, finishedDate: '2026-09-15' });
    await act('helper', two, 'reopen').expect(200);
    await expectState('inWork', { finishedDate: null });
    await act('helper', two, 'finish').expect(200);
    const offer = await shop.within((context) =>
      context.tx.offer.create({
        data: { shopId: shop.shopId, jobId: job.id, askPrice: '500', offeredDate: new Date('2026-09-15') },
      }),
    );
    await expectState('offered');
    await shop.rest('owner', 'post', `/jobs/${job.id}/close`, { outcome: 'kept' }, { version: 1 }).expect(409);
    await shop.within((context) =>
      context.tx.offer.update({ where: { id: offer.id }, data: { withdrawnDate: new Date('2026-09-15') } }),
    );
    await shop.rest('owner', 'post', `/jobs/${job.id}/close`, { outcome: 'kept' }, { version: 1 }).expect(200);
    await expectState('kept', { outcome: 'kept', closedDate: '2026-09-15', version: 2 });
    await shop.rest('owner', 'post', `/jobs/${job.id}/reopen`, {}, { version: 2 }).expect(200);
    await shop.within((context) => closeJobRow(context, job.id, 'sold', '2026-09-15'));
    await expectState('sold');
    await shop.rest('owner', 'post', `/jobs/${job.id}/reopen`, {}, { version: 4 }).expect(409);
    await shop.within((context) => reopenJobRow(context, job.id));
    await expectState('finished', { outcome: null, closedDate: null });
    for (const [outcome, version] of [
      ['partedOut', 5],
      ['scrapped', 7],
    ] as const) {
      await shop.rest('owner', 'post', `/jobs/${job.id}/close`, { outcome }, { version }).expect(200);
      await expectState(outcome);
      await shop.rest('owner', 'post', `/jobs/${job.id}/reopen`, {}, { version: version + 1 }).expect(200);
    }
    const mistaken = await makeJob();
    await shop.rest('owner', 'delete', `/jobs/${mistaken.id}`, undefined, { version: 1 }).expect(200);
    const { body } = await shop.rest('reader', 'get', '/jobs?status=archived').expect(200);
    expect(body.items.map(({ id, status }: Json) => [id, status])).toEqual([[mistaken.id, 'archived']]);
    await makeJob({ machineId: mistaken.machineId });
  });

  it('is as cheap to list for many jobs as for one, with tasks, links, labour and standing', async () => {
    const route = await made('/routes', { name: 'short', machineKind: 'other', tasks: standardRoutes[0]!.tasks });
    for (let count = 0; count < 6; count += 1) await makeJob({ routeId: route.id });
    const ask = (first: number) =>
      shop.database.countStatements(() =>
        shop.graphql(
          'reader',
          `query ($first: Int) { jobs(first: $first, sort: "-number") { edges { node {
          number status machine { maker } labour { minutes } safetyStatus { safe } findings { component }
          tasks { code status labour { minutes } cautions { title } predecessors { minWaitMinutes predecessor { code } } } } } } }`,
          { first },
        ),
      );
    const one = await ask(1);
    const six = await ask(6);
    expect(six.result.errors).toBeUndefined();
    expect(six.result.data.jobs.edges).toHaveLength(6);
    expect(six.result.data.jobs.edges[5].node.tasks).toHaveLength(standardRoutes[0]!.tasks.length);
    expect(six.statements.length).toBe(one.statements.length);
  });

  it('filters, sorts and pages', async () => {
    const early = await makeJob({ promisedDate: '2026-10-01' });
    const late = await makeJob({ promisedDate: '2026-12-01' });
    const { body } = await shop.rest('reader', 'get', '/jobs?promisedBefore=2026-11-01&open=true').expect(200);
    expect(body.items.map(({ id }: Json) => id)).toEqual([early.id]);
    const first = (await shop.rest('reader', 'get', '/jobs?sort=-number&first=1').expect(200)).body;
    expect(first.items[0].id).toBe(late.id);
    const { data } = await shop.graphql(
      'reader',
      `{ jobs(sort: "-number", first: 1) { edges { cursor node { id } } } }`,
    );
    const next = await shop.graphql(
      'reader',
      `query ($after: String) { jobs(sort: "-number", first: 1, after: $after) { edges { node { id } } } }`,
      { after: data.jobs.edges[0].cursor },
    );
    expect(next.data.jobs.edges[0].node.id).toBe(early.id);
    expect((await shop.rest('reader', 'get', `/jobs?machineId=${late.machineId}`)).body.items).toHaveLength(1);
    expect(
      (await shop.rest('reader', 'get', '/jobs?open=false&first=200')).body.items.every((one: Json) => one.closedDate),
    ).toBe(true);
    await shop.rest('reader', 'get', '/jobs?status=asleep').expect(422);
  });

  it('changes only what is sent, against the version read', async () => {
    const job = await makeJob({ promisedDate: '2026-10-01' });
    const { body } = await shop
      .rest('owner', 'patch', `/jobs/${job.id}`, { priority: 5, notes: 'wants a light' }, { version: 1 })
      .expect(200);
    expect(body).toMatchObject({ priority: 5, notes: 'wants a light', promisedDate: '2026-10-01', version: 2 });
    await shop.rest('owner', 'patch', `/jobs/${job.id}`, { priority: 6 }, { version: 1 }).expect(412);
    await shop.rest('owner', 'patch', `/jobs/${job.id}`, { status: 'finished' }, { version: 2 }).expect(422);
    const changed = await shop.graphql(
      'owner',
      `mutation ($input: ChangeJobInput!) { changeJob(input: $input) { promisedDate status } }`,
      { input: { id: job.id, version: 2, promisedDate: null } },
    );
    expect(changed.data.changeJob).toEqual({ promisedDate: null, status: 'intake' });
  });
});

describe('routes', () => {
  const task = (code: string, over: Json = {}) => ({
    code,
    name: code,
    kind: 'repair',
    minMinutes: 1,
    handsOnMinutes: 2,
    maxMinutes: 3,
    ...over,
  });
  const refused = async (tasks: Json[]): Promise<Json[]> =>
    (
      await shop
        .rest('owner', 'post', '/routes', { name: `bad ${Math.random()}`, machineKind: 'other', tasks })
        .expect(422)
    ).body.errors;

  it.each([
    ['two tasks of one code', [task('a'), task('a')], '/tasks/1/code', /code a/],
    ['an unknown predecessor', [task('a', { after: [{ code: 'b' }] })], '/tasks/0/after/0/code', /no task b/],
    [
      'a circle',
      [
        task('a', { after: [{ code: 'c' }] }),
        task('b', { after: [{ code: 'a' }] }),
        task('c', { after: [{ code: 'b' }] }),
      ],
      '/tasks',
      /c → a → b → c|a → b → c → a/,
    ],
    ['minutes out of order', [task('a', { minMinutes: 5 })], '/tasks/0/minMinutes', /handsOnMinutes/],
    [
      'an interval that ends before it begins',
      [task('a'), task('b', { after: [{ code: 'a', forbiddenIntervals: [{ fromMinutes: 9, toMinutes: 9 }] }] })],
      '/tasks/1/after/0/forbiddenIntervals/0/toMinutes',
      /more than/,
    ],
    ['an unknown caution', [task('a', { cautions: ['bears'] })], '/tasks/0/cautions/0', /./],
    ['no task', [], '/tasks', /./],
  ])('refuses %s', async (_what, tasks, pointer, detail) => {
    const errors = await refused(tasks);
    expect(errors).toContainEqual({ pointer, detail: expect.stringMatching(detail) });
  });

  it('lays the standard route out with its links, once unless prefixed, and on its own kind only', async () => {
    const given = standardRoutes.find(({ machineKind }) => machineKind === 'twoStageThrower')!;
    const route = await made('/routes', given);
    const job = await makeJob({ routeId: route.id });
    expect(job).toMatchObject({ taskCount: given.tasks.length, finishedTaskCount: 0, status: 'intake' });
    const { body } = await shop.rest('helper', 'get', `/tasks?jobId=${job.id}`).expect(200);
    expect(body.items.map(({ code }: Json) => code)).toEqual(given.tasks.map(({ code }) => code));
    const byId = new Map<string, Json>(body.items.map((one: Json) => [one.id, one]));
    const colour = body.items.find(({ code }: Json) => code === 'colour-2');
    expect(colour).toMatchObject({ status: 'toDo', pausable: false, needsPaintWeather: true, placeKind: 'sprayArea' });
    expect(colour.predecessors).toMatchObject([
      {
        minWaitMinutes: 15,
        forbiddenIntervals: [{ fromMinutes: 60, toMinutes: 2880 }],
        reason: expect.stringContaining('two days'),
      },
    ]);
    expect(byId.get(colour.predecessors[0].predecessorId).code).toBe('colour-1');
    expect(colour.cautions.map(({ code, title }: Json) => [code, title])).toContainEqual([
      'solventVapour',
      'Solvent and paint vapour',
    ]);
    const again = await shop.rest('owner', 'post', `/jobs/${job.id}/apply-route`, { routeId: route.id }).expect(409);
    expect(again.body.detail).toMatch(/wash, diagnose/);
    const twice = await shop.graphql(
      'helper',
      `mutation ($input: ApplyRouteInput!) { applyRoute(input: $input) { taskCount } }`,
      { input: { id: job.id, routeId: route.id, codePrefix: 'again-' } },
    );
    expect(twice.data.applyRoute.taskCount).toBe(2 * given.tasks.length);
    const mower = await makeMachine({ kind: 'walkBehindMower' });
    await shop.rest('owner', 'post', '/jobs', { machineId: mower.id, routeId: route.id }).expect(422);
    await shop.rest('owner', 'delete', `/routes/${route.id}`, undefined, { version: 1 }).expect(200);
    await shop
      .rest('owner', 'post', `/jobs/${job.id}/apply-route`, { routeId: route.id, codePrefix: 'third-' })
      .expect(409);
  });

  it('takes every standard route through GraphQL, and keeps what it was given', async () => {
    for (const route of standardRoutes) {
      const input = { ...route, name: `${route.name}, again` };
      const { data, errors } = await shop.graphql(
        'owner',
        `mutation ($input: CreateRouteInput!) { createRoute(input: $input) { ` +
          `machineKind tasks { code people after { code minWaitMinutes } } } }`,
        { input },
      );
      expect(errors).toBeUndefined();
      expect(data.createRoute.machineKind).toBe(route.machineKind);
      expect(data.createRoute.tasks.find(({ code }: Json) => code === 'cure')).toEqual({
        code: 'cure',
        people: 0,
        after: [{ code: 'clear', minWaitMinutes: 1440 }],
      });
    }
    await shop.rest('helper', 'post', '/routes', { ...standardRoutes[0]!, name: 'by a helper' }).expect(403);
  });
});

describe('the order of tasks', () => {
  let job: Json;
  let prime: Json;
  let colour: Json;
  beforeEach(async () => {
    job = await makeJob();
    prime = await makeTask(job, 'prime');
    colour = await makeTask(job, 'colour', {
      after: [
        {
          predecessorId: prime.id,
          minWaitMinutes: 15,
          forbiddenIntervals: [{ fromMinutes: 60, toMinutes: 2880 }],
          reason: 'recoat window',
        },
      ],
    });
  });
  const refusal = async (minutes: number): Promise<Json> => {
    moveTo(minutes);
    const { body } = await act('helper', colour, 'start').expect(422);
    return { code: body.type.split(/[/#:]/).at(-1), allowedFrom: body.allowedFrom, detail: body.detail };
  };

  it('refuses a start before its time, and says when it may be', async () => {
    expect(await refusal(0)).toMatchObject({
      code: 'predecessor-unfinished',
      allowedFrom: null,
      detail: expect.stringContaining('"prime", which is not finished'),
    });
    await act('helper', prime, 'finish', { at: at(-5) }).expect(200);
    expect(await refusal(0)).toMatchObject({
      code: 'wait-not-over',
      allowedFrom: at(10),
      detail: expect.stringContaining('It may start from 2026-09-15T09:10-04:00.'),
    });
    expect(await refusal(56)).toMatchObject({
      code: 'recoat-closed',
      allowedFrom: at(2875),
      detail: expect.stringContaining('between 1 hour and 2 days after "prime"'),
    });
    expect(
      (await shop.rest('helper', 'post', `/tasks/${colour.id}/labour`, { personId: person.id }).expect(422)).body
        .allowedFrom,
    ).toBe(at(2875));
    // It was done in the window and is written down only now.
    const { body } = await act('helper', colour, 'finish', { startedAt: at(20), at: at(50) }).expect(200);
    expect(body).toMatchObject({ status: 'finished', startedAt: at(20), finishedAt: at(50) });
  });

  it('lets the owner do it even so, with a reason that stays in the notes', async () => {
    await act('owner', prime, 'finish', { at: at(-120) }).expect(200);
    await act('helper', colour, 'start', { override: true, reason: 'looks dry' }).expect(403);
    const { body } = await act('owner', colour, 'start', { override: true }).expect(422);
    expect(body.errors[0].pointer).toBe('/reason');
    await act('owner', colour, 'start', { override: true, reason: 'sanded between' }).expect(200);
    expect((await readJob(job)).notes).toBe('2026-09-15: colour done even so (recoat-closed): sanded between');
  });

  it('starts and finishes through GraphQL, and not twice, nor in the future, nor before its start', async () => {
    const run = (name: string, input: Json) =>
      shop.graphql(
        'helper',
        `mutation ($input: ${name[0]!.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { status startedAt } }`,
        { input },
      );
    expect((await run('startTask', { id: prime.id, at: at(-30) })).data.startTask).toEqual({
      status: 'started',
      startedAt: at(-30),
    });
    expect((await run('startTask', { id: prime.id })).errors![0].extensions.code).toBe('task-started');
    await act('helper', prime, 'finish', { at: at(1) }).expect(422);
    await act('helper', prime, 'finish', { at: at(-31) }).expect(422);
    expect((await run('finishTask', { id: prime.id, at: at(-5) })).data.finishTask.status).toBe('finished');
    await act('helper', prime, 'finish').expect(409);
    await act('reader', prime, 'reopen').expect(403);
  });

  it('reopens in reverse order: what follows first', async () => {
    await act('helper', prime, 'finish', { at: at(-30) }).expect(200);
    await act('helper', colour, 'start').expect(200);
    const { body } = await act('helper', prime, 'reopen').expect(422);
    expect(body.detail).toContain('"colour" came after "prime"');
    expect((await act('helper', colour, 'reopen').expect(200)).body.status).toBe('toDo');
    expect((await act('helper', prime, 'reopen').expect(200)).body).toMatchObject({
      status: 'started',
      finishedAt: null,
    });
    await act('helper', colour, 'reopen').expect(409);
  });

  it('holds a cure for its time', async () => {
    const cure = await makeTask(job, 'cure', {
      kind: 'cure',
      people: 0,
      minMinutes: 0,
      handsOnMinutes: 0,
      maxMinutes: 0,
      cureMinutes: 20160,
    });
    await act('helper', cure, 'start').expect(200);
    moveTo(20159);
    const { body } = await act('helper', cure, 'finish').expect(422);
    expect(body).toMatchObject({ allowedFrom: at(20160), detail: expect.stringContaining('14 days after') });
    moveTo(20160);
    await act('helper', cure, 'finish').expect(200);
  });

  it('refuses a circle by name, and a link to itself, twice, or to another job', async () => {
    const clear = await makeTask(job, 'clear', { after: [{ predecessorId: colour.id }] });
    const link = (taskId: string, predecessorId: string) =>
      shop.rest('helper', 'post', '/task-links', { taskId, predecessorId });
    const { body } = await link(prime.id, clear.id).expect(409);
    expect(body.detail).toContain('clear → prime → colour → clear');
    await link(prime.id, prime.id).expect(409);
    await link(colour.id, prime.id).expect(409);
    const elsewhere = await makeTask(await makeJob(), 'prime');
    await link(elsewhere.id, prime.id).expect(422);
    const loose = await makeTask(job, 'loose');
    const { body: made } = await link(loose.id, prime.id).expect(201);
    expect(made).toMatchObject({ minWaitMinutes: 0, forbiddenIntervals: [], reason: null });
    await shop.rest('helper', 'delete', `/task-links/${made.id}`).expect(200);
    await act('helper', loose, 'start').expect(200);
  });

  it('archives a task only when nothing waits for it and nothing was done on it', async () => {
    const retire = (task: Json, version = 1) =>
      shop.rest('helper', 'delete', `/tasks/${task.id}`, undefined, { version });
    const { body } = await retire(prime).expect(409);
    expect(body.detail).toContain('"colour" waits for "prime"');
    await retire(colour).expect(200);
    await act('helper', prime, 'finish').expect(200);
    // The only standing task is finished, so the job is.
    expect(await readJob(job)).toMatchObject({ status: 'finished', finishedDate: '2026-09-15', taskCount: 1 });
    await retire(prime, 2).expect(409);
    await shop
      .rest('owner', 'post', '/tasks', {
        jobId: job.id,
        code: 'colour',
        name: 'x',
        kind: 'colour',
        minMinutes: 1,
        handsOnMinutes: 1,
        maxMinutes: 1,
      })
      .expect(409);
    const extra = await makeTask(job, 'extra');
    expect((await readJob(job)).finishedDate).toBeNull();
    await retire(extra).expect(200);
    expect((await readJob(job)).finishedDate).toBe('2026-09-15');
  });

  it('changes a task, its minutes kept in order, and lists tasks by state and kind', async () => {
    await shop.rest('helper', 'patch', `/tasks/${prime.id}`, { maxMinutes: 59 }, { version: 1 }).expect(422);
    const { body } = await shop
      .rest(
        'helper',
        'patch',
        `/tasks/${prime.id}`,
        { kind: 'prime', maxMinutes: 300, cautions: ['isocyanate'] },
        { version: 1 },
      )
      .expect(200);
    expect(body).toMatchObject({
      version: 2,
      maxMinutes: 300,
      cautions: [{ code: 'isocyanate', standard: expect.stringContaining('1910.134') }],
    });
    await act('helper', prime, 'start').expect(200);
    const codes = async (query: string) =>
      (await shop.rest('reader', 'get', `/tasks?jobId=${job.id}&${query}`).expect(200)).body.items.map(
        ({ code }: Json) => code,
      );
    expect(await codes('status=started')).toEqual(['prime']);
    expect(await codes('status=toDo')).toEqual(['colour']);
    expect(await codes('kind=prime')).toEqual(['prime']);
    await shop.rest('owner', 'post', `/jobs/${job.id}/close`, { outcome: 'scrapped' }, { version: 1 }).expect(200);
    await act('helper', prime, 'finish').expect(409);
    await shop.rest('helper', 'patch', `/tasks/${prime.id}`, { position: 3 }, { version: 3 }).expect(409);
  });
});

describe('labour', () => {
  let job: Json;
  let task: Json;
  beforeEach(async () => {
    // Each test in a week of its own, so that one person's entries cannot meet.
    const last = await shop.within((context) => context.tx.labourEntry.count());
    moveTo((last + 1) * 10_080);
    job = await makeJob();
    task = await makeTask(job, 'strip');
  });
  const now = (minutes = 0): string => new Date(shop.clock.now.getTime() + minutes * 60_000).toISOString();
  const clockOn = (over: Json = {}) =>
    shop.rest('helper', 'post', `/tasks/${(over.task ?? task).id}/labour`, { personId: person.id, at: over.at });
  const write = (over: Json) =>
    shop.rest('helper', 'post', '/labour-entries', { taskId: task.id, personId: person.id, ...over });

  it('clocks on and off, starts the task, and keeps a person in one place', async () => {
    const { body: entry } = await clockOn({ at: now(-90) }).expect(201);
    expect(entry).toMatchObject({ minutes: 90, endedAt: null });
    expect((await shop.rest('reader', 'get', `/tasks/${task.id}`)).body).toMatchObject({
      status: 'started',
      startedAt: now(-90),
    });
    const other = await makeTask(job, 'wash');
    const busy = await clockOn({ task: other }).expect(409);
    expect(busy.body).toMatchObject({
      type: expect.stringMatching(/person-busy$/),
      detail: expect.stringContaining('Ines has been on "strip" since'),
    });
    await shop.rest('owner', 'post', `/jobs/${job.id}/close`, { outcome: 'kept' }, { version: 1 }).expect(409);
    await shop
      .rest('helper', 'post', `/labour-entries/${entry.id}/stop`, { at: now(-90) }, { idempotencyKey: null })
      .expect(422);
    const { body: ended } = await shop
      .rest('helper', 'post', `/labour-entries/${entry.id}/stop`, { at: now(-30) }, { idempotencyKey: null })
      .expect(200);
    expect(ended).toMatchObject({ minutes: 60, endedAt: now(-30) });
    await shop.rest('helper', 'post', `/labour-entries/${entry.id}/stop`, {}, { idempotencyKey: null }).expect(409);
  });

  it('adds up by task and job, a running entry up to now, archived ones not', async () => {
    await write({ startedAt: now(-300), endedAt: now(-240) }).expect(201);
    const { body: wrong } = await write({ startedAt: now(-240), endedAt: now(-200) }).expect(201);
    await shop.rest('helper', 'delete', `/labour-entries/${wrong.id}`, undefined, { version: 1 }).expect(422);
    await shop
      .rest('helper', 'delete', `/labour-entries/${wrong.id}?reason=Twice`, undefined, { version: 1 })
      .expect(200);
    await clockOn({ at: now(-25) }).expect(201);
    const sums = await shop.within(async (context) => [
      (await labourByTask(context, [task.id])).get(task.id),
      (await labourByJob(context, [job.id])).get(job.id),
    ]);
    expect(sums).toEqual([
      { minutes: 85, running: true },
      { minutes: 85, running: true },
    ]);
    // Finishing the task clocks off whoever is on it.
    await act('helper', task, 'finish', { at: now(-5) }).expect(200);
    const { data } = await shop.graphql(
      'reader',
      `query ($id: ID!) { task(id: $id) { labour { minutes running } labourEntries { ` +
        `minutes endedAt person { name } } job { labour { minutes } } } }`,
      { id: task.id },
    );
    expect(data.task).toMatchObject({
      labour: { minutes: 80, running: false },
      labourEntries: [
        { minutes: 60, person: { name: 'Ines' } },
        { minutes: 20, endedAt: now(-5) },
      ],
      job: { labour: { minutes: 80 } },
    });
  });

  it('refuses overlaps, the future, an end before its start, and work on what is finished', async () => {
    await write({ startedAt: now(-60), endedAt: now(-30) }).expect(201);
    const { body } = await write({ startedAt: now(-31), endedAt: now(-10) }).expect(409);
    expect(body.type).toMatch(/person-busy$/);
    await write({ startedAt: now(-30), endedAt: now(-10) }).expect(201);
    await write({ startedAt: now(-5), endedAt: now(5) }).expect(422);
    await write({ startedAt: now(-5), endedAt: now(-6) }).expect(422);
    await act('helper', task, 'reopen').expect(409);
    await act('helper', task, 'finish').expect(200);
    await clockOn().expect(409);
    await shop
      .rest('reader', 'post', '/labour-entries', {
        taskId: task.id,
        personId: person.id,
        startedAt: now(-5),
        endedAt: now(-4),
      })
      .expect(403);
    await write({ personId: task.id, startedAt: now(-5), endedAt: now(-4) }).expect(404);
  });

  it('lets one of two clock-ons at once through', async () => {
    const other = await makeTask(await makeJob(), 'wash');
    const both = await Promise.all([clockOn(), clockOn({ task: other })]);
    expect(both.map(({ status }) => status).sort()).toEqual([201, 409]);
    const entry = both.find(({ status }) => status === 201)!.body;
    moveTo((shop.clock.now.getTime() - TEST_NOW.getTime()) / 60_000 + 7);
    const changed = await shop.graphql(
      'helper',
      `mutation ($input: ChangeLabourEntryInput!) { changeLabourEntry(input: $input) { minutes note endedAt } }`,
      {
        input: { id: entry.id, version: 1, note: 'forgot to clock off', endedAt: now(-1), reason: 'Forgotten.' },
      },
    );
    expect(changed.data.changeLabourEntry).toEqual({ minutes: 6, note: 'forgot to clock off', endedAt: now(-1) });
  });
});
