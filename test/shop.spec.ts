/** The shop's own settings and keys, and what every operation owes its caller whatever it is asked. */
import { execFile } from 'node:child_process';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import type { z } from 'zod';
import { demoSeason } from '../seed/demo-season.js';
import { areas } from '../src/app.module.js';
import { projectRoot } from '../src/platform/launch/root.js';
import { isPriced, scalarOf, unwrapSchema } from '../src/platform/shapes.js';
import { archiveKey } from '../src/shop/shop.operations.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop({
    currency: 'JPY',
    hourlyValue: '2000',
    spaceCostPerDay: '100',
    haulCostPerKilometre: '40',
  });
});
afterAll(() => shop.close());

const read = async () => (await shop.rest('owner', 'get', '/shop').expect(200)).body;
const change = async (fields: Json) =>
  shop.rest('owner', 'patch', '/shop', fields, { version: (await read()).version });

describe("the shop's settings", () => {
  it('are changed over both transports', async () => {
    expect((await change({ hourlyValue: '2500' }).then((reply) => reply.body)).hourlyValue).toBe('2500');
    const { version } = await read();
    const reply = await shop.graphql(
      'owner',
      'mutation ($v: Int!) { changeShop(input: { version: $v, readinessMarginDays: 7 }) { readinessMarginDays currency } }',
      { v: version },
    );
    expect(reply.data.changeShop).toEqual({ readinessMarginDays: 7, currency: 'JPY' });
  });

  it('refuse a rate finer than the currency: a yen has no decimals', async () => {
    for (const key of ['hourlyValue', 'spaceCostPerDay', 'haulCostPerKilometre']) {
      const reply = await change({ [key]: '25.50' });
      expect([reply.status, reply.body.errors]).toEqual([422, [{ detail: expect.any(String), pointer: `/${key}` }]]);
    }
    expect((await read()).hourlyValue).toBe('2500');
  });

  it('take a whole amount with its zeros: 2500.00 is no finer than 2500', async () => {
    expect((await change({ hourlyValue: '2500.00' })).body.hourlyValue).toBe('2500');
    expect((await change({ hourlyValue: '2500.10' })).status).toBe(422);
  });

  it('have another currency until an amount is on record', async () => {
    const other = await shop.anotherShop();
    const own = shop.keys.owner;
    shop.keys.owner = other.keys.owner;
    try {
      expect((await change({ currency: 'EURO' })).body.errors).toEqual([
        { detail: 'must be a currency code of ISO 4217, such as CAD or EUR', pointer: '/currency' },
      ]);
      expect((await change({ currency: 'EUR', hourlyValue: '21.50' })).body).toMatchObject({
        currency: 'EUR',
        hourlyValue: '21.50',
        spaceCostPerDay: '100.00',
      });
      // 21.50 would be finer than a yen.
      expect((await change({ currency: 'JPY' })).body.errors[0].pointer).toBe('/hourlyValue');
      const reply = await shop.graphql(
        'owner',
        'mutation ($v: Int!) { changeShop(input: { version: $v, currency: "NOK" }) { currency } }',
        { v: (await read()).version },
      );
      expect(reply.data.changeShop).toEqual({ currency: 'NOK' });
      await shop
        .rest('owner', 'post', '/acquisitions', { source: 'donation', acquiredDate: '2026-09-01', price: '0.00' })
        .expect(201);
      const late = await change({ currency: 'EUR' });
      expect([late.status, late.body.type]).toEqual([409, 'urn:frostwright:problem:currency-in-use']);
      expect((await change({ currency: 'NOK', readinessMarginDays: 10 })).body.readinessMarginDays).toBe(10);
    } finally {
      shop.keys.owner = own;
    }
  });

  it("refuse a season's end that not every year has", async () => {
    for (const seasonEndMonthDay of ['02-29', '02-30', '04-31', '13-01'])
      expect((await change({ seasonEndMonthDay })).status).toBe(422);
    expect((await change({ seasonEndMonthDay: '02-28' })).status).toBe(200);
  });

  it('nor does the demo choose one, whichever day it is loaded', () => {
    // 77 days on is 6 November 2027, and 115 more is 29 February 2028.
    expect(demoSeason('2027-08-21')).toMatchObject({ firstSnow: '2027-11-06', seasonEndMonthDay: '02-28' });
  });

  it('refuse rates that no shop has, by which every figure would be too large to tell', async () => {
    expect((await change({ hourlyValue: '100000000' })).status).toBe(422);
    expect((await change({ spaceCostPerDay: '-1' })).status).toBe(422);
    for (const taxRatePercent of [-1, 100.1, 8.87501, '8']) expect((await change({ taxRatePercent })).status).toBe(422);
    expect((await change({ taxRatePercent: 8.875 })).body.taxRatePercent).toBe(8.875);
  });

  it('refuse hours that overlap, close before they open, or fall on no weekday', async () => {
    const period = (weekday: number, opens: string, closes: string) => ({ weekday, opens, closes });
    for (const openingHours of [
      [period(1, '09:00', '12:00'), period(1, '11:00', '13:00')],
      [period(1, '12:00', '09:00')],
      [period(8, '09:00', '12:00')],
    ]) {
      expect((await change({ openingHours })).status).toBe(422);
    }
  });

  it("are not a helper's to read, nor a reader's to change", async () => {
    await shop.rest('helper', 'get', '/shop').expect(403);
    await shop.rest('reader', 'patch', '/shop', { hourlyValue: '1' }, { version: 1 }).expect(403);
  });
});

describe('people, days off and places', () => {
  it('live their life: made, listed, changed, taken back', async () => {
    const person = (
      await shop
        .rest('owner', 'post', '/people', {
          name: 'Mira',
          weeklyHours: [{ weekday: 1, opens: '09:00', closes: '17:00' }],
        })
        .expect(201)
    ).body;
    const off = (
      await shop
        .rest('owner', 'post', '/days-off', { personId: person.id, startDate: '2026-10-01', endDate: '2026-10-03' })
        .expect(201)
    ).body;
    await shop
      .rest('owner', 'patch', `/days-off/${off.id}`, { endDate: '2026-09-30' }, { version: off.version })
      .expect(422);
    expect((await shop.rest('owner', 'get', `/days-off?personId=${person.id}`)).body.items).toHaveLength(1);
    await shop.rest('owner', 'delete', `/days-off/${off.id}`).expect(200);
    await shop.rest('owner', 'delete', `/days-off/${off.id}`).expect(404);
    await shop.rest('owner', 'delete', `/people/${person.id}`, undefined, { version: person.version }).expect(200);
    expect((await shop.rest('owner', 'get', '/people')).body.items).toEqual([]);
    expect((await shop.rest('owner', 'get', '/people?includeArchived=true')).body.items).toHaveLength(1);
    await shop.rest('owner', 'patch', `/people/${person.id}`, { name: 'Other' }, { version: 2 }).expect(409);
    await shop
      .rest('owner', 'post', '/days-off', { personId: person.id, startDate: '2026-10-01', endDate: '2026-10-03' })
      .expect(409);
  });

  it('a heated place needs its temperature and no other has one', async () => {
    const place = (fields: Json) =>
      shop.rest('owner', 'post', '/places', { name: 'Booth', kind: 'sprayArea', ...fields });
    await place({ shelter: 'heated' }).expect(422);
    await place({ shelter: 'outdoors', heatedToCelsius: 18 }).expect(422);
    expect((await place({ shelter: 'heated', heatedToCelsius: 18 }).expect(201)).body).toMatchObject({
      capacity: 1,
      heatedToCelsius: 18,
    });
  });

  it("another shop's person is nobody here", async () => {
    const other = await shop.anotherShop();
    const stranger = await shop.database.withShop(other.shopId, (tx) =>
      tx.person.create({ data: { shopId: other.shopId, name: 'Far away', weeklyHours: [] } }),
    );
    await shop
      .rest('owner', 'post', '/days-off', { personId: stranger.id, startDate: '2026-10-01', endDate: '2026-10-03' })
      .expect(404);
    await shop.rest('owner', 'get', `/people/${stranger.id}`).expect(404);
  });
});

describe('keys', () => {
  it("two owners who archive each other's key at once leave one", async () => {
    const second = (await shop.rest('owner', 'post', '/access-keys', { name: 'Second', role: 'owner' }).expect(201))
      .body;
    const owners = (await shop.rest('owner', 'get', '/access-keys?role=owner')).body.items;
    const statuses = await Promise.all(
      owners.map(
        async (key: Json) =>
          (await shop.rest('owner', 'delete', `/access-keys/${key.id}`, undefined, { version: key.version })).status,
      ),
    );
    // Whose turn comes second may have lost its key by then (401), or be the last one (409).
    expect(statuses.filter((status) => status === 200)).toHaveLength(1);
    const left = await shop.database.withShop(shop.shopId, (tx) =>
      tx.accessKey.findMany({ where: { role: 'owner', archivedAt: null } }),
    );
    expect(left).toHaveLength(1);
    // The tests go on with whichever is left.
    if (left[0]!.id === second.id) shop.keys.owner = second.key;
  });

  it('the prompt waits for another who archives a key, and leaves the last one too', async () => {
    const second = (await shop.rest('owner', 'post', '/access-keys', { name: 'Second', role: 'owner' }).expect(201))
      .body;
    const [last] = (await shop.rest('owner', 'get', '/access-keys?role=owner')).body.items.filter(
      (key: Json) => key.id !== second.id,
    );
    const { PATH = '', HOME = '' } = process.env;
    const command = [path.join(projectRoot, 'src/platform/launch/run.mjs'), 'keys', 'archive', last.publicId];
    const admin = new pg.Client({ connectionString: shop.adminUrl });
    await admin.connect();
    const isWaiting = async (): Promise<boolean> =>
      (
        await admin.query(
          `select from pg_stat_activity where wait_event_type = 'Lock' and datname = current_database()`,
        )
      ).rows.length > 0;
    let ended: { code: unknown; err: string } | undefined;
    // In another process, which finds two owner keys as long as this transaction lasts.
    await shop.database.withShop(shop.shopId, async (tx) => {
      await archiveKey(tx, second.id, second.version, shop.clock.now);
      execFile(
        process.execPath,
        command,
        { env: { PATH, HOME, DATABASE_URL: shop.adminUrl } },
        (error, _out, err) => (ended = { code: error?.code ?? 0, err }),
      );
      while (!ended && !(await isWaiting())) await new Promise((resolve) => setTimeout(resolve, 50));
    });
    while (!ended) await new Promise((resolve) => setTimeout(resolve, 50));
    await admin.end();
    expect(ended).toMatchObject({
      code: 1,
      err: expect.stringContaining('This is the last owner key; make another one before you archive it.'),
    });
    await shop.rest('owner', 'get', '/access-keys').expect(200);
  }, 30_000);

  it('one archived already is not archived again', async () => {
    const key = (await shop.rest('owner', 'post', '/access-keys', { name: 'Tobin', role: 'helper' }).expect(201)).body;
    await shop.rest('owner', 'delete', `/access-keys/${key.id}`, undefined, { version: 1 }).expect(200);
    await shop.rest('owner', 'delete', `/access-keys/${key.id}`, undefined, { version: 2 }).expect(409);
  });
});

describe('what a helper is shown', () => {
  it('holds no amount that is not hidden from helpers, in any reply of any operation they may call', () => {
    const bared: string[] = [];
    const walk = (schema: z.ZodType, path: string, above: z.ZodType[]): void => {
      const { inner, metas } = unwrapSchema(schema);
      if (isPriced(metas) || above.includes(inner)) return;
      if (scalarOf(metas) === 'Money') bared.push(path);
      const def = inner._zod.def as { shape?: Record<string, z.ZodType>; element?: z.ZodType };
      for (const [key, field] of Object.entries(def.shape ?? {})) walk(field, `${path}.${key}`, [...above, inner]);
      if (def.element) walk(def.element, path, [...above, inner]);
    };
    const reached = areas.flatMap((area) => [
      ...area.operations.filter(({ roles }) => roles.includes('helper')).map(({ output, name }) => ({ output, name })),
      ...(area.relations ?? [])
        .filter(({ roles }) => roles.includes('helper'))
        .map(({ to, on, field }) => ({ output: to, name: `${on}.${field}` })),
    ]);
    expect(reached.length).toBeGreaterThan(100);
    for (const { output, name } of reached) walk(output, name, []);
    expect(bared).toEqual([]);
  });

  it('is in no order of prices, whose cursors would hold them', async () => {
    await shop
      .rest('owner', 'post', '/comparables', {
        kind: 'other',
        maker: 'Norvane',
        condition: 4,
        priceKind: 'asking',
        price: '30000',
        seenDate: '2026-09-01',
      })
      .expect(201);
    for (const sort of ['price', '-price']) {
      await shop.rest('helper', 'get', `/comparables?sort=${sort}`).expect(403);
      expect(
        (await shop.graphql('helper', `{ comparables(sort: "${sort}") { edges { cursor } } }`)).errors?.[0].extensions
          .code,
      ).toBe('not-allowed');
    }
    expect((await shop.rest('helper', 'get', '/comparables').expect(200)).body.items[0].price).toBeNull();
    expect((await shop.rest('reader', 'get', '/comparables?sort=price').expect(200)).body.items[0].price).toBe('30000');
  });
});

describe('whatever is sent', () => {
  it('one query that fails leaves its siblings in GraphQL their answers', async () => {
    const reply = await shop.graphql(
      'owner',
      '{ shop { currency } job(id: "0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11") { number } people(after: "nonsense") { edges { cursor } } }',
    );
    expect(reply.data).toEqual({ shop: { currency: 'JPY' }, job: null, people: null });
    expect(reply.errors?.map((one) => [one.path[0], one.extensions.code]).sort()).toEqual([
      ['job', 'not-found'],
      ['people', 'bad-cursor'],
    ]);
  });

  it('names that every object has are no fields of a query', async () => {
    for (const key of ['constructor', 'toString', '__proto__', 'hasOwnProperty']) {
      const reply = await shop.rest('owner', 'get', `/jobs?${key}=1`);
      expect([key, reply.status]).toEqual([key, 422]);
      expect(reply.body.detail).toContain(key);
    }
    const body = await shop
      .rest('owner', 'post', '/people')
      .set('Content-Type', 'application/json')
      .send('{"name":"A","weeklyHours":[],"__proto__":{"role":"owner"}}');
    expect(body.status).toBe(422);
  });

  it('an address with a stray per cent sign is told as such', async () => {
    const reply = await shop.rest('owner', 'get', '/machines/%E0%A4%A');
    expect([reply.status, reply.body.type]).toEqual([400, 'urn:frostwright:problem:bad-address']);
  });

  it('a cursor made by hand is refused, never a fault', async () => {
    const id = '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11';
    for (const [path, column, value] of [
      ['machines', 'createdAt', 'abc'],
      ['machines', 'maker', 7],
      ['machines', 'maker', 'a\0'],
      ['jobs', 'number', 'one'],
      ['comparables', 'seenDate', '2026-09-01'],
      ['comparables', 'price', 'cheap'],
    ] as const) {
      const cursor = Buffer.from(JSON.stringify([column, value, id])).toString('base64url');
      const reply = await shop.rest('owner', 'get', `/${path}?sort=${column}&after=${cursor}`);
      expect([path, column, reply.status, reply.body.type]).toEqual([
        path,
        column,
        400,
        'urn:frostwright:problem:bad-cursor',
      ]);
    }
  });

  it('a key against repeats is held to one form by both transports', async () => {
    for (const key of ['', '\0', 'é', 'x'.repeat(201)]) {
      const reply = await shop.graphql(
        'owner',
        'mutation ($key: String) { createPerson(input: { name: "Ola", weeklyHours: [] }, idempotencyKey: $key) { id } }',
        { key },
      );
      expect([key, reply.errors?.[0].extensions.code]).toEqual([key, 'bad-idempotency-key']);
    }
    await shop
      .rest('owner', 'post', '/people', { name: 'Ola', weeklyHours: [] }, { idempotencyKey: 'x'.repeat(201) })
      .expect(400);
    expect((await shop.rest('owner', 'get', '/people')).body.items).toEqual([]);
  });

  it("a repeat has the first reply's entity tag, though its record was archived since", async () => {
    const send = () =>
      shop.rest('owner', 'post', '/people', { name: 'Ana', weeklyHours: [] }, { idempotencyKey: 'ana' });
    const first = await send().expect(201);
    await shop.rest('owner', 'delete', `/people/${first.body.id}`, undefined, { version: 1 }).expect(200);
    const again = await send().expect(201);
    // To the letter: its fields in the same order.
    expect(again.text).toBe(first.text);
    expect(again.headers.etag).toBe(first.headers.etag);
    expect(again.headers['idempotency-replayed']).toBe('true');
    // The same over GraphQL, with the key it was first sent with over REST.
    const reply = await shop.graphql(
      'owner',
      'mutation { createPerson(input: { name: "Ana", weeklyHours: [] }, idempotencyKey: "ana") { id } }',
    );
    expect(reply.data.createPerson.id).toBe(first.body.id);
  });

  it('two that wait for each other are both done: the database gives one up, and it is run again', async () => {
    const ids: string[] = [];
    for (const name of ['First', 'Second'])
      ids.push((await shop.rest('owner', 'post', '/people', { name, weeklyHours: [] }).expect(201)).body.id);
    let reached = 0;
    let attempts = 0;
    const rename = (order: string[], reason: string) =>
      shop.within(async ({ tx }) => {
        attempts += 1;
        await tx.person.update({ where: { id: order[0]! }, data: { name: `${reason} a` } });
        // Each goes on only once both hold their first: so each waits for what the other holds.
        reached += 1;
        while (reached < 2) await new Promise((resolve) => setTimeout(resolve, 5));
        await tx.person.update({ where: { id: order[1]! }, data: { name: `${reason} b` } });
      });
    await Promise.all([rename(ids, 'one'), rename([...ids].reverse(), 'other')]);
    expect(attempts).toBe(3);
  });

  it('a null in GraphQL stands for the default where there is one', async () => {
    const made = await shop.graphql(
      'owner',
      'mutation ($c: Int, $d: Disposition) { createMachine(input: { kind: other, maker: "Norvane", model: ' +
        '"N", condition: $c, disposition: $d, equipment: null }) { condition disposition equipment { name } } }',
      { c: null, d: null },
    );
    expect(made.data?.createMachine).toEqual({ condition: 2, disposition: 'sell', equipment: [] });
    // Where there is none it is a fault of the input.
    expect(
      (
        await shop.graphql(
          'owner',
          'mutation ($m: String!) { createMachine(input: { kind: other, maker: $m, model: "N" }) { id } }',
          { m: null },
        )
      ).errors,
    ).toHaveLength(1);
  });
});
