/**
 * Kits: what they consist of, taking them apart, and the needs of tasks for them. Amounts are worked out by hand beside
 * each check.
 */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

jest.setTimeout(60_000);
let shop: TestShop;
let kit: Json, gasket: Json, screw: Json, float: Json, stock: Json;
beforeAll(async () => {
  shop = await startTestShop();
  kit = await makePart(shop, { name: 'Carburettor kit', family: 'engine' });
  gasket = await makePart(shop, { name: 'Bowl gasket', family: 'engine' });
  screw = await makePart(shop, { name: 'Bowl screw', family: 'fastener' });
  float = await makePart(shop, { name: 'Float', family: 'engine' });
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string): Promise<Json> => (await shop.rest('owner', 'get', path).expect(200)).body;
const ask = async (query: string, variables: Json, role: 'owner' | 'helper' = 'owner'): Promise<Json> => {
  const { data, errors } = await shop.graphql(role, query, variables);
  expect(errors).toBeUndefined();
  return data;
};
const contents = () => [
  { partId: gasket.id, quantity: 1 },
  { partId: screw.id, quantity: 4 },
  { partId: float.id, quantity: 1 },
];
const bins = (values: (string | null)[] = []) =>
  [gasket, screw, float].map((part, index) => ({
    partId: part.id,
    bin: `K${index + 1}`,
    ...(values[index] ? { unitValue: values[index] } : {}),
  }));

describe('a kit', () => {
  it('consists of what it is said to, and nothing else', async () => {
    expect(await get(`/parts/${kit.id}/kit`)).toEqual({ partId: kit.id, version: 1, contents: [] });
    const set = await shop
      .rest('helper', 'put', `/parts/${kit.id}/kit`, { contents: contents() }, { version: 1 })
      .expect(200);
    expect(set.body).toEqual({
      partId: kit.id,
      version: 2,
      contents: [
        { partId: gasket.id, partName: 'Bowl gasket', quantity: 1 },
        { partId: screw.id, partName: 'Bowl screw', quantity: 4 },
        { partId: float.id, partName: 'Float', quantity: 1 },
      ],
    });
    await shop.rest('helper', 'put', `/parts/${kit.id}/kit`, { contents: [] }, { version: 1 }).expect(412);
    const { setKit } = await ask(
      'mutation ($input: SetKitInput!) { setKit(input: $input) { version contents { partName quantity } } }',
      { input: { id: kit.id, version: 2, contents: contents() } },
      'helper',
    );
    expect(setKit).toMatchObject({
      version: 3,
      contents: [
        { partName: 'Bowl gasket', quantity: 1 },
        { partName: 'Bowl screw', quantity: 4 },
        { partName: 'Float', quantity: 1 },
      ],
    });
    const { parts } = await ask('{ parts(first: 20) { edges { node { name kit { contents { partName } } } } } }', {});
    expect(
      Object.fromEntries(parts.edges.map(({ node }: Json) => [node.name, node.kit?.contents.length ?? null])),
    ).toEqual({ 'Carburettor kit': 3, 'Bowl gasket': null, 'Bowl screw': null, Float: null });
  });

  it('never holds itself, straight or by way of others', async () => {
    const big = await makePart(shop, { name: 'Engine kit', family: 'engine' });
    await shop
      .rest('owner', 'put', `/parts/${big.id}/kit`, { contents: [{ partId: kit.id, quantity: 1 }] }, { version: 1 })
      .expect(200);
    const { version } = await get(`/parts/${kit.id}`);
    const round = await shop
      .rest('owner', 'put', `/parts/${kit.id}/kit`, { contents: [{ partId: big.id, quantity: 1 }] }, { version })
      .expect(422);
    expect(round.body.errors).toEqual([
      {
        detail: 'the kit would hold itself: Carburettor kit → Engine kit → Carburettor kit',
        pointer: '/contents/0/partId',
      },
    ]);
    await shop
      .rest('owner', 'put', `/parts/${kit.id}/kit`, { contents: [{ partId: kit.id, quantity: 1 }] }, { version })
      .expect(422);
    await shop
      .rest('owner', 'put', `/parts/${kit.id}/kit`, { contents: [...contents(), contents()[0]] }, { version })
      .expect(422);
    await shop
      .rest('owner', 'put', `/parts/${kit.id}/kit`, { contents: [{ partId: shop.shopId, quantity: 1 }] }, { version })
      .expect(404);
    await shop.rest('reader', 'put', `/parts/${kit.id}/kit`, { contents: contents() }, { version }).expect(403);
    const held = await shop.rest('owner', 'delete', `/parts/${gasket.id}`, undefined, { version: 1 }).expect(409);
    expect(held.body.type).toMatch(/in-kit$/);
    expect((await get(`/parts/${kit.id}/kit`)).contents).toHaveLength(3);
  });
});

describe('unpacking', () => {
  it('splits what the kit cost over its parts, the same for each kind, to the cent', async () => {
    const supplier = await post('/suppliers', { name: 'Hollins Mill Order' });
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      shippingCost: '1.00',
      lines: [{ partId: kit.id, quantity: 3, unitPrice: '13.00' }],
    });
    ({ stock } = await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 3, bin: 'K0' }));
    expect(stock.unitCost).toBe('13.33');
    const one = await shop
      .rest('helper', 'post', `/stock/${stock.id}/unpack`, { quantity: 1, parts: bins() }, { version: stock.version })
      .expect(200);
    expect(one.body.stock).toMatchObject({ quantity: 2, unitCost: null });
    // 13.33 over three kinds: 444.33 cents each, the odd cent to the first; four screws of 4.44 are 1.11 each.
    const made = await Promise.all(one.body.parts.map((part: Json) => get(`/stock/${part.id}`)));
    expect(made.map((part) => [part.bin, part.quantity, part.unitCost, part.source])).toEqual([
      ['K1', 1, '4.45', 'bought'],
      ['K2', 4, '1.11', 'bought'],
      ['K3', 1, '4.44', 'bought'],
    ]);
    const { items } = await get(`/stock-movements?stockId=${stock.id}&reason=unpacked`);
    expect(items.map((move: Json) => move.change)).toEqual([-1]);
  });

  it('or by what the parts are worth (over GraphQL); all unpackings together move all of the cost', async () => {
    const now = await get(`/stock/${stock.id}`);
    const { unpackKit } = await ask(
      'mutation ($input: UnpackKitInput!) { unpackKit(input: $input) { stock { version quantity ' +
        '} parts { quantity unitCost bin } needs { id } effects { days } } }',
      { input: { id: stock.id, version: now.version, quantity: 1, parts: bins(['2.00', '0.50', '8.00']) } },
    );
    // Two kits cost 26.67, of which 13.33 are gone: 13.34 over 2 + 4 × 0.50 + 8 is 222.33, 222.33 and 889.33 cents,
    // the odd cent to the first; four screws of 2.22 are 0.555 each, shown to the cent.
    expect(unpackKit).toMatchObject({
      stock: { quantity: 1 },
      parts: [
        { quantity: 1, unitCost: '2.23' },
        { quantity: 4, unitCost: '0.56' },
        { quantity: 1, unitCost: '8.89' },
      ],
      needs: [],
      effects: [],
    });
    const last = await shop
      .rest(
        'owner',
        'post',
        `/stock/${stock.id}/unpack`,
        { quantity: 1, parts: bins(['0', '0', '1.00']) },
        { version: unpackKit.stock.version },
      )
      .expect(200);
    // 40.00 less 26.67.
    expect(last.body.parts.map((part: Json) => part.unitCost)).toEqual(['0.00', '0.00', '13.33']);
    const kept = await shop.within((context) =>
      context.tx.stock.findMany({ where: { bin: { in: ['K1', 'K2', 'K3'] } } }),
    );
    expect(
      kept.reduce((sum, row) => sum.plus(row.unitCost.times(row.quantity).toString()), new Decimal(0)).toFixed(4),
    ).toBe('40.0000');
  });

  it('is refused for more than there is, for what is no kit, and for parts left out, foreign, or valued alone', async () => {
    const now = await get(`/stock/${stock.id}`);
    const over = await shop
      .rest('owner', 'post', `/stock/${stock.id}/unpack`, { quantity: 1, parts: bins() }, { version: now.version })
      .expect(409);
    expect(over.body.type).toMatch(/not-in-stock$/);
    const wrong = await shop
      .rest(
        'owner',
        'post',
        `/stock/${stock.id}/unpack`,
        {
          quantity: 1,
          parts: [
            { ...bins()[0], unitValue: '1.00' },
            { partId: kit.id, bin: 'X' },
          ],
        },
        { version: now.version },
      )
      .expect(422);
    expect(wrong.body.errors.map((fault: Json) => fault.pointer)).toEqual([
      '/parts/1/partId',
      '/parts',
      '/parts',
      '/parts',
    ]);
    const single = await post('/stock', { partId: float.id, bin: 'F', quantity: 1 });
    expect(
      (
        await shop
          .rest('owner', 'post', `/stock/${single.id}/unpack`, { quantity: 1, parts: bins() }, { version: 1 })
          .expect(422)
      ).body.type,
    ).toMatch(/not-a-kit$/);
  });
});

describe('a need for a kit', () => {
  it('becomes needs for its parts', async () => {
    const { task } = await makeTask(shop, 'Rebuild the carburettor');
    const { need } = await post('/part-needs', { taskId: task.id, partId: kit.id, quantity: 2 });
    const { body } = await shop
      .rest('helper', 'post', `/part-needs/${need.id}/expand`, {}, { version: need.version })
      .expect(200);
    expect(body.needs.map((one: Json) => [one.partId, one.quantity, one.status, one.taskId])).toEqual([
      [gasket.id, 2, 'unordered', task.id],
      [screw.id, 8, 'unordered', task.id],
      [float.id, 2, 'unordered', task.id],
    ]);
    expect((await get(`/part-needs?taskId=${task.id}`)).items).toHaveLength(3);
    const again = await shop
      .rest('helper', 'post', `/part-needs/${need.id}/expand`, {}, { version: need.version + 1 })
      .expect(409);
    expect(again.body.type).toMatch(/archived$/);
    const single = body.needs[0];
    expect(
      (
        await shop
          .rest('helper', 'post', `/part-needs/${single.id}/expand`, {}, { version: single.version })
          .expect(422)
      ).body.type,
    ).toMatch(/not-a-kit$/);
  });

  it('that holds kits in a bin gets their parts when they are unpacked, and nobody else does', async () => {
    const { task } = await makeTask(shop, 'Rebuild another carburettor');
    const two = await post('/stock', { partId: kit.id, bin: 'K9', quantity: 2, unitCost: '12.00' });
    const { need } = await post('/part-needs', { taskId: task.id, partId: kit.id, quantity: 2, stockId: two.id });
    // Held for the task: not to be unpacked past it.
    expect(
      (
        await shop
          .rest('owner', 'post', `/stock/${two.id}/unpack`, { quantity: 1, parts: bins() }, { version: two.version })
          .expect(409)
      ).body.type,
    ).toMatch(/reserved$/);
    expect(
      (await shop.rest('owner', 'post', `/part-needs/${need.id}/expand`, {}, { version: need.version }).expect(409))
        .body.type,
    ).toMatch(/reserved$/);
    expect(
      (
        await shop
          .rest(
            'owner',
            'post',
            `/stock/${two.id}/unpack`,
            { quantity: 1, parts: bins(), partNeedIds: [need.id] },
            { version: two.version },
          )
          .expect(409)
      ).body.type,
    ).toMatch(/too-few-unpacked$/);
    const { unpackKit } = await ask(
      'mutation ($input: UnpackKitInput!) { unpackKit(input: $input) { stock { quantity } ' +
        'parts { bin quantityFree } needs { quantity status stock { bin } } } }',
      { input: { id: two.id, version: two.version, quantity: 2, parts: bins(), partNeedIds: [need.id] } },
      'helper',
    );
    expect(unpackKit.stock).toEqual({ quantity: 0 });
    expect(unpackKit.parts.map((part: Json) => part.quantityFree)).toEqual([0, 0, 0]);
    expect(unpackKit.needs).toEqual(
      [2, 8, 2].map((quantity, index) => ({ quantity, status: 'onHand', stock: { bin: `K${index + 1}` } })),
    );
  });

  it("of a part that comes in a kit is told the way to it when the kit's order line is named", async () => {
    const supplier = await post('/suppliers', { name: 'Marten Kits' });
    const plug = await makePart(shop, { name: 'Drain plug', family: 'engine' });
    const { lines } = await post('/orders', {
      supplierId: supplier.id,
      lines: [{ partId: kit.id, quantity: 1, unitPrice: '9.00' }],
    });
    const { task } = await makeTask(shop, 'Set the float');
    const expecting = (partId: string) =>
      shop
        .rest('owner', 'post', '/part-needs', { taskId: task.id, partId, quantity: 1, orderLineId: lines[0].id })
        .expect(422);
    expect((await expecting(float.id)).body.errors).toEqual([
      {
        detail: expect.stringMatching(/a kit that holds this part: have the task need the kit; .* unpack it/),
        pointer: '/orderLineId',
      },
    ]);
    expect((await expecting(plug.id)).body.errors).toEqual([
      { detail: 'that line is for another part', pointer: '/orderLineId' },
    ]);
    const { need } = await post('/part-needs', { taskId: task.id, partId: float.id, quantity: 1 });
    const { errors } = await shop.graphql(
      'owner',
      'mutation ($input: CreateOrderInput!) { createOrder(input: $input) { order { id } } }',
      {
        input: {
          supplierId: supplier.id,
          lines: [{ partId: kit.id, quantity: 1, unitPrice: '9.00', partNeedIds: [need.id] }],
        },
      },
    );
    expect(errors![0].message).toMatch(/lines\/0\/partNeedIds\/0: the line is for a kit that holds this part/);
    // And that way leads there.
    const whole = (
      await post('/part-needs', { taskId: task.id, partId: kit.id, quantity: 1, orderLineId: lines[0].id })
    ).need;
    const { stock: came } = await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, bin: 'Kits 2' });
    const unpacked = (
      await shop
        .rest(
          'owner',
          'post',
          `/stock/${came.id}/unpack`,
          { quantity: 1, parts: bins(), partNeedIds: [whole.id] },
          { version: came.version },
        )
        .expect(200)
    ).body;
    expect(unpacked.needs.find((one: Json) => one.partId === float.id)).toMatchObject({
      quantity: 1,
      status: 'onHand',
    });
  });
});
