/** The catalogue, the bins and the needs of tasks, over both transports. Amounts are worked out by hand beside each check. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { basisLeft } from '../src/machines/harvest-basis.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

jest.setTimeout(60_000);
let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201, role: 'owner' | 'helper' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'post', path, body).expect(status)).body;
const get = async (path: string, role: 'owner' | 'helper' | 'reader' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'get', path).expect(200)).body;
const ask = async (query: string, variables: Json = {}, role: 'owner' | 'helper' = 'owner'): Promise<Json> => {
  const { data, errors } = await shop.graphql(role, query, variables);
  expect(errors).toBeUndefined();
  return data;
};

describe('the catalogue', () => {
  it("keeps a part with its makers' numbers, and finds it by any of them", async () => {
    const part = await post(
      '/parts',
      {
        name: 'Friction wheel',
        family: 'friction wheel',
        makerNumbers: [
          { maker: 'Norvane', number: 'NV-410 22' },
          { maker: 'Pikestone', number: '7712' },
        ],
        fits: ['twoStageThrower'],
      },
      201,
      'helper',
    );
    expect(part).toMatchObject({
      quantityOnHand: 0,
      quantityFree: 0,
      quantityOnOrder: 0,
      belowReorderPoint: false,
      fastenerFacts: null,
      designedToFail: false,
    });
    const found = await get('/parts?search=nv41022', 'reader');
    expect(found.items.map((one: Json) => one.id)).toEqual([part.id]);
    expect((await get('/parts?search=RICTION')).items).toHaveLength(1);
    expect((await get('/parts?search=nothing')).items).toHaveLength(0);
    const changed = await shop
      .rest('helper', 'patch', `/parts/${part.id}`, { reorderPoint: 2 }, { version: 1 })
      .expect(200);
    expect(changed.body).toMatchObject({ reorderPoint: 2, belowReorderPoint: true, makerNumbers: part.makerNumbers });
    await shop.rest('reader', 'post', '/parts', { name: 'X', family: 'y' }).expect(403);
    await shop.rest('owner', 'post', '/parts', { name: 'Friction wheel', family: 'friction wheel' }).expect(409);
  });

  it('understands a fastener, says what follows, and refuses what it does not understand with its place', async () => {
    // 1/4-20: 25.4 / 4 = 6.35 mm, 25.4 / 20 = 1.27 mm, 3/4 in = 19.05 mm (ISO inch of 25.4 mm).
    const part = await post('/parts', {
      name: 'Housing bolt',
      family: 'fastener',
      fastener: '1/4-20 x 3/4 hex, grade 5, zinc',
    });
    expect(part).toMatchObject({
      designedToFail: false,
      fastenerFacts: {
        system: 'inch',
        size: '1/4',
        series: 'UNC',
        head: 'hex',
        grade: 'grade 5',
        finish: 'zinc',
        leftHand: false,
      },
    });
    expect(part.fastenerFacts.majorDiameterMillimetres).toBeCloseTo(6.35, 9);
    expect(part.fastenerFacts.pitchMillimetres).toBeCloseTo(1.27, 9);
    expect(part.fastenerFacts.lengthMillimetres).toBeCloseTo(19.05, 9);
    const { createPart } = await ask(
      'mutation ($input: CreatePartInput!) { createPart(input: $input) { ' +
        'designedToFail fastenerFacts { size pitchMillimetres designedToFail } } }',
      { input: { name: 'Auger shear bolt', family: 'fastener', fastener: 'M6x1.0 x 40 hex, shear bolt' } },
    );
    expect(createPart).toEqual({
      designedToFail: true,
      fastenerFacts: { size: 'M6', pitchMillimetres: 1, designedToFail: true },
    });
    const refused = await shop
      .rest('owner', 'post', '/parts', { name: 'Odd', family: 'fastener', fastener: '1/4-20 x 3/4 banana' })
      .expect(422);
    expect(refused.body.errors[0]).toMatchObject({ pointer: '/fastener' });
    expect(refused.body.errors[0].detail).toMatch(/banana|expected/);
  });

  it('tells the wrench and the torque of a fastener that is in no catalogue yet', async () => {
    const hex = await get(`/fasteners?designation=${encodeURIComponent('1/4-20 x 3/4 hex, grade 5')}`, 'helper');
    // A 7/16 in wrench fits the quarter-inch hex bolts of these machines (common practice, no source; and ASME B18.2.1).
    expect(hex.acrossFlats[0]).toMatchObject({ tool: '7/16 in' });
    // Proof strength of grade 5: 85 ksi = 586.05 MPa (SAE J429 as quoted from Shigley & Mischke, 5th ed., p. 341).
    expect(hex.strength.proofMegapascals).toBe(586.1);
    // check-values.md §1.1: 0.0318 in² is 20.5 mm²; T = 0.2 · 6.35 mm · 0.75 · 586.05 MPa · 20.53 mm² = 11.5 N·m, and
    // no more figures than that.
    expect(hex.torque).toMatchObject({ newtonMetres: 11.5, inchPounds: 101, footPounds: 8.45 });
    expect(Number.isInteger(hex.torque.clampNewtons) && Number.isInteger(hex.loads.proofNewtons.value)).toBe(true);
    const last = await ask('{ fastener(designation: "3/8-16 x 1 hex, grade 5, left-hand") { leftHand designation } }');
    expect(last.fastener.leftHand).toBe(true);
    const untold = await shop.rest('owner', 'get', '/fasteners?designation=m8%2020').expect(422);
    expect(untold.body.errors[0].detail).toContain('M8x1.25 x 20');
    const { dry, oiled } = await ask(
      '{ dry: fastener(designation: "1/4-20 x 3/4 hex, grade 5") { torque { newtonMetres nutFactorK } } ' +
        'oiled: fastener(designation: "1/4-20 x 3/4 hex, grade 5", surface: oiled) { torque { newtonMetres nutFactorK } } }',
    );
    // The short form is linear in the nut factor: 0.15 oiled against 0.20 dry.
    expect(oiled.torque.newtonMetres / dry.torque.newtonMetres).toBeCloseTo(0.75, 2);
    expect((await get(`/fasteners?designation=${encodeURIComponent('1/4-20 x 1 shear bolt')}`)).torque).toBeNull();
    await shop.rest('owner', 'get', '/fasteners?designation=banana').expect(422);
  });

  it('archives a part only when no task needs it', async () => {
    const part = await makePart(shop, { name: 'Recoil rope', family: 'rope' });
    const { task } = await makeTask(shop, 'Rewind the starter');
    const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1.2 });
    expect(need.quantity).toBe(1.2);
    expect(
      (await shop.rest('owner', 'delete', `/parts/${part.id}`, undefined, { version: 1 }).expect(409)).body.type,
    ).toMatch(/part-needed$/);
    await shop.rest('helper', 'delete', `/part-needs/${need.id}`, undefined, { version: need.version }).expect(200);
    await shop.rest('owner', 'delete', `/parts/${part.id}`, undefined, { version: 1 }).expect(200);
    await shop.rest('owner', 'post', '/stock', { partId: part.id, bin: 'A', quantity: 1 }).expect(422);
  });

  it('keeps suppliers for the owner to write', async () => {
    const supplier = await post('/suppliers', { name: 'Lowfield Parts' });
    await shop.rest('helper', 'post', '/suppliers', { name: 'Another' }).expect(403);
    const { suppliers } = await ask('{ suppliers(first: 5) { edges { node { name orders { id } } } } }');
    expect(suppliers.edges[0].node).toEqual({ name: 'Lowfield Parts', orders: [] });
    expect(supplier.version).toBe(1);
  });
});

describe('bins', () => {
  let part: Json;
  beforeAll(async () => {
    part = await makePart(shop, { name: 'Scraper bar', family: 'scraper', reorderPoint: 3 });
  });

  it('count, correct and discard with reasons, and never below nothing', async () => {
    const stock = await post(
      '/stock',
      { partId: part.id, bin: 'S1', quantity: 4, unitCost: '6.50', condition: 'used' },
      201,
      'helper',
    );
    expect(stock).toMatchObject({ quantity: 4, quantityFree: 4, source: 'found', unitCost: null });
    const counted = await shop
      .rest('helper', 'post', `/stock/${stock.id}/count`, { quantity: 3, note: 'One was bent' }, { version: 1 })
      .expect(200);
    expect(counted.body).toMatchObject({ quantity: 3, version: 2 });
    await shop.rest('helper', 'post', `/stock/${stock.id}/count`, { quantity: 3 }, { version: 1 }).expect(412);
    const same = await shop
      .rest('helper', 'post', `/stock/${stock.id}/count`, { quantity: 3 }, { version: 2 })
      .expect(200);
    expect(same.body.quantity).toBe(3);
    const { correctStock } = await ask(
      'mutation ($input: CorrectStockInput!) { correctStock(input: $input) { quantity version } }',
      { input: { id: stock.id, version: 3, change: -1, reason: 'discarded', note: 'Cracked' } },
      'helper',
    );
    expect(correctStock).toEqual({ quantity: 2, version: 4 });
    const below = await shop
      .rest(
        'owner',
        'post',
        `/stock/${stock.id}/correct`,
        { change: -3, reason: 'corrected', note: 'Lost' },
        { version: 4 },
      )
      .expect(409);
    expect(below.body.type).toMatch(/not-in-stock$/);
    await shop
      .rest(
        'owner',
        'post',
        `/stock/${stock.id}/correct`,
        { change: 1, reason: 'discarded', note: 'Odd' },
        { version: 4 },
      )
      .expect(422);
    await shop
      .rest('owner', 'post', `/stock/${stock.id}/correct`, { change: -1, reason: 'corrected' }, { version: 4 })
      .expect(422);
    const movements = (await get(`/stock-movements?stockId=${stock.id}&sort=createdAt`, 'helper')).items;
    expect(movements.map((one: Json) => [one.change, one.reason, one.note])).toEqual([
      [4, 'counted', null],
      [-1, 'counted', 'One was bent'],
      [-1, 'discarded', 'Cracked'],
    ]);
    expect(await get(`/parts/${part.id}`)).toMatchObject({
      quantityOnHand: 2,
      quantityFree: 2,
      belowReorderPoint: true,
    });
    await shop.rest('owner', 'delete', `/stock/${stock.id}`, undefined, { version: 4 }).expect(409);
  });

  it('are not emptied under a task that holds them', async () => {
    const stock = await post('/stock', { partId: part.id, bin: 'S2', quantity: 2 });
    const { task } = await makeTask(shop, 'Fit the scraper');
    const { need } = await post(
      '/part-needs',
      { taskId: task.id, partId: part.id, quantity: 2, stockId: stock.id },
      201,
      'helper',
    );
    expect(need).toMatchObject({ status: 'onHand', quantityCovered: 2 });
    const refused = await shop
      .rest('owner', 'post', `/stock/${stock.id}/count`, { quantity: 1 }, { version: 1 })
      .expect(409);
    expect(refused.body.type).toMatch(/reserved$/);
    await shop.rest('helper', 'patch', `/part-needs/${need.id}`, { quantity: 3 }, { version: 1 }).expect(409);
    await shop.rest('helper', 'patch', `/part-needs/${need.id}`, { quantity: 1 }, { version: 1 }).expect(200);
    await shop.rest('owner', 'post', `/stock/${stock.id}/count`, { quantity: 1 }, { version: 1 }).expect(200);
    const released = await shop
      .rest('helper', 'post', `/part-needs/${need.id}/release`, undefined, { version: 2 })
      .expect(200);
    expect(released.body.need).toMatchObject({ status: 'unordered', stockId: null });
  });

  it('hold each piece for one task only, however many ask at once', async () => {
    const stock = await post('/stock', { partId: part.id, bin: 'S3', quantity: 3 });
    const { task } = await makeTask(shop, 'Fit many');
    const needs = await Promise.all(
      Array.from(
        { length: 8 },
        async () => (await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1 })).need,
      ),
    );
    const replies = await Promise.all(
      needs.map((need) =>
        shop.rest('helper', 'post', `/part-needs/${need.id}/reserve`, { stockId: stock.id }, { version: 1 }),
      ),
    );
    expect(replies.map((reply) => reply.status).sort()).toEqual([200, 200, 200, 409, 409, 409, 409, 409]);
    expect(replies.filter((reply) => reply.status === 409).every((reply) => /not-free$/.test(reply.body.type))).toBe(
      true,
    );
    expect(await get(`/stock/${stock.id}`)).toMatchObject({ quantity: 3, quantityReserved: 3, quantityFree: 0 });
    const kept = replies.find((reply) => reply.status === 200)!.body.need;
    const uses = await Promise.all(
      [1, 2].map(() => shop.rest('helper', 'post', `/part-needs/${kept.id}/use`, {}, { version: kept.version })),
    );
    expect(uses.map((reply) => reply.status).sort()).toEqual([200, 409]);
    expect(await get(`/stock/${stock.id}`)).toMatchObject({ quantity: 2, quantityReserved: 2 });
  });

  it('give another part only where a claim says that it serves', async () => {
    const stand = await makePart(shop, { name: 'Scraper bar, long', family: 'scraper' });
    const stock = await post('/stock', { partId: stand.id, bin: 'S4', quantity: 1 });
    const { task } = await makeTask(shop, 'Fit the long scraper');
    const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1 });
    await shop
      .rest('helper', 'post', `/part-needs/${need.id}/reserve`, { stockId: stock.id }, { version: 1 })
      .expect(422);
    await post(
      '/interchanges',
      {
        partId: stand.id,
        servesForId: part.id,
        evidence: 'seenFitted',
        provenHere: true,
        confidence: 5,
        conditions: 'Trim both ends',
      },
      201,
      'helper',
    );
    const held = await shop
      .rest('helper', 'post', `/part-needs/${need.id}/reserve`, { stockId: stock.id }, { version: 1 })
      .expect(200);
    expect(held.body.need.status).toBe('onHand');
    await shop
      .rest('owner', 'post', '/interchanges', { partId: part.id, servesForId: part.id, evidence: 'supplierSays' })
      .expect(422);
  });
});

describe('interchange', () => {
  let wheel: Json, older: Json, foreign: Json;
  beforeAll(async () => {
    wheel = await makePart(shop, { name: 'Wheel A', family: 'wheel' });
    older = await makePart(shop, { name: 'Wheel B', family: 'wheel' });
    foreign = await makePart(shop, { name: 'Wheel C', family: 'wheel' });
    await post('/stock', { partId: foreign.id, bin: 'W', quantity: 2 });
  });

  it('is closed over chains, with the path, the conditions and the product of the chances', async () => {
    // C serves for B (confidence 4 is 0.80), B for A both ways (3 is 0.60): C serves for A with 0.48.
    await post('/interchanges', {
      partId: foreign.id,
      servesForId: older.id,
      evidence: 'measuredSame',
      confidence: 4,
      fromYear: 1990,
      toYear: 2001,
    });
    await post('/interchanges', {
      partId: older.id,
      servesForId: wheel.id,
      evidence: 'supplierSays',
      confidence: 3,
      bothWays: true,
      position: 'left',
    });
    const { ways, contradictions } = await get(`/parts/${wheel.id}/substitutes`, 'helper');
    expect(contradictions).toEqual([]);
    const chain = ways.find((way: Json) => way.partId === foreign.id);
    expect(chain).toMatchObject({
      partName: 'Wheel C',
      allowed: true,
      quantityFree: 2,
      seenFitted: false,
      conditions: 'position left; years 1990–2001',
    });
    expect(chain.confidence).toBeCloseTo(0.48, 9);
    expect(chain.path.map((step: Json) => [step.partId, step.servesForId])).toEqual([
      [foreign.id, older.id],
      [older.id, wheel.id],
    ]);
    expect(chain.reasons.join(' ')).toMatch(
      /Wheel C serves for Wheel B .*Wheel B serves for Wheel A .*Inferred over 2 claims/,
    );
    // Outside its years the chain does not hold; A serves for B, but nothing says that it serves for C.
    const late = await ask('query ($id: ID!) { substitutesFor(id: $id, year: 2010) { ways { partName } } }', {
      id: wheel.id,
    });
    expect(late.substitutesFor.ways).toEqual([{ partName: 'Wheel B' }]);
    expect((await get(`/parts/${foreign.id}/substitutes`)).ways).toEqual([]);
  });

  it('lets a task hold a part over a chain, until a claim says the opposite', async () => {
    const { task } = await makeTask(shop, 'Fit the wheel');
    const [stock] = (await get(`/stock?partId=${foreign.id}`)).items;
    const { need } = await post('/part-needs', { taskId: task.id, partId: wheel.id, quantity: 1, stockId: stock.id });
    expect(need.status).toBe('onHand');
    const denial = await post('/interchanges', {
      partId: foreign.id,
      servesForId: wheel.id,
      evidence: 'seenFitted',
      refuted: true,
      confidence: 5,
    });
    await shop
      .rest('owner', 'post', '/part-needs', { taskId: task.id, partId: wheel.id, quantity: 1, stockId: stock.id })
      .expect(422);
    const { ways, contradictions } = await get(`/parts/${wheel.id}/substitutes`);
    expect(ways.find((way: Json) => way.partId === foreign.id)).toMatchObject({
      allowed: false,
      contradictedBy: [denial.id],
    });
    expect(contradictions).toEqual([
      expect.objectContaining({
        refutedBy: denial.id,
        partId: foreign.id,
        servesForId: wheel.id,
        reasons: [
          expect.stringMatching(
            /Wheel C was found not to serve for Wheel A \((tried here|measured|the supplier says so)\)/,
          ),
        ],
      }),
    ]);
    await shop
      .rest('owner', 'post', '/interchanges', {
        partId: foreign.id,
        servesForId: wheel.id,
        evidence: 'seenFitted',
        refuted: true,
        provenHere: true,
      })
      .expect(422);
    await shop
      .rest('owner', 'post', '/interchanges', {
        partId: foreign.id,
        servesForId: wheel.id,
        evidence: 'seenFitted',
        fromYear: 2001,
        toYear: 1990,
      })
      .expect(422);
  });

  it('lets no claim bring an inch thread into a metric one, and tells of what else the designations say', async () => {
    const metric = await makePart(shop, {
      name: 'Handle bolt M8',
      family: 'fastener',
      fastener: 'M8 x 25 hex, 8.8, zinc',
    });
    const inch = await makePart(shop, {
      name: 'Handle bolt 5/16',
      family: 'fastener',
      fastener: '5/16-18 x 1 hex, grade 5, zinc',
    });
    const longer = await makePart(shop, {
      name: 'Handle bolt M8 long',
      family: 'fastener',
      fastener: 'M8 x 30 hex, 8.8, zinc',
    });
    for (const one of [inch, longer])
      await post('/interchanges', { partId: one.id, servesForId: metric.id, evidence: 'seenFitted', confidence: 5 });
    const { ways } = await get(`/parts/${metric.id}/substitutes`);
    const way = (part: Json) => ways.find((one: Json) => one.partId === part.id);
    expect(way(inch)).toMatchObject({
      allowed: false,
      reasons: expect.arrayContaining([expect.stringContaining('inch and metric threads never mix, however near')]),
    });
    // Somebody has seen it fitted; the rules only ask for another look.
    expect(way(longer)).toMatchObject({
      allowed: true,
      reasons: expect.arrayContaining([expect.stringContaining('Mind: Length 30')]),
    });
    const { substitutesFor } = await ask('query ($id: ID!) { substitutesFor(id: $id) { ways { partId allowed } } }', {
      id: metric.id,
    });
    expect(substitutesFor.ways.find((one: Json) => one.partId === inch.id).allowed).toBe(false);
    const { task } = await makeTask(shop, 'Fit the handle');
    const stock = await post('/stock', { partId: inch.id, bin: 'H', quantity: 5 });
    const held = await shop.rest('owner', 'post', '/part-needs', {
      taskId: task.id,
      partId: metric.id,
      quantity: 1,
      stockId: stock.id,
    });
    expect(held.status).toBeGreaterThanOrEqual(400);
  });

  it('follows supersessions and refuses a circle of them', async () => {
    const [first, second, third] = await Promise.all(
      ['K-1', 'K-2', 'K-3'].map((name) => makePart(shop, { name, family: 'key' })),
    );
    await shop.rest('helper', 'patch', `/parts/${first.id}`, { supersededById: second.id }, { version: 1 }).expect(200);
    await shop.rest('helper', 'patch', `/parts/${second.id}`, { supersededById: third.id }, { version: 1 }).expect(200);
    const circle = await shop
      .rest('helper', 'patch', `/parts/${third.id}`, { supersededById: first.id }, { version: 1 })
      .expect(422);
    expect(circle.body.errors[0]).toMatchObject({
      pointer: '/supersededById',
      detail: expect.stringMatching(/K-3 → K-1 → K-2 → K-3/),
    });
    const { supersession, ways } = await get(`/parts/${first.id}/substitutes`);
    expect(supersession).toEqual([first.id, second.id, third.id]);
    // The maker's word counts 0.95 a step: 0.9025 over two.
    expect(ways.map((way: Json) => [way.partName, Math.round(way.confidence * 10000), way.path[0].claimId])).toEqual([
      ['K-2', 9500, null],
      ['K-3', 9025, null],
    ]);
    await shop.rest('helper', 'patch', `/parts/${third.id}`, { supersededById: third.id }, { version: 1 }).expect(422);
  });
});

describe('ordering again', () => {
  it('is advised from use and lead time', async () => {
    const rope = await makePart(shop, { name: 'Starter cord', family: 'cord' });
    const idle = await makePart(shop, { name: 'Decal', family: 'decal', reorderPoint: 0 });
    const stock = await post('/stock', { partId: rope.id, bin: 'R1', quantity: 40 });
    const take = async (part: Json, bin: Json, quantity: number): Promise<void> => {
      const { task } = await makeTask(shop, `Fit ${quantity} of ${part.name}`);
      const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity, stockId: bin.id });
      await shop.rest('helper', 'post', `/part-needs/${need.id}/use`, {}, { version: 1 }).expect(200);
    };
    await take(rope, stock, 30);
    await take(rope, stock, 6.5);
    const starter = await makePart(shop, { name: 'Exchange starter', family: 'starter' });
    await take(starter, await post('/stock', { partId: starter.id, bin: 'ST', quantity: 1 }), 1);
    const { reorders } = await get('/reorders', 'helper');
    const advised = reorders.find((one: Json) => one.partId === rope.id);
    // 36.5 in 365 days and the prior's one in 60 are 37.5 in 425, a mean of 0.088 a day. Over the days L in which four of
    // five orders come that is 0.088 L; a stock that lasts in nine of ten cases is more than that.
    expect(advised).toMatchObject({ usedInYear: 36.5, quantityFree: 3.5, reorderPoint: null });
    expect(advised.leadDays).toBeGreaterThan(7);
    expect(advised.suggestedReorderPoint).toBeGreaterThan(advised.leadDays * (37.5 / 425));
    // An upper bound worked by hand: 25 days (the stated prior's ninetieth percentile) twice over use 4.4 on average, and a
    // Poisson count of that mean stays under 10 in 98 of 100 cases.
    expect(advised.suggestedReorderPoint).toBeLessThan(10);
    expect(advised.orderNow).toBe(3.5 < advised.suggestedReorderPoint);
    expect(reorders.find((one: Json) => one.partId === idle.id)).toMatchObject({
      usedInYear: 0,
      suggestedReorderPoint: 0,
      orderNow: false,
    });
    // One job took one in a year: nobody lays such a thing in stock for the next.
    const once = reorders.find((one: Json) => one.partId === starter.id);
    expect(once).toMatchObject({ usedInYear: 1, quantityFree: 0, suggestedReorderPoint: 0, orderNow: false });
    expect(once.reasons.join(' ')).toContain('bought when it is needed');
    const listed = await ask('{ reorders { reorders { partId orderNow } } }');
    expect(listed.reorders.reorders).toEqual(
      reorders.map((one: Json) => ({ partId: one.partId, orderNow: one.orderNow })),
    );
  });
});

describe('a donor machine', () => {
  let donor: Json, auger: Json, engine: Json;
  beforeAll(async () => {
    const lot = await post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-01', price: '90.00' });
    donor = await post('/machines', {
      kind: 'twoStageThrower',
      maker: 'Hallgrim',
      model: 'H-8',
      acquisitionId: lot.id,
      disposition: 'donor',
    });
    auger = await makePart(shop, { name: 'Auger half', family: 'auger' });
    engine = await makePart(shop, { name: 'Engine, 8 hp', family: 'engine' });
  });

  it('gives cost with its parts by what they are worth, and keeps the rest', async () => {
    // 90.00 over 60 + 2 × 15 + 30: 45.00 and 22.50 go, 22.50 stays.
    const made = await post('/harvests', {
      machineId: donor.id,
      restValue: '30.00',
      parts: [
        { partId: engine.id, quantity: 1, unitValue: '60.00', bin: 'E1' },
        { partId: auger.id, quantity: 2, unitValue: '15.00', bin: 'E2', condition: 'worn edge' },
      ],
    });
    expect(made).toMatchObject({ basisLeft: '22.50', harvest: { basisMoved: '67.50', harvestedDate: '2026-09-15' } });
    expect(made.stock.map((one: Json) => [one.quantity, one.unitCost, one.source, one.bin])).toEqual([
      [1, '45.00', 'harvested', 'E1'],
      [2, '11.25', 'harvested', 'E2'],
    ]);
    // Of the 22.50 left, a third goes with a part worth 10 of 30; a helper is not told the amounts.
    const { createHarvest } = await ask(
      'mutation ($input: CreateHarvestInput!) { createHarvest(input: $input) { basisLeft reasons harvest { ' +
        'id basisMoved machine { model } stock { quantity unitCost movements { reason } } } } }',
      {
        input: {
          machineId: donor.id,
          restValue: '20.00',
          parts: [{ partId: auger.id, quantity: 1, unitValue: '10.00', bin: 'E3' }],
        },
      },
      'helper',
    );
    expect(createHarvest).toMatchObject({
      basisLeft: null,
      harvest: {
        basisMoved: null,
        machine: { model: 'H-8' },
        stock: [{ quantity: 1, unitCost: null, movements: [{ reason: 'harvested' }] }],
      },
    });
    expect(createHarvest.reasons.join(' ')).not.toMatch(/\d/);
    expect(await get(`/harvests/${createHarvest.harvest.id}`)).toMatchObject({ basisMoved: '7.50' });
    expect((await shop.within((context) => basisLeft(context, [donor.id]))).get(donor.id)?.toFixed(2)).toBe('15.00');
  });

  it('gives all of its cost when the rest is worth nothing; however the parts are used, the jobs bear exactly that', async () => {
    const lot = await post('/acquisitions', { source: 'donation', acquiredDate: '2026-09-01', price: '10.00' });
    const wreck = await post('/machines', {
      kind: 'other',
      maker: 'Pikestone',
      model: 'P-1',
      acquisitionId: lot.id,
      disposition: 'scrap',
    });
    const made = await post('/harvests', {
      machineId: wreck.id,
      restValue: '0',
      parts: [{ partId: auger.id, quantity: 3, unitValue: '5.00', bin: 'F1' }],
    });
    expect(made).toMatchObject({ basisLeft: '0.00', harvest: { basisMoved: '10.00' } });
    const { task, job } = await makeTask(shop, 'Fit three augers');
    const amounts: string[] = [];
    for (let n = 0; n < 3; n += 1) {
      const { need } = await post('/part-needs', {
        taskId: task.id,
        partId: auger.id,
        quantity: 1,
        stockId: made.stock[0].id,
      });
      await shop.rest('helper', 'post', `/part-needs/${need.id}/use`, {}, { version: 1 }).expect(200);
      const [entry] = await shop.within((context) =>
        context.tx.ledgerEntry.findMany({ where: { jobId: job.id, partNeedId: need.id } }),
      );
      amounts.push(entry!.amount.toFixed(2));
    }
    // 3.33…, 6.66… and 10.00 are rounded, and the differences charged.
    expect(amounts).toEqual(['3.33', '3.34', '3.33']);
  });

  it("binds the machine's share: no new split may leave the donor with less than its parts took", async () => {
    const lot = await post('/acquisitions', {
      source: 'auction',
      acquiredDate: '2026-09-01',
      price: '100.00',
      splitMethod: 'equal',
    });
    const wreck = await post('/machines', {
      kind: 'other',
      maker: 'Pikestone',
      model: 'P-2',
      acquisitionId: lot.id,
      disposition: 'donor',
    });
    // All of 100.00 goes with the part, which is worth as much.
    await post('/harvests', {
      machineId: wreck.id,
      restValue: '0',
      parts: [{ partId: auger.id, quantity: 1, unitValue: '100.00', bin: 'F4' }],
    });
    // A second machine would take half of it; a lower price, some.
    const joined = await shop
      .rest('owner', 'post', '/machines', { kind: 'other', maker: 'Norvane', model: 'N-2', acquisitionId: lot.id })
      .expect(409);
    expect(joined.body).toMatchObject({
      type: expect.stringMatching(/harvested-beyond$/),
      detail: expect.stringMatching(/Pikestone P-2 carry 100\.00 .* fall to 50\.00/),
    });
    const { version } = await get(`/acquisitions/${lot.id}`);
    const { errors } = await shop.graphql(
      'owner',
      'mutation ($input: ChangeAcquisitionInput!) { changeAcquisition(input: $input) { id } }',
      { input: { id: lot.id, version, price: '99.99' } },
    );
    expect(errors![0].extensions.code).toMatch(/harvested-beyond/i);
    expect(await get(`/acquisitions/${lot.id}`)).toMatchObject({ price: '100.00', version });
    await shop.rest('owner', 'patch', `/acquisitions/${lot.id}`, { price: '120.00' }, { version }).expect(200);
    expect((await shop.within((context) => basisLeft(context, [wreck.id]))).get(wreck.id)?.toFixed(2)).toBe('20.00');
  });

  it('must be a donor, and must have something of worth', async () => {
    const keeper = await post('/machines', { kind: 'other', maker: 'Norvane', model: 'N-1' });
    const parts = [{ partId: auger.id, quantity: 1, unitValue: '5.00', bin: 'F2' }];
    expect(
      (await shop.rest('owner', 'post', '/harvests', { machineId: keeper.id, restValue: '0', parts }).expect(422)).body
        .type,
    ).toMatch(/not-a-donor$/);
    await shop
      .rest('owner', 'post', '/harvests', {
        machineId: donor.id,
        restValue: '0',
        parts: [{ ...parts[0], unitValue: '0' }],
      })
      .expect(422);
    await shop
      .rest('owner', 'post', '/harvests', { machineId: donor.id, restValue: '0', harvestedDate: '2026-09-16', parts })
      .expect(422);
    await shop.rest('owner', 'post', '/harvests', { machineId: auger.id, restValue: '0', parts }).expect(404);
  });
});

describe('needs', () => {
  it('are refused for what is not there, and read with their job in a number of statements that does not grow', async () => {
    const part = await makePart(shop, { name: 'Spark plug', family: 'ignition' });
    const { task, job } = await makeTask(shop, 'Service');
    await shop.rest('owner', 'post', '/part-needs', { taskId: job.id, partId: part.id, quantity: 1 }).expect(404);
    await shop.rest('owner', 'post', '/part-needs', { taskId: task.id, partId: task.id, quantity: 1 }).expect(404);
    await shop.rest('reader', 'post', '/part-needs', { taskId: task.id, partId: part.id, quantity: 1 }).expect(403);
    const stock = await post('/stock', { partId: part.id, bin: 'P', quantity: 50 });
    const read = async () =>
      (
        await shop.database.countStatements(() =>
          ask(
            '{ jobs(first: 50) { edges { node { partNeeds { status part { name } stock { bin } } tasks { partNeeds { status } } } } } }',
          ),
        )
      ).statements.length;
    await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1, stockId: stock.id });
    const few = await read();
    for (let n = 0; n < 4; n += 1) {
      const more = await makeTask(shop, `Service ${n}`);
      await post('/part-needs', { taskId: more.task.id, partId: part.id, quantity: 1, stockId: stock.id });
    }
    expect(await read()).toBe(few);
    expect((await get(`/part-needs?jobId=${job.id}`)).items).toHaveLength(1);
  });

  it('stay as they are once the job is closed', async () => {
    const part = await makePart(shop, { name: 'Air filter', family: 'filter' });
    const { task, job } = await makeTask(shop, 'Filter');
    const { need } = await post('/part-needs', { taskId: task.id, partId: part.id, quantity: 1 });
    await shop.within((context) =>
      context.tx.job.update({
        where: { id: job.id },
        data: { closedDate: new Date('2026-09-15'), outcome: 'scrapped' },
      }),
    );
    expect(
      (await shop.rest('owner', 'delete', `/part-needs/${need.id}`, undefined, { version: 1 }).expect(409)).body.type,
    ).toMatch(/job-closed$/);
  });
});
