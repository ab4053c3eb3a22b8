/** Labour that cannot have been: refused, or warned of while there is time to put it right. */
import { afterAll, beforeAll, beforeEach, expect, it } from '@jest/globals';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let person: Json;
let machine: Json;
let task: Json;
beforeAll(async () => {
  shop = await startTestShop();
  person = await made('/people', { name: 'Ines', weeklyHours: [] });
  const acquisition = await made('/acquisitions', { source: 'classified', acquiredDate: '2026-09-02', price: '40.00' });
  machine = await made('/machines', {
    kind: 'other',
    maker: 'Norvane',
    model: 'Till 5',
    acquisitionId: acquisition.id,
  });
});
afterAll(() => shop.close());
beforeEach(() => {
  shop.clock.now = TEST_NOW;
});

const made = async (path: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(201)).body;
const problem = (reply: { status: number; body: Json }) => [
  reply.status,
  reply.body.type,
  reply.body.errors?.[0]?.pointer,
];
const newTask = async (code: string): Promise<Json> => {
  const [open] = (await shop.rest('owner', 'get', `/jobs?machineId=${machine.id}`)).body.items;
  const job = open ?? (await made('/jobs', { machineId: machine.id }));
  return made('/tasks', {
    jobId: job.id,
    code,
    name: code,
    kind: 'strip',
    minMinutes: 30,
    handsOnMinutes: 60,
    maxMinutes: 90,
  });
};
const moveHours = (hours: number) => {
  shop.clock.now = new Date(TEST_NOW.getTime() + hours * 3_600_000);
};

it("is refused before the machine came into the shop, by the shop's own day", async () => {
  task = await newTask('early');
  const write = (startedAt: string, endedAt: string) =>
    shop.rest('helper', 'post', '/labour-entries', { taskId: task.id, personId: person.id, startedAt, endedAt });
  // 23:00 in Toronto on 1 September is 03:00 on the 2nd in UTC.
  const early = await write('2026-09-02T03:00:00Z', '2026-09-02T03:45:00Z');
  expect(problem(early)).toEqual([422, 'urn:frostwright:problem:before-acquisition', '/startedAt']);
  expect(early.body.detail).toContain('came into the shop on 2026-09-02');
  const entry = (await write('2026-09-02T12:00:00Z', '2026-09-02T13:00:00Z').expect(201)).body;
  const moved = await shop.graphql(
    'helper',
    'mutation ($input: ChangeLabourEntryInput!) { changeLabourEntry(input: $input) { minutes } }',
    {
      input: {
        id: entry.id,
        version: 1,
        startedAt: '2026-08-31T12:00:00Z',
        endedAt: '2026-08-31T13:00:00Z',
        reason: 'Wrong day.',
      },
    },
  );
  expect(moved.errors?.[0].extensions.code).toBe('before-acquisition');
  const clocked = await shop.rest('helper', 'post', `/tasks/${task.id}/labour`, {
    personId: person.id,
    at: '2026-08-01T12:00:00Z',
  });
  expect(problem(clocked)).toEqual([422, 'urn:frostwright:problem:before-acquisition', '/at']);
});

it('is refused where one entry is longer than anybody works, and says what to do', async () => {
  task = await newTask('long');
  const write = (endedAt: string) =>
    shop.rest('helper', 'post', '/labour-entries', {
      taskId: task.id,
      personId: person.id,
      startedAt: '2026-09-10T08:00:00Z',
      endedAt,
    });
  const long = await write('2026-09-14T08:00:00Z');
  expect(problem(long)).toEqual([422, 'urn:frostwright:problem:labour-too-long', '/endedAt']);
  expect(long.body.detail).toMatch(/4 days; one entry holds 16 hours at most. Give the true end as endedAt/);
  expect(problem(await write('2026-09-11T00:01:00Z'))[0]).toBe(422);
  const { body: entry } = await write('2026-09-11T00:00:00Z').expect(201);
  expect(entry).toMatchObject({ minutes: 960, warning: null });
  const longer = await shop.rest(
    'helper',
    'patch',
    `/labour-entries/${entry.id}`,
    { endedAt: '2026-09-11T01:00:00Z', reason: 'An hour more.' },
    { version: 1 },
  );
  expect(problem(longer)).toEqual([422, 'urn:frostwright:problem:labour-too-long', '/endedAt']);
});

it('a timer that nobody stopped is warned of, and ends only with its true end', async () => {
  task = await newTask('timer');
  const { body: entry } = await shop
    .rest('helper', 'post', `/tasks/${task.id}/labour`, { personId: person.id })
    .expect(201);
  const running = async (): Promise<Json[]> =>
    (
      await shop.graphql('reader', '{ labourEntries(running: true) { edges { node { minutes warning } } } }')
    ).data.labourEntries.edges.map((edge: Json) => edge.node);
  moveHours(10);
  expect(await running()).toEqual([{ minutes: 600, warning: null }]);
  moveHours(71);
  expect(await running()).toEqual([{ minutes: 4260, warning: expect.stringContaining('It has run for 3 days') }]);
  const end = (body: Json) =>
    shop.rest('helper', 'post', `/labour-entries/${entry.id}/stop`, body, { idempotencyKey: null });
  const reason = 'Went home without a thought for it.';
  expect(problem(await end({ at: '2026-09-15T15:30:00Z' }))).toEqual([
    422,
    'urn:frostwright:problem:invalid-input',
    '/reason',
  ]);
  expect(problem(await end({ reason }))).toEqual([422, 'urn:frostwright:problem:labour-too-long', '/at']);
  // Nor by the back door: finishing the task would clock off too.
  const finished = await shop.rest('helper', 'post', `/tasks/${task.id}/finish`, {}, { idempotencyKey: null });
  expect([finished.status, finished.body.type]).toEqual([409, 'urn:frostwright:problem:labour-too-long']);
  expect(finished.body.detail).toContain('end that entry with its true end first');
  expect((await end({ at: '2026-09-15T15:30:00Z', reason }).expect(200)).body).toMatchObject({
    minutes: 150,
    warning: null,
  });
  await shop.rest('helper', 'post', `/tasks/${task.id}/finish`, {}, { idempotencyKey: null }).expect(200);
});

it('a timer started by mistake is taken back with the start of its task, and the reason stays on record', async () => {
  moveHours(100);
  const slip = await newTask('slip');
  const begin = async () =>
    (await shop.rest('helper', 'post', `/tasks/${slip.id}/labour`, { personId: person.id }).expect(201)).body;
  const statusOf = async () => (await shop.rest('helper', 'get', `/tasks/${slip.id}`)).body.status;
  const entry = await begin();
  expect(await statusOf()).toBe('started');
  const undo = (id: string, body: Json = { reason: 'Wrong machine.' }) =>
    shop.rest('helper', 'post', `/labour-entries/${id}/undo-start`, body, { idempotencyKey: null });
  expect((await undo(entry.id, {})).status).toBe(422);
  expect((await undo(entry.id).expect(200)).body.archivedAt).not.toBeNull();
  expect(await statusOf()).toBe('toDo');
  expect((await undo(entry.id)).status).toBe(409);
  const { items } = (await shop.rest('owner', 'get', `/audit-entries?subjectId=${entry.id}`)).body;
  expect(items.map((one: Json) => [one.operation, one.reason])).toContainEqual(['undoLabourStart', 'Wrong machine.']);

  // Work that was done on the task before keeps it started; what was ended is not a start any more.
  const first = await begin();
  moveHours(101);
  await shop.rest('helper', 'post', `/labour-entries/${first.id}/stop`, {}, { idempotencyKey: null }).expect(200);
  const { data } = await shop.graphql(
    'helper',
    'mutation ($task: ID!, $person: ID!) { startLabour(input: { id: $task, personId: $person }) { id } }',
    { task: slip.id, person: person.id },
  );
  const undone = await shop.graphql(
    'helper',
    'mutation ($id: ID!) { undoLabourStart(input: { id: $id, reason: "Not yet." }) { archivedAt } }',
    { id: data.startLabour.id },
  );
  expect([undone.errors, await statusOf()]).toEqual([undefined, 'started']);
  expect((await undo(first.id)).body.type).toMatch(/labour-ended$/);
});

it('a correction of the times says why; a note needs no reason', async () => {
  const [entry] = (await shop.rest('owner', 'get', '/labour-entries?running=false')).body.items;
  const change = (body: Json, version: number) =>
    shop.rest('helper', 'patch', `/labour-entries/${entry.id}`, body, { version });
  await change({ note: 'cold hands' }, entry.version).expect(200);
  const endedAt = new Date(Date.parse(entry.startedAt) + 30 * 60_000).toISOString();
  expect(problem(await change({ endedAt }, entry.version + 1))).toEqual([
    422,
    'urn:frostwright:problem:invalid-input',
    '/reason',
  ]);
  expect((await change({ endedAt, reason: 'Lunch was not work.' }, entry.version + 1).expect(200)).body.minutes).toBe(
    30,
  );
  const { data } = await shop.graphql(
    'owner',
    'query ($id: ID!) { auditEntries(subjectId: $id) { edges { node { operation reason changes { field } } } } }',
    { id: entry.id },
  );
  const told = data.auditEntries.edges.map(({ node }: Json) => node);
  const corrected = told.find((one: Json) => one.reason === 'Lunch was not work.');
  expect(corrected.changes.map((one: Json) => one.field)).toContain('endedAt');
});
