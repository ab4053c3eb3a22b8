/** Many in one call, all or none; tables in and out; and a repeat of an action that is given its first reply. */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { parse } from 'csv-parse/sync';
import request from 'supertest';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let person: Json;
let task: Json;
let other: Json;
const made = async (path: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(201)).body;
beforeAll(async () => {
  shop = await startTestShop();
  person = await made('/people', { name: 'Ines', weeklyHours: [] });
  const acquisition = await made('/acquisitions', { source: 'classified', acquiredDate: '2026-09-02', price: '40.00' });
  const machine = await made('/machines', {
    kind: 'other',
    maker: 'Norvane',
    model: 'Till 5',
    acquisitionId: acquisition.id,
  });
  const job = await made('/jobs', { machineId: machine.id });
  const newTask = (code: string) =>
    made('/tasks', {
      jobId: job.id,
      code,
      name: code,
      kind: 'strip',
      minMinutes: 30,
      handsOnMinutes: 60,
      maxMinutes: 90,
    });
  [task, other] = [await newTask('first'), await newTask('second')];
});
afterAll(() => shop.close());

const entry = (hour: number, from: Json = task) => ({
  taskId: from.id,
  personId: person.id,
  startedAt: `2026-09-14T${hour}:00:00Z`,
  endedAt: `2026-09-14T${hour}:30:00Z`,
});
const entries = async () => (await shop.rest('owner', 'get', '/labour-entries').expect(200)).body.items as Json[];

describe('a batch', () => {
  it('records all of it under one key, in both APIs, and each is told of as one', async () => {
    const { last } = (await shop.rest('owner', 'get', '/changes').expect(200)).body;
    const key = randomUUID();
    const sent = { items: [entry(13), entry(14)] };
    const first = await shop.rest('helper', 'post', '/labour-entries/batch', sent, { idempotencyKey: key }).expect(201);
    expect(first.body.items.map((one: Json) => one.minutes)).toEqual([30, 30]);
    const again = await shop.rest('helper', 'post', '/labour-entries/batch', sent, { idempotencyKey: key }).expect(201);
    expect(again.body).toEqual(first.body);
    expect(await entries()).toHaveLength(2);
    const { data } = await shop.graphql(
      'helper',
      'mutation ($input: CreateLabourEntriesInput!) { createLabourEntries(input: $input) { items { id minutes } } }',
      { input: { items: [entry(15)] } },
    );
    expect(data.createLabourEntries.items).toEqual([{ id: expect.any(String), minutes: 30 }]);
    const changes = (await shop.rest('reader', 'get', `/changes?after=${last}`).expect(200)).body.items as Json[];
    expect(changes.filter((one) => one.kind === 'LabourEntry').map((one) => one.subjectId)).toEqual([
      ...first.body.items.map((one: Json) => one.id),
      data.createLabourEntries.items[0].id,
    ]);
  });

  it('records none of it where one cannot be, and says which', async () => {
    const before = await entries();
    const overlap = await shop.rest('owner', 'post', '/labour-entries/batch', { items: [entry(16), entry(13)] });
    expect([overlap.status, overlap.body.item]).toEqual([409, 1]);
    expect(overlap.body.detail).toMatch(/^Entry 2: /);
    const wrong = await shop.rest('owner', 'post', '/labour-entries/batch', {
      items: [entry(16), { ...entry(17), endedAt: '2026-09-14T16:30:00Z' }],
    });
    expect([wrong.status, wrong.body.errors[0].pointer]).toEqual([422, expect.stringMatching(/^\/items\/1\//)]);
    const shape = await shop.rest('owner', 'post', '/labour-entries/batch', { items: [entry(16), { taskId: 7 }] });
    expect(shape.body.errors.map((one: Json) => one.pointer)).toContain('/items/1/taskId');
    await shop.rest('owner', 'post', '/labour-entries/batch', { items: [] }).expect(422);
    await shop.rest('reader', 'post', '/labour-entries/batch', { items: [entry(16)] }).expect(403);
    expect(await entries()).toEqual(before);
  });
});

describe('tables', () => {
  const csv = (path: string, body: string) =>
    request(shop.app.getHttpServer())
      .post(`/v1${path}`)
      .set({ Authorization: `Bearer ${shop.keys.owner}`, 'Content-Type': 'text/csv', 'Idempotency-Key': randomUUID() })
      .send(body);

  it('are taken by a batch, a line an entry, and given by a list', async () => {
    const from = entry(17);
    const reply = await csv(
      '/labour-entries/batch',
      `taskId,personId,startedAt,endedAt,note\r\n${from.taskId},${from.personId},${from.startedAt},${from.endedAt},"Two ` +
        `words, a comma\nand a ""second"" line"\r\n`,
    ).expect(201);
    expect(reply.body.items[0].note).toBe('Two words, a comma\nand a "second" line');
    const table = await shop
      .rest('owner', 'get', '/labour-entries?first=200', undefined, { headers: { Accept: 'text/csv' } })
      .expect(200);
    expect(table.headers['content-type']).toMatch(/^text\/csv/);
    const rows: Json[] = parse(table.text, { columns: true });
    const records = await entries();
    expect(rows.map(({ id, minutes, note }) => ({ id, minutes: Number(minutes), note: note || null }))).toEqual(
      records.map(({ id, minutes, note }) => ({ id, minutes, note })),
    );
  });

  it('are refused with what is wrong and where', async () => {
    const column = await csv('/labour-entries/batch', 'taskId,worker\n1,2\n');
    expect([column.status, column.body.errors[0].detail]).toEqual([422, expect.stringContaining('no column "worker"')]);
    const cell = await csv('/labour-entries/batch', `taskId,personId,startedAt,endedAt\n${task.id},nobody,x,y\n`);
    expect(cell.body.errors.map((one: Json) => one.pointer)).toContain('/items/0/personId');
    expect((await csv('/labour-entries/batch', 'a,b\n"1,2\n')).body.type).toMatch(/bad-csv$/);
    expect((await csv('/places', 'name\nBench\n')).status).toBe(415);
  });
});

describe('an action', () => {
  it('that is repeated with its key is done once, and answered as at first', async () => {
    const key = randomUUID();
    const start = () =>
      shop.rest('helper', 'post', `/tasks/${other.id}/start`, {}, { version: other.version, idempotencyKey: key });
    const first = await start().expect(200);
    const again = await start().expect(200);
    expect(again.headers['idempotency-replayed']).toBe('true');
    expect(again.body).toEqual(first.body);
    // Without a key a repeat is told that it comes too late.
    await shop
      .rest('helper', 'post', `/tasks/${other.id}/start`, {}, { version: other.version, idempotencyKey: null })
      .expect(409);
    const finish = () =>
      shop.graphql(
        'helper',
        'mutation ($input: FinishTaskInput!, $key: String) { finishTask(input: $input, idempotencyKey: $key) { __typename } }',
        { input: { id: other.id }, key: `${key} finish` },
      );
    const [one, two] = [await finish(), await finish()];
    expect(one.errors).toBeUndefined();
    expect(two).toEqual(one);
  });
});
