/** How records are kept: lists as rows with checks, what booked an amount, and what a command changed. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { reverseEntry } from '../src/ledger/ledger.operations.js';
import { asOwner } from '../src/platform/database/open.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const post = async (path: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(201)).body;
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
const patch = async (path: string, body: Json, version: number): Promise<Json> =>
  (await shop.rest('owner', 'patch', path, body, { version }).expect(200)).body;
const changesOf = async (subjectId: string, operation: string): Promise<Json[]> =>
  (await get(`/audit-entries?subjectId=${subjectId}`)).items.find((one: Json) => one.operation === operation).changes;

describe('the audit', () => {
  it('says of a change which fields it changed, before and after, with all digits', async () => {
    const made = await post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-01', price: '40.00' });
    expect(await changesOf(made.id, 'createAcquisition')).toEqual([]);
    await patch(`/acquisitions/${made.id}`, { price: '45.10', seller: 'A yard' }, 1);
    const field = (name: string, before: string | null, after: string | null) => ({
      record: 'Acquisition',
      recordId: made.id,
      field: name,
      before,
      after,
    });
    expect(await changesOf(made.id, 'changeAcquisition')).toEqual([
      field('price', '40.0000', '45.1000'),
      field('seller', null, 'A yard'),
    ]);
    const { data } = await shop.graphql(
      'owner',
      `{ auditEntries(subjectId: "${made.id}") { edges { node { operation changes { field before after } } } } }`,
    );
    expect(data.auditEntries.edges[0].node).toEqual({
      operation: 'changeAcquisition',
      changes: [
        { field: 'price', before: '40.0000', after: '45.1000' },
        { field: 'seller', before: null, after: 'A yard' },
      ],
    });
  });

  it('says what else a command changed, and what came and went of a list', async () => {
    const part = await makePart(shop, {
      name: 'Idler',
      family: 'pulley',
      makerNumbers: [{ maker: 'Norvane', number: 'N-1' }],
    });
    await patch(`/parts/${part.id}`, { makerNumbers: [{ maker: 'Norvane', number: 'N-2' }] }, 1);
    const numbers = (await changesOf(part.id, 'changePart')).filter(({ field }) => field === 'number');
    expect(numbers.map(({ record, before, after }) => [record, before, after]).sort()).toEqual([
      ['MakerNumber', null, 'N-2'],
      ['MakerNumber', 'N-1', null],
    ]);
  });

  it('tells no secret, and nobody but the owner anything', async () => {
    const key = await post('/access-keys', { name: 'Bench', role: 'helper' });
    await shop.rest('owner', 'delete', `/access-keys/${key.id}`, undefined, { version: 1 }).expect(200);
    const fields = (await changesOf(key.id, 'archiveAccessKey')).map(({ field }) => field);
    expect(fields).toEqual(['archivedAt']);
    await shop.rest('reader', 'get', '/audit-entries').expect(403);
    await shop.rest('helper', 'get', '/audit-entries').expect(403);
  });

  it('writes nothing of what was refused, and is never changed', async () => {
    const made = await post('/suppliers', { name: 'Skell Parts' });
    await shop.rest('owner', 'patch', `/suppliers/${made.id}`, { name: 'Skell' }, { version: 7 }).expect(412);
    expect((await get(`/audit-entries?subjectId=${made.id}`)).items).toHaveLength(1);
    await expect(shop.within((context) => context.tx.auditChange.deleteMany())).rejects.toThrow('never changed');
  });
});

describe("makers' numbers", () => {
  it('are found by any piece, with or without dashes and blanks; wildcards are no wildcards', async () => {
    const part = await makePart(shop, {
      name: 'Carrier',
      family: 'bearing',
      makerNumbers: [
        { maker: 'Pikestone', number: 'KS-99120' },
        { maker: 'Norvane', number: '7712 A' },
      ],
    });
    for (const search of ['KS-99', 'ks99', '99120', '9 9-1', '12a'])
      expect((await get(`/parts?search=${encodeURIComponent(search)}`)).items.map((one: Json) => one.id)).toEqual([
        part.id,
      ]);
    for (const search of ['KS%120', 'k_99', '%', '--'])
      expect((await get(`/parts?search=${encodeURIComponent(search)}`)).items).toEqual([]);
    expect(part.makerNumbers.map((one: Json) => one.number)).toEqual(['KS-99120', '7712 A']);
  });

  it('stand in an index that a search uses', async () => {
    // As the tables' owner, whom the search runs as.
    const plan = await asOwner(
      shop.adminUrl,
      () => {},
      async (pool) => {
        await pool.query('set enable_seqscan = off');
        return pool.query(`explain select "partId" from "MakerNumber" where plain_number(number) like '%ks99%'`);
      },
    );
    expect(JSON.stringify(plan.rows)).toContain('maker_number_plain');
  });
});

describe('a list kept as rows', () => {
  const can = {
    name: 'Grey primer',
    family: 'alkyd',
    role: 'primer',
    volumeSolidsPercent: 50,
    dryFilmMicrometres: 50,
    minCelsius: 8,
    maxCelsius: 32,
    touchMinutes: 60,
    handleMinutes: 360,
    assembleMinutes: 4320,
    fullMinutes: 14400,
    containerLitres: 1,
    containerPrice: '40.00',
  };
  const windows = [{ fromMinutes: 15, toMinutes: 60 }, { fromMinutes: 2880 }];

  it('is given back in its order, and replaced as a whole: recoat windows', async () => {
    const made = await post('/coating-products', { ...can, recoatMinutes: windows });
    const shown = [windows[0], { fromMinutes: 2880, toMinutes: null }];
    expect(made.recoatMinutes).toEqual(shown);
    expect((await patch(`/coating-products/${made.id}`, { name: 'Grey' }, 1)).recoatMinutes).toEqual(shown);
    const changed = await patch(`/coating-products/${made.id}`, { recoatMinutes: [{ fromMinutes: 30 }] }, 2);
    expect(changed.recoatMinutes).toEqual([{ fromMinutes: 30, toMinutes: null }]);
    // The database itself keeps them in order and apart.
    const write = (fromMinutes: number, toMinutes: number | null) =>
      shop.within((context) =>
        context.tx.recoatWindow.create({
          data: { shopId: context.shop.id, productId: made.id, fromMinutes, toMinutes },
        }),
      );
    await expect(write(10, 30)).rejects.toThrow();
    await expect(write(10, 5)).rejects.toThrow();
    await write(10, 29);
  });

  it("is given back in its order, and replaced as a whole: a route's tasks", async () => {
    const task = (code: string, after: Json[] = []) => ({
      code,
      name: code,
      kind: 'service',
      handsOnMinutes: 60,
      minMinutes: 30,
      maxMinutes: 90,
      after,
    });
    const gap = { fromMinutes: 60, toMinutes: 2880 };
    const route = await post('/routes', {
      name: 'Short',
      machineKind: 'other',
      tasks: [task('b'), task('a', [{ code: 'b', minWaitMinutes: 5, forbiddenIntervals: [gap], reason: 'dry' }])],
    });
    expect(route.tasks.map((one: Json) => one.code)).toEqual(['b', 'a']);
    expect(route.tasks[1].after).toEqual([{ code: 'b', minWaitMinutes: 5, forbiddenIntervals: [gap], reason: 'dry' }]);
    expect(await get(`/routes/${route.id}`)).toEqual(route);
    const changed = await patch(`/routes/${route.id}`, { tasks: [task('c'), task('b', [{ code: 'c' }])] }, 1);
    expect(changed.tasks.map((one: Json) => [one.code, one.after.length])).toEqual([
      ['c', 0],
      ['b', 1],
    ]);
    const machine = await post('/machines', { kind: 'other', maker: 'Norvane', model: 'N-9' });
    const job = await post('/jobs', { machineId: machine.id, routeId: route.id });
    const tasks = (await get(`/tasks?jobId=${job.id}&sort=position`)).items;
    expect(tasks.map((one: Json) => [one.code, one.position, one.predecessors.length])).toEqual([
      ['c', 1, 0],
      ['b', 2, 1],
    ]);
  });
});

describe('what booked an amount', () => {
  it('is one record that exists, and of the kind that books such amounts', async () => {
    const { job, task } = await makeTask(shop, 'Fit');
    const part = await makePart(shop, { name: 'Bolt', family: 'fastener' });
    const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1 });
    const write = (fields: Json) =>
      shop.within((context) =>
        context.tx.ledgerEntry.create({
          data: {
            shopId: context.shop.id,
            jobId: job.id,
            kind: 'part',
            amount: '1',
            occurredDate: new Date('2026-09-15'),
            description: 'x',
            ...fields,
          },
        }),
      );
    await write({ partNeedId: need.id });
    await expect(write({ partNeedId: task.id })).rejects.toThrow();
    await expect(write({ partNeedId: need.id, taskId: task.id })).rejects.toThrow('a value is outside what is allowed');
    await expect(write({ partNeedId: need.id, kind: 'selling' })).rejects.toThrow('a value is outside what is allowed');
  });

  it('is written anew where a refund changes the cost, unless the owner had reversed it', async () => {
    const { task } = await makeTask(shop, 'Fit starters');
    const supplier = await post('/suppliers', { name: 'Hollins Mill' });
    const part = await makePart(shop, { name: 'Starter', family: 'starter' });
    const needs: Json[] = [];
    for (let n = 0; n < 2; n += 1)
      needs.push((await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1 })).need);
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      lines: [
        {
          partId: part.id,
          quantity: 2,
          unitPrice: '10.00',
          coreCharge: '2.00',
          partNeedIds: needs.map(({ id }) => id),
        },
      ],
    });
    await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 2, bin: 'B7' });
    for (const { id } of needs) {
      const { version } = await get(`/part-needs/${id}`);
      await shop.rest('owner', 'post', `/part-needs/${id}/use`, {}, { version }).expect(200);
    }
    const entriesOf = async (partNeedId: string) =>
      (
        await shop.within((context) =>
          context.tx.ledgerEntry.findMany({ where: { partNeedId }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] }),
        )
      ).map((entry) => entry.amount.toFixed(2));
    const ids = needs.map(({ id }) => id as string).sort();
    await shop.within(async (context) => {
      const entry = await context.tx.ledgerEntry.findFirstOrThrow({ where: { partNeedId: ids[0]! } });
      await reverseEntry(context, entry.id, 'given to a neighbour');
    });
    // Both cores sent in: 4.00 for two, so each costs 10.00 and not 12.00.
    await post(`/order-lines/${lines[0].id}/core-returns`, { quantity: 2, supplierRefund: '4.00' });
    expect(await entriesOf(ids[0]!)).toEqual(['12.00', '-12.00']);
    expect(await entriesOf(ids[1]!)).toEqual(['12.00', '-12.00', '10.00']);
  });
});
