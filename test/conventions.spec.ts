/**
 * What holds for every operation alike, tried on a few. Sources: RFC 9457 (problem details), RFC 9110 §13 (conditional
 * requests), RFC 6585 §3 (428), the Idempotency-Key draft of the IETF HTTP API group (2025), RFC 8288 (Link), the GraphQL
 * Cursor Connections specification.
 */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const acquisition = {
  source: 'classified',
  acquiredDate: '2026-09-01',
  price: '85.00',
  haulKilometres: 30,
  seller: 'A neighbour',
};
const add = async (changes: Json = {}): Promise<Json> =>
  (await shop.rest('owner', 'post', '/acquisitions', { ...acquisition, ...changes }).expect(201)).body;

describe('one operation, both transports', () => {
  it('creates, reads, lists, changes and archives over REST', async () => {
    const made = await shop.rest('owner', 'post', '/acquisitions', acquisition).expect(201);
    // 30 km at 0.40 a kilometre.
    expect(made.body).toMatchObject({ price: '85.00', haulCost: '12.00', splitMethod: 'byValue', version: 1 });
    expect(made.headers.location).toBe(`/v1/acquisitions/${made.body.id}`);
    const read = await shop.rest('reader', 'get', `/acquisitions/${made.body.id}`).expect(200);
    expect(read.body).toEqual(made.body);
    const changed = await shop
      .rest('owner', 'patch', `/acquisitions/${made.body.id}`, { seller: 'An estate' }, { version: read.headers.etag! })
      .expect(200);
    expect(changed.body).toMatchObject({ seller: 'An estate', version: 2, price: '85.00' });
    await shop.rest('owner', 'delete', `/acquisitions/${made.body.id}`, undefined, { version: 2 }).expect(200);
    const status = (await shop.rest('owner', 'get', '/acquisitions')).body.items as Json[];
    expect(status.map((one) => one.id)).not.toContain(made.body.id);
    const all = (await shop.rest('owner', 'get', '/acquisitions?includeArchived=true')).body.items as Json[];
    expect(all.map((one) => one.id)).toContain(made.body.id);
    await shop.rest('owner', 'patch', `/acquisitions/${made.body.id}`, { seller: 'X' }, { version: 3 }).expect(409);
  });

  it('does the same over GraphQL', async () => {
    const made = await shop.graphql(
      'owner',
      'mutation ($input: CreateAcquisitionInput!) { createAcquisition(input: $input) { id price version machines { id } } }',
      { input: acquisition },
    );
    expect(made.errors).toBeUndefined();
    expect(made.data.createAcquisition).toMatchObject({ price: '85.00', version: 1, machines: [] });
    const { id } = made.data.createAcquisition;
    const changed = await shop.graphql(
      'owner',
      'mutation ($input: ChangeAcquisitionInput!) { changeAcquisition(input: $input) { seller version } }',
      { input: { id, version: 1, seller: 'An estate' } },
    );
    expect(changed.data.changeAcquisition).toEqual({ seller: 'An estate', version: 2 });
    const outdated = await shop.graphql(
      'owner',
      'mutation ($input: ChangeAcquisitionInput!) { changeAcquisition(input: $input) { seller } }',
      { input: { id, version: 1, seller: 'Nobody' } },
    );
    expect(outdated.errors?.[0].extensions).toMatchObject({ code: 'outdated', status: 412, currentVersion: 2 });
    const read = await shop.graphql('reader', 'query ($id: ID!) { acquisition(id: $id) { seller } }', { id });
    expect(read.data.acquisition).toEqual({ seller: 'An estate' });
  });
});

describe('problem details', () => {
  it('name every fault with its place', async () => {
    const reply = await shop
      .rest('owner', 'post', '/acquisitions', { source: 'theft', acquiredDate: '2026-02-30', price: 85, unknown: 1 })
      .expect(422);
    expect(reply.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect(reply.body).toMatchObject({
      type: 'urn:frostwright:problem:invalid-input',
      status: 422,
      instance: '/v1/acquisitions',
    });
    expect(reply.body.errors.map((one: Json) => one.pointer).sort()).toEqual([
      '/acquiredDate',
      '/price',
      '/source',
      '/unknown',
    ]);
  });

  it('say what is wrong in plain words, each at its place', async () => {
    const words = async (path: string, body: Json): Promise<Json> => {
      const reply = await shop.rest('owner', 'post', path, body).expect(422);
      return Object.fromEntries(reply.body.errors.map((one: Json) => [one.pointer, one.detail]));
    };
    expect(
      await words('/acquisitions', { source: 'theft', acquiredDate: 20260901, haulKilometres: 'far', machines: {} }),
    ).toEqual({
      '/source': 'must be one of classified, auction, donation, tradeIn, dealer, other',
      '/acquiredDate': 'must be a day such as 2026-04-30',
      '/price': 'is missing',
      '/haulKilometres': 'must be a number',
      '/machines': expect.stringMatching(/^there is no field "machines"/),
    });
    expect(
      await words('/people', {
        name: 'x'.repeat(81),
        weeklyHours: [
          { weekday: 8, opens: '09:00' },
          { weekday: 0.5, opens: '09:00', closes: '10:00' },
        ],
      }),
    ).toEqual({
      '/name': 'must have at most 80 characters',
      '/weeklyHours/0/weekday': 'must be at most 7',
      '/weeklyHours/0/closes': 'is missing',
      '/weeklyHours/1/weekday': expect.stringMatching(/^must be a whole number|^must be at least 1/),
    });
    expect(await words('/acquisitions', { acquiredDate: '2026-09-01', price: '1.00' })).toEqual({
      '/source': 'is missing; it must be one of classified, auction, donation, tradeIn, dealer, other',
    });
    expect(await words('/people', {})).toEqual({ '/name': 'is missing', '/weeklyHours': 'is missing' });
    expect(await words('/acquisitions', { ...acquisition, price: '100000000000.00' })).toEqual({
      '/price': 'is too large: an amount has at most 11 digits before the point',
    });
    expect(await words('/acquisitions', { ...acquisition, price: '$85' })).toEqual({
      '/price': 'must be digits with at most one point, such as "129.95": no currency sign, no separators',
    });
    expect(await words('/acquisitions', { ...acquisition, price: 85 })).toEqual({
      '/price': 'must be an amount as text, such as "129.95"',
    });
    const list = await shop.rest('owner', 'get', '/acquisitions?first=500').expect(422);
    expect(list.body.errors).toEqual([{ pointer: '/first', detail: 'must be at most 200' }]);
    const reply = await shop.graphql('owner', '{ acquisitions(first: 500) { edges { cursor } } }');
    expect(reply.errors?.[0].extensions.errors).toEqual(list.body.errors);
  });

  it('name the field that was meant, or those there are', async () => {
    const told = async (body: Json) => (await shop.rest('owner', 'post', '/people', body).expect(422)).body.errors;
    expect(await told({ name: 'Ola', weekly_hours: [], weeklyHours: [] })).toEqual([
      { pointer: '/weekly_hours', detail: 'there is no field "weekly_hours"; there is "weeklyHours"' },
    ]);
    expect(
      await told({ name: 'Ola', weeklyHours: [{ weekday: 1, open: '09:00', opens: '09:00', closes: '17:00' }] }),
    ).toEqual([{ pointer: '/weeklyHours/0/open', detail: 'there is no field "open"; there is "opens"' }]);
    expect(await told({ name: 'Ola', weeklyHours: [], '~tidy/': 1 })).toEqual([
      { pointer: '/~0tidy~1', detail: 'there is no field "~tidy/"; there are name, weeklyHours, taskKinds' },
    ]);
  });

  it.each([
    ['a body that is no JSON', '{"source":', 400],
    ['a body that is a list', '[]', 400],
    ['a body that is a number', '7', 400],
  ])('%s is unreadable', async (_name, body, status) => {
    const reply = await shop.rest('owner', 'post', '/acquisitions').set('Content-Type', 'application/json').send(body);
    expect(reply.status).toBe(status);
    expect(reply.body.status).toBe(status);
  });

  it('an unknown address, an unknown id, a bad id', async () => {
    expect((await shop.rest('owner', 'get', '/no-such-thing')).body).toMatchObject({
      status: 404,
      type: 'urn:frostwright:problem:no-such-address',
    });
    expect((await shop.rest('owner', 'get', '/acquisitions/0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11')).body).toMatchObject({
      status: 404,
      type: 'urn:frostwright:problem:not-found',
    });
    expect((await shop.rest('owner', 'get', '/acquisitions/7')).body).toMatchObject({ status: 422 });
  });

  it('an amount with more decimals than the currency has is refused with its place', async () => {
    const reply = await shop.rest('owner', 'post', '/acquisitions', { ...acquisition, price: '85.001' }).expect(422);
    expect(reply.body.errors[0].pointer).toBe('/price');
  });

  it('a body over the limit is refused, and one of another kind', async () => {
    await shop.rest('owner', 'post', '/acquisitions', { ...acquisition, notes: 'x'.repeat(1_200_000) }).expect(413);
    const reply = await shop.rest('owner', 'post', '/acquisitions').set('Content-Type', 'text/plain').send('price=1');
    expect(reply.status).toBeGreaterThanOrEqual(400);
    expect(reply.status).toBeLessThan(500);
  });
});

describe('conditional requests', () => {
  it('428 without If-Match, 412 with an old or a weak one, 400 with one that names nothing', async () => {
    const { id } = await add();
    const change = (sent: Json) => shop.rest('owner', 'patch', `/acquisitions/${id}`, { seller: 'B' }, sent);
    expect((await change({})).status).toBe(428);
    expect((await change({ version: '"1", "7"' })).status).toBe(200);
    expect((await change({ version: 1 })).body).toMatchObject({ status: 412, currentVersion: 2 });
    // Weak tags never match strongly: RFC 9110, 8.8.3.2.
    expect((await change({ version: 'W/"2"' })).status).toBe(412);
    expect((await change({ version: '2' })).status).toBe(400);
    expect((await change({ version: '*' })).status).toBe(400);
    expect((await change({ version: 2 })).status).toBe(200);
  });

  it('304 when nothing has changed', async () => {
    const { id } = await add();
    const first = await shop.rest('owner', 'get', `/acquisitions/${id}`);
    const again = await shop.rest('owner', 'get', `/acquisitions/${id}`, undefined, {
      headers: { 'If-None-Match': first.headers.etag! },
    });
    expect(again.status).toBe(304);
    await shop.rest('owner', 'patch', `/acquisitions/${id}`, { seller: 'C' }, { version: 1 }).expect(200);
    expect(
      (
        await shop.rest('owner', 'get', `/acquisitions/${id}`, undefined, {
          headers: { 'If-None-Match': first.headers.etag! },
        })
      ).status,
    ).toBe(200);
  });
});

describe('idempotency', () => {
  it('same key and body give the same reply once recorded; another body is refused; no key is refused', async () => {
    const first = await shop.rest('owner', 'post', '/acquisitions', acquisition, { idempotencyKey: 'one' }).expect(201);
    const again = await shop
      .rest('owner', 'post', '/acquisitions', acquisition, { idempotencyKey: '"one"' })
      .expect(201);
    expect(again.body).toEqual(first.body);
    expect(again.headers['idempotency-replayed']).toBe('true');
    const other = await shop
      .rest('owner', 'post', '/acquisitions', { ...acquisition, price: '1.00' }, { idempotencyKey: 'one' })
      .expect(422);
    expect(other.body.type).toBe('urn:frostwright:problem:idempotency-key-reused');
    const none = await shop.rest('owner', 'post', '/acquisitions', acquisition, { idempotencyKey: null }).expect(400);
    expect(none.body.type).toBe('urn:frostwright:problem:idempotency-key-needed');
  });

  it('twenty at once record one; the others get its reply or are told to wait', async () => {
    const before = await shop.database.withShop(shop.shopId, (tx) => tx.acquisition.count());
    const replies = await Promise.all(
      Array.from({ length: 20 }, () =>
        shop.rest('owner', 'post', '/acquisitions', acquisition, { idempotencyKey: 'rush' }),
      ),
    );
    expect([...new Set(replies.map((one) => one.status))].every((status) => status === 201 || status === 409)).toBe(
      true,
    );
    expect(new Set(replies.filter((one) => one.status === 201).map((one) => one.body.id)).size).toBe(1);
    expect(await shop.database.withShop(shop.shopId, (tx) => tx.acquisition.count())).toBe(before + 1);
  });

  it('a new key is told once and is nowhere kept', async () => {
    const made = await shop
      .rest('owner', 'post', '/access-keys', { name: 'Van', role: 'helper' }, { idempotencyKey: 'van' })
      .expect(201);
    expect(made.body.key).toMatch(/^fw_[0-9a-f]{12}_/);
    const again = await shop
      .rest('owner', 'post', '/access-keys', { name: 'Van', role: 'helper' }, { idempotencyKey: 'van' })
      .expect(409);
    expect(JSON.stringify(again.body)).not.toContain(made.body.key);
    const stored = await shop.database.withShop(shop.shopId, (tx) => tx.idempotentReply.findMany());
    expect(JSON.stringify(stored)).not.toContain(made.body.key.slice('fw_0123456789ab_'.length));
  });

  it('serves GraphQL too', async () => {
    const mutation =
      'mutation ($input: CreateAcquisitionInput!) { createAcquisition(input: $input, idempotencyKey: "g") { id } }';
    const first = await shop.graphql('owner', mutation, { input: acquisition });
    const again = await shop.graphql('owner', mutation, { input: acquisition });
    expect(again.data).toEqual(first.data);
  });
});

describe('pages', () => {
  let prices: string[];
  beforeAll(async () => {
    for (let index = 1; index <= 7; index += 1)
      await add({ source: 'auction', acquiredDate: `2026-08-0${(index % 3) + 1}`, price: `${index}.00` });
    prices = (await shop.rest('owner', 'get', '/acquisitions?source=auction&sort=acquiredDate')).body.items.map(
      (one: Json) => one.price,
    );
    expect(prices).toHaveLength(7);
  });

  it('follow the Link header to the end and back', async () => {
    const seen: string[] = [];
    let path = '/v1/acquisitions?source=auction&sort=acquiredDate&first=3';
    const linkTo = (header: string, rel: string) => new RegExp(`<([^>]+)>; rel="${rel}"`).exec(header)?.[1];
    let last = path;
    for (let guard = 0; path && guard < 10; guard += 1) {
      const page = await shop.rest('owner', 'get', path).expect(200);
      seen.push(...page.body.items.map((one: Json) => one.price));
      last = path;
      path = linkTo(page.headers.link!, 'next') ?? '';
      expect(page.body.pageInfo.hasNextPage).toBe(path !== '');
    }
    expect(seen).toEqual(prices);
    const end = await shop.rest('owner', 'get', last);
    const back = await shop.rest('owner', 'get', linkTo(end.headers.link!, 'prev')!);
    expect(back.body.items.map((one: Json) => one.price)).toEqual(prices.slice(3, 6));
  });

  // The cases of the Cursor Connections algorithm, on seven rows instead of ten.
  it.each([
    ['first: 3', [0, 1, 2], true, false],
    ['first: 3, after: $c2', [3, 4, 5], true, true],
    ['first: 3, after: $c4', [5, 6], false, true],
    ['last: 3', [4, 5, 6], false, true],
    ['last: 3, before: $c4', [1, 2, 3], true, true],
    ['first: 0', [], true, false],
    ['first: 4, last: 2', [2, 3], true, true],
  ])('connection with %s', async (args, expected, hasNextPage, hasPreviousPage) => {
    const all = await shop.graphql(
      'owner',
      '{ acquisitions(source: auction, sort: "acquiredDate") { edges { cursor } } }',
    );
    const cursors = all.data.acquisitions.edges.map((edge: Json) => edge.cursor);
    const filled = args.replace(/\$c(\d)/g, (_, index) => JSON.stringify(cursors[Number(index)]));
    const page = await shop.graphql(
      'owner',
      `{ acquisitions(source: auction, sort: "acquiredDate", ${filled}) { edges ` +
        `{ node { price } } pageInfo { hasNextPage hasPreviousPage } } }`,
    );
    expect(page.errors).toBeUndefined();
    expect(page.data.acquisitions.edges.map((edge: Json) => edge.node.price)).toEqual(
      expected.map((index) => prices[index]),
    );
    expect(page.data.acquisitions.pageInfo).toEqual({ hasNextPage, hasPreviousPage });
  });

  it('a negative size, one beyond the most, and a cursor of another list are refused', async () => {
    expect((await shop.rest('owner', 'get', '/acquisitions?first=-1')).status).toBe(422);
    expect((await shop.rest('owner', 'get', '/acquisitions?first=100000')).status).toBe(422);
    expect((await shop.rest('owner', 'get', '/acquisitions?after=nonsense')).status).toBe(400);
    const machines = Buffer.from(JSON.stringify(['maker', 'X', '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11'])).toString(
      'base64url',
    );
    expect((await shop.rest('owner', 'get', `/acquisitions?after=${machines}`)).status).toBe(400);
  });

  it('a cursor of the same list in the other order is refused', async () => {
    const { endCursor } = (await shop.rest('owner', 'get', '/acquisitions?sort=-acquiredDate&first=2').expect(200)).body
      .pageInfo;
    await shop.rest('owner', 'get', `/acquisitions?sort=-acquiredDate&after=${endCursor}`).expect(200);
    const turned = await shop.rest('owner', 'get', `/acquisitions?sort=acquiredDate&after=${endCursor}`);
    expect([turned.status, turned.body.type]).toEqual([400, 'urn:frostwright:problem:bad-cursor']);
  });
});

describe('access', () => {
  it('no key, a wrong key, a archived key: 401 with a challenge', async () => {
    const made = (await shop.rest('owner', 'post', '/access-keys', { name: 'Lost', role: 'reader' })).body;
    const use = (key: string) =>
      shop.rest('owner', 'get', '/acquisitions', undefined, { headers: { Authorization: `Bearer ${key}` } });
    expect((await use(made.key)).status).toBe(200);
    const listed = (await shop.rest('owner', 'get', '/access-keys')).body.items.find((one: Json) => one.id === made.id);
    await shop.rest('owner', 'delete', `/access-keys/${made.id}`, undefined, { version: listed.version }).expect(200);
    const refused = await use(made.key);
    expect(refused.status).toBe(401);
    expect(refused.headers['www-authenticate']).toMatch(/^Bearer/);
    expect((await use(`${made.key.slice(0, -1)}${made.key.endsWith('A') ? 'B' : 'A'}`)).status).toBe(401);
    expect((await use('nonsense')).status).toBe(401);
    expect((await use('')).status).toBe(401);
  });

  it('a helper sees no prices and no keys, and may not buy; a reader sees but does not touch', async () => {
    const { id } = await add();
    expect((await shop.rest('helper', 'get', `/acquisitions/${id}`)).body).toMatchObject({
      price: null,
      haulCost: null,
      seller: 'A neighbour',
    });
    expect((await shop.graphql('helper', `{ acquisition(id: "${id}") { price } }`)).data.acquisition.price).toBeNull();
    expect((await shop.rest('helper', 'post', '/acquisitions', acquisition)).status).toBe(403);
    expect((await shop.rest('helper', 'get', '/access-keys')).status).toBe(403);
    expect((await shop.rest('helper', 'get', '/shop')).status).toBe(403);
    expect((await shop.rest('reader', 'get', `/acquisitions/${id}`)).body.price).toBe('85.00');
    expect((await shop.rest('reader', 'patch', `/acquisitions/${id}`, { seller: 'R' }, { version: 1 })).status).toBe(
      403,
    );
    expect((await shop.rest('reader', 'get', '/access-keys')).status).toBe(403);
    expect(
      (await shop.graphql('reader', 'mutation { createPerson(input: {name: "A", weeklyHours: []}) { id } }'))
        .errors?.[0].extensions.code,
    ).toBe('not-allowed');
  });

  it("another shop's records do not exist here", async () => {
    const { id } = await add();
    const other = await shop.anotherShop();
    const theirs = { headers: { Authorization: `Bearer ${other.keys.owner}` } };
    expect((await shop.rest('owner', 'get', `/acquisitions/${id}`, undefined, theirs)).status).toBe(404);
    expect(
      (await shop.rest('owner', 'patch', `/acquisitions/${id}`, { seller: 'T' }, { version: 1, ...theirs })).status,
    ).toBe(404);
    expect((await shop.rest('owner', 'get', '/acquisitions', undefined, theirs)).body.items).toEqual([]);
    const machine = { kind: 'other', maker: 'Norvane', model: 'Drift 20', acquisitionId: id };
    expect((await shop.rest('owner', 'post', '/machines', machine, theirs)).status).toBe(404);
    // The database itself: a row of ours that points into another shop, written past every check of the program.
    await expect(
      shop.database.withShop(other.shopId, (tx) =>
        tx.machine.create({
          data: {
            shopId: other.shopId,
            acquisitionId: id,
            kind: 'other',
            maker: 'N',
            model: 'D',
            acquisitionShare: '0',
          },
        }),
      ),
    ).rejects.toThrow();
    await expect(shop.database.withShop(other.shopId, (tx) => tx.acquisition.count())).resolves.toBe(0);
    await expect(shop.database.withoutShop((tx) => tx.acquisition.count())).resolves.toBe(0);
  });

  it('the last owner key cannot be archived', async () => {
    const keys = (await shop.rest('owner', 'get', '/access-keys?role=owner')).body.items;
    expect(keys).toHaveLength(1);
    expect(
      (await shop.rest('owner', 'delete', `/access-keys/${keys[0].id}`, undefined, { version: keys[0].version }))
        .status,
    ).toBe(409);
  });

  it('every command leaves an audit entry', async () => {
    const made = await add();
    const entries = (await shop.rest('owner', 'get', `/audit-entries?subjectId=${made.id}`)).body.items;
    expect(entries).toHaveLength(1);
    expect(entries[0]).toMatchObject({ operation: 'createAcquisition', subjectId: made.id });
  });
});

describe('limits of one GraphQL request', () => {
  it('too deep', async () => {
    const deep = (levels: number): string => (levels === 0 ? 'id' : `machines { acquisition { ${deep(levels - 1)} } }`);
    const reply = await shop.graphql('owner', `{ acquisitions { edges { node { ${deep(6)} } } } }`);
    expect(reply.errors?.[0].extensions.code).toBe('too-deep');
  });

  it('too costly', async () => {
    const reply = await shop.graphql(
      'owner',
      '{ acquisitions(first: 200) { edges { node { machines { acquisition { machines { id maker model } } } } } } }',
    );
    expect(reply.errors?.[0].extensions.code).toBe('too-costly');
  });

  it('a list and its relations cost a constant number of statements', async () => {
    const query = '{ acquisitions(first: 200) { edges { node { id machines { id acquisition { id } } } } } }';
    const count = async () =>
      (await shop.database.countStatements(() => shop.graphql('owner', query))).statements.length;
    const addMachines = async (machines: number) => {
      for (let index = 0; index < machines; index += 1) {
        const { id } = await add();
        await shop
          .rest('owner', 'post', '/machines', {
            kind: 'other',
            maker: 'Norvane',
            model: `Drift ${index}`,
            acquisitionId: id,
          })
          .expect(201);
      }
    };
    await addMachines(1);
    const few = await count();
    await addMachines(6);
    expect(await count()).toBe(few);
    expect(few).toBeLessThanOrEqual(12);
  });
});
