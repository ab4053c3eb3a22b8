import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { makeStationDays } from '../seed/weather.js';
import { curing } from '../src/finish/curing.queries.js';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let jobId: string;
let heated: string;
let primer: Json;
let colour: Json;

// An invented alkyd whose recoat rule is disjunctive: within the first hour, or from the second day on.
const alkyd = {
  name: 'Hallgrim Red Primer',
  family: 'Alkyd',
  role: 'primer',
  volumeSolidsPercent: 50,
  dryFilmMicrometres: 60,
  lossPercent: 30,
  minCelsius: 10,
  maxCelsius: 35,
  referenceCelsius: 20,
  touchMinutes: 120,
  handleMinutes: 480,
  assembleMinutes: 2880,
  fullMinutes: 10_080,
  recoatMinutes: [{ fromMinutes: 0, toMinutes: 60 }, { fromMinutes: 2880 }],
  rateDoublingCelsius: 10,
  containerLitres: 0.5,
  containerPrice: '18.40',
};

const must = async (made: PromiseLike<Json>, status = 201): Promise<Json> => {
  const answer = await made;
  expect({ status: answer.status, body: answer.status === status ? null : answer.body }).toEqual({
    status,
    body: null,
  });
  return answer.body;
};

beforeAll(async () => {
  shop = await startTestShop();
  const machine = await must(
    shop.rest('owner', 'post', '/machines', {
      kind: 'twoStageThrower',
      maker: 'Norvane',
      model: 'N24',
      clearingWidthMillimetres: 600,
    }),
  );
  jobId = (await must(shop.rest('owner', 'post', '/jobs', { machineId: machine.id }))).id;
  heated = (
    await must(
      shop.rest('owner', 'post', '/places', {
        name: 'Warm room',
        kind: 'cureRack',
        shelter: 'heated',
        heatedToCelsius: 20,
      }),
    )
  ).id;
  primer = await must(shop.rest('owner', 'post', '/coating-products', alkyd));
  colour = await must(
    shop.rest('owner', 'post', '/coating-products', {
      ...alkyd,
      name: 'Pikestone Two-Part Red',
      family: 'urethane',
      role: 'colour',
      incompatibleFamilies: ['ALKYD'],
      isocyanate: true,
      recoatMinutes: [{ fromMinutes: 240, toMinutes: 1440 }],
      containerPrice: '61.00',
    }),
  );
});
afterAll(() => shop.close());

const hoursAgo = (hours: number): string => new Date(TEST_NOW.getTime() - hours * 3_600_000).toISOString();
const coat = (fields: Json) =>
  must(
    shop.rest('helper', 'post', '/coats', {
      jobId,
      productId: primer.id,
      placeId: heated,
      surface: 'chute',
      ...fields,
    }),
  );

describe('coating products', () => {
  it('keep what the data sheet says; helpers see no price', async () => {
    expect(primer).toMatchObject({
      family: 'alkyd',
      recoatMinutes: [
        { fromMinutes: 0, toMinutes: 60 },
        { fromMinutes: 2880, toMinutes: null },
      ],
      maxHumidityPercent: 85,
      dewPointMarginCelsius: 3,
      containerPrice: '18.40',
    });
    expect((await shop.rest('helper', 'get', `/coating-products/${primer.id}`)).body.containerPrice).toBeNull();
    const { data, errors } = await shop.graphql(
      'reader',
      '{ coatingProducts(family: "alkyd") { edges { node { name recoatMinutes { fromMinutes toMinutes } containerPrice } } } }',
    );
    expect(errors).toBeUndefined();
    expect(data.coatingProducts.edges).toEqual([
      { node: { name: 'Hallgrim Red Primer', recoatMinutes: primer.recoatMinutes, containerPrice: '18.40' } },
    ]);
  });

  it('refuse what no sheet could say', async () => {
    const wrong = async (fields: Json) =>
      (await shop.rest('owner', 'post', '/coating-products', { ...alkyd, name: 'Wrong', ...fields })).body.errors?.map(
        (one: Json) => one.pointer,
      );
    expect(await wrong({ minCelsius: 40 })).toContain('/maxCelsius');
    expect(await wrong({ referenceCelsius: 5 })).toEqual(['/referenceCelsius']);
    expect(await wrong({ handleMinutes: 60 })).toEqual(['/handleMinutes']);
    expect(await wrong({ recoatMinutes: [{ fromMinutes: 60, toMinutes: 60 }] })).toEqual([
      '/recoatMinutes/0/toMinutes',
    ]);
    expect(await wrong({ recoatMinutes: [{ fromMinutes: 60 }, { fromMinutes: 90 }] })).toEqual([
      '/recoatMinutes/1/fromMinutes',
    ]);
    expect(await wrong({ containerPrice: '1.999' })).toEqual(['/containerPrice']);
    expect((await shop.rest('helper', 'post', '/coating-products', { ...alkyd, name: 'Wrong' })).status).toBe(403);
  });
});

describe('coating systems', () => {
  it('hold their coats in order, replaced as a whole', async () => {
    const made = await must(
      shop.rest('owner', 'post', '/coating-systems', {
        name: 'Thrower red',
        coats: [{ productId: primer.id }, { productId: primer.id, dryFilmMicrometres: 40 }, { productId: colour.id }],
      }),
    );
    expect(made.coats.map((one: Json) => one.dryFilmMicrometres)).toEqual([null, 40, null]);
    const changed = await shop.rest(
      'owner',
      'patch',
      `/coating-systems/${made.id}`,
      { coats: [{ productId: primer.id }, { productId: colour.id }] },
      { version: 1 },
    );
    expect(changed.body).toMatchObject({ version: 2, coats: [{ productId: primer.id }, { productId: colour.id }] });
    // An outdated change leaves the coats as they were.
    expect(
      (
        await shop.rest(
          'owner',
          'patch',
          `/coating-systems/${made.id}`,
          { coats: [{ productId: primer.id }] },
          { version: 1 },
        )
      ).status,
    ).toBe(412);
    const { data } = await shop.graphql(
      'reader',
      'query ($id: ID!) { coatingSystem(id: $id) { coats { productId } products { name } warnings { code detail } } }',
      { id: made.id },
    );
    expect(data.coatingSystem.products.map((one: Json) => one.name)).toEqual([
      'Hallgrim Red Primer',
      'Pikestone Two-Part Red',
    ]);
    expect(data.coatingSystem.warnings).toEqual([
      {
        code: 'incompatible-families',
        detail: expect.stringContaining('Pikestone Two-Part Red over Hallgrim Red Primer'),
      },
    ]);
    const none = await shop.rest('owner', 'post', '/coating-systems', {
      name: 'Nothing',
      coats: [{ productId: jobId }],
    });
    expect(none.body.errors[0].pointer).toBe('/coats/0/productId');
  });
});

describe('paint needed', () => {
  let systemId: string;
  beforeAll(async () => {
    systemId = (
      await must(
        shop.rest('owner', 'post', '/coating-systems', {
          name: 'Two of primer',
          coats: [{ productId: primer.id }, { productId: primer.id }],
        }),
      )
    ).id;
  });

  it('is area × film ÷ solids ÷ (1 − loss), in whole containers less what is left', async () => {
    // check-values.md 2.1: m²/L = 10·VS%/DFT, practical = theoretical·(1 − loss): 10·50/60·0.7 = 5.8333 m²/L.
    // Two coats on 3.5 m²: 7 / 5.8333 = 1.2 L. With 0.3 L left 0.9 L are to be bought: two containers of half a litre.
    const body = {
      systemId,
      areas: [
        { surface: 'housing', squareMetres: 3 },
        { surface: 'chute', squareMetres: 0.5 },
      ],
      leftovers: [{ productId: primer.id, litres: 0.3 }],
    };
    const need = await must(shop.rest('owner', 'post', '/paint-needed', body), 200);
    expect(need.products).toEqual([
      expect.objectContaining({
        name: 'Hallgrim Red Primer',
        coats: 2,
        squareMetres: 3.5,
        litres: 1.2,
        leftoverLitres: 0.3,
        containersToBuy: 2,
        purchaseCost: '36.80',
        paintCost: '44.16',
      }),
    ]);
    expect(need).toMatchObject({
      purchaseCost: '36.80',
      dryFilmMicrometres: 120,
      warnings: [],
      cautions: ['solventVapour', 'oilyRags'],
    });
    expect(need.products[0].remainingLitres).toBeCloseTo(0.1, 9);
    const query =
      'query ($systemId: ID!, $areas: [PaintedAreaInput!]) { paintNeeded(systemId: $systemId, ' +
      'areas: $areas) { products { litres containersToBuy purchaseCost } } }';
    const seen = await shop.graphql('helper', query, { systemId, areas: body.areas });
    expect(seen.errors).toBeUndefined();
    expect(seen.data.paintNeeded.products).toEqual([{ litres: 1.2, containersToBuy: 3, purchaseCost: null }]);
  });

  it('stands for a job by its kind of machine, and counts what is on already', async () => {
    const whole = await must(shop.rest('owner', 'post', '/paint-needed', { systemId, jobId }), 200);
    expect(whole.areas.map((one: Json) => one.surface)).toContain('auger housing');
    expect(whole.reasons[0]).toContain('No areas were given');
    const areas = [{ surface: 'panel', squareMetres: 3.5 }];
    const before = await must(shop.rest('owner', 'post', '/paint-needed', { systemId, jobId, areas }), 200);
    await coat({ surface: 'panel', appliedAt: hoursAgo(1) });
    const after = await must(shop.rest('owner', 'post', '/paint-needed', { systemId, jobId, areas }), 200);
    expect([before.products[0].litres, after.products[0].litres]).toEqual([1.2, 0.6]);
    expect((await shop.rest('owner', 'post', '/paint-needed', { systemId })).status).toBe(422);
    expect((await shop.rest('owner', 'post', '/paint-needed', { systemId, jobId: systemId })).status).toBe(404);
  });
});

describe('a coat', () => {
  it('at the reference temperature keeps to the sheet exactly', async () => {
    const on = await coat({ appliedAt: hoursAgo(8), surface: 'auger' });
    expect(on).toMatchObject({ coatNumber: 1, warnings: [] });
    const status = await must(shop.rest('reader', 'get', `/coats/${on.id}/status`), 200);
    // 8 hours at 20 °C, the sheet's own temperature: handling from 480 minutes on is just reached.
    expect(status).toMatchObject({ stage: 'handle', equivalentMinutes: 480 });
    const applied = Date.parse(on.appliedAt);
    const after = (minutes: number) => new Date(applied + minutes * 60_000).toISOString();
    expect(status.stages).toEqual([
      { stage: 'touch', reachedAt: after(120), likelyAt: after(120), safeAt: after(120) },
      { stage: 'handle', reachedAt: after(480), likelyAt: after(480), safeAt: after(480) },
      { stage: 'assemble', reachedAt: null, likelyAt: after(2880), safeAt: after(2880) },
      { stage: 'full', reachedAt: null, likelyAt: after(10_080), safeAt: after(10_080) },
    ]);
    // Between the windows of one hour and of two days: no.
    expect(status.recoat).toMatchObject({
      allowedNow: false,
      periods: [
        { opensAt: after(0), closesAt: after(60) },
        { opensAt: after(2880), closesAt: null },
      ],
    });
    // The shop waits 14 days before assembly, the can two.
    expect(status.assemblyFrom).toBe(after(14 * 1440));
  });

  it("takes a thermometer's readings before all else", async () => {
    const cold = (await must(shop.rest('owner', 'post', '/places', { name: 'Cold shed', kind: 'cureRack' }))).id;
    const on = await coat({ placeId: cold, appliedAt: hoursAgo(8), surface: 'frame' });
    expect((await must(shop.rest('owner', 'get', `/coats/${on.id}/status`), 200)).warnings).toEqual([
      expect.objectContaining({ code: 'temperature-assumed' }),
    ]);
    const readings = [8, 6, 4, 2, 0].map((hours) => ({ readAt: hoursAgo(hours), celsius: 10 }));
    const sent = await must(shop.rest('helper', 'post', `/places/${cold}/temperature-readings`, { readings }), 200);
    expect(sent).toEqual({ placeId: cold, received: 5, added: 5, changed: 0, warnings: [] });
    expect(
      await must(shop.rest('helper', 'post', `/places/${cold}/temperature-readings`, { readings }), 200),
    ).toMatchObject({ added: 0, changed: 0 });
    // Half as fast at 10 °C as at 20 °C: 8 hours count for 4 (check-values.md 2.3: halved for each 10 °C decrease).
    const status = await must(shop.rest('owner', 'get', `/coats/${on.id}/status`), 200);
    expect(status).toMatchObject({ equivalentMinutes: 240, stage: 'touch' });
  });

  it('warns of the conditions, of what lies under it and of a closed window', async () => {
    // check-values.md 2.2: 16 °C at 71 % has its dew point at 10.74 °C, so only the humidity below is wrong.
    const damp = await coat({ surface: 'warned', appliedAt: hoursAgo(3), airCelsius: 16, humidityPercent: 92 });
    expect(damp.warnings.map((one: Json) => one.code).sort()).toEqual(['too-humid', 'too-near-dew-point']);
    const cold = await coat({ surface: 'cold', appliedAt: hoursAgo(3), airCelsius: 4, humidityPercent: 50 });
    expect(cold.warnings.map((one: Json) => one.code)).toEqual(['too-cold']);
    const over = await coat({
      surface: 'warned',
      productId: colour.id,
      appliedAt: hoursAgo(1),
      airCelsius: 20,
      humidityPercent: 50,
    });
    expect(over.coatNumber).toBe(2);
    expect(over.warnings.map((one: Json) => one.code)).toEqual(['incompatible-families', 'recoat-not-allowed']);
  });

  it('recorded late lies where it went on, and those above move up', async () => {
    const first = await coat({ surface: 'shroud', appliedAt: hoursAgo(30) });
    const second = await coat({ surface: 'shroud', appliedAt: hoursAgo(29.5) });
    const late = await coat({ surface: 'shroud', appliedAt: hoursAgo(100) });
    expect([first.coatNumber, second.coatNumber, late.coatNumber]).toEqual([1, 2, 1]);
    // Seventy hours later the second window, from two days on, was open; half an hour later the first, of one hour.
    expect(late.warnings).toEqual([]);
    const numbers = async () =>
      (await shop.rest('reader', 'get', `/coats?jobId=${jobId}&surface=shroud`)).body.items.map((one: Json) => [
        one.id,
        one.coatNumber,
      ]);
    expect(await numbers()).toEqual([
      [late.id, 1],
      [first.id, 2],
      [second.id, 3],
    ]);
    // One that went on between the windows is told of by what lies on top of it too.
    const between = await coat({ surface: 'shroud', appliedAt: hoursAgo(40) });
    expect(between.coatNumber).toBe(2);
    expect(between.warnings.map((one: Json) => one.detail)).toEqual([
      expect.stringMatching(/^Coat 2, .* when coat 3 went on/),
    ]);
  });

  it('has a number of its own, in the order in which coats went on', async () => {
    const under = await coat({ surface: 'order', appliedAt: hoursAgo(60) });
    const over = await coat({ surface: 'order', appliedAt: hoursAgo(4) });
    const send = async (fields: Json) =>
      (await shop.rest('helper', 'post', '/coats', { jobId, productId: primer.id, surface: 'order', ...fields })).body;
    expect((await send({ coatNumber: 1, appliedAt: hoursAgo(3) })).type).toMatch(/coat-number-taken$/);
    expect((await send({ coatNumber: 3, appliedAt: hoursAgo(5) })).type).toMatch(/coat-out-of-order$/);
    const early = await shop.rest(
      'helper',
      'patch',
      `/coats/${over.id}`,
      { appliedAt: hoursAgo(61) },
      { version: over.version },
    );
    expect(early.body.type).toMatch(/coat-out-of-order$/);
    expect(early.body.detail).toContain(
      'It cannot lie on top of coat 1 on "order", which went on after it, on 2026-09-12',
    );
    const { errors } = await shop.graphql(
      'helper',
      'mutation ($id: ID!, $version: Int!) { changeCoat(input: { id: $id, version: $version, coatNumber: 2 }) { id } }',
      { id: under.id, version: under.version },
    );
    expect(errors![0].extensions.code).toMatch(/coat-number-taken$/);
    await must(
      shop.rest(
        'helper',
        'patch',
        `/coats/${over.id}`,
        { appliedAt: hoursAgo(5), coatNumber: 3 },
        { version: over.version },
      ),
      200,
    );
  });

  it('warns of a film that the sheet does not speak of', async () => {
    expect((await coat({ surface: 'thick', dryFilmMicrometres: 75, appliedAt: hoursAgo(1) })).warnings).toEqual([]);
    const thick = await coat({ surface: 'thicker', dryFilmMicrometres: 400, appliedAt: hoursAgo(1) });
    expect(thick.warnings).toEqual([
      { code: 'thick-film', detail: expect.stringContaining('400 µm is thicker than the 60 µm') },
    ]);
  });

  it('charges its job with the paint it took, once, and takes that back with the coat', async () => {
    const machine = await must(
      shop.rest('owner', 'post', '/machines', { kind: 'walkBehindMower', maker: 'Norvane', model: 'M46' }),
    );
    const own = (await must(shop.rest('owner', 'post', '/jobs', { machineId: machine.id }))).id;
    const consumables = async () =>
      (await shop.graphql('owner', 'query ($id: ID!) { job(id: $id) { cost { consumables } } }', { id: own })).data.job
        .cost.consumables;
    const stated = await coat({ jobId: own, surface: 'deck', appliedAt: hoursAgo(1), litresUsed: 0.25 });
    // By hand: a quarter of a litre from a can of half a litre at 18.40.
    expect(await consumables()).toBe('9.20');
    // check-values.md 2.1: 10 · 50 / 60 · 0.7 = 5.8333 m² a litre, so 3.5 m² take 0.6 L; of these 22.08.
    const query =
      'mutation ($coat: CreateCoatInput!) { createCoat(input: $coat) { id version litresUsed squareMetres warnings { code } } }';
    const { data, errors } = await shop.graphql('helper', query, {
      coat: { jobId: own, productId: primer.id, surface: 'handle', squareMetres: 3.5 },
    });
    expect(errors).toBeUndefined();
    const reckoned = data.createCoat;
    expect(reckoned).toMatchObject({ litresUsed: 0.6, squareMetres: 3.5 });
    expect(await consumables()).toBe('31.28');
    // A coat that nobody measured costs nothing here: its can was booked whole, if at all.
    await coat({ jobId: own, surface: 'wheels', appliedAt: hoursAgo(1) });
    expect(await consumables()).toBe('31.28');
    const halved = await must(
      shop.rest('helper', 'patch', `/coats/${reckoned.id}`, { squareMetres: 1.75 }, { version: reckoned.version }),
      200,
    );
    expect(halved.litresUsed).toBe(0.3);
    expect(await consumables()).toBe('20.24');
    await must(
      shop.rest('helper', 'patch', `/coats/${reckoned.id}`, { note: 'thin' }, { version: halved.version }),
      200,
    );
    expect(await consumables()).toBe('20.24');
    const entries = (await shop.rest('owner', 'get', `/ledger-entries?jobId=${own}`)).body.items;
    expect(entries.map((one: Json) => one.amount).sort()).toEqual(['-22.08', '11.04', '22.08', '9.20']);
    expect(entries.find((one: Json) => one.amount === '9.20')).toMatchObject({
      kind: 'consumable',
      description: '0.25 L Hallgrim Red Primer, coat on deck',
      coatId: stated.id,
    });
    await must(shop.rest('helper', 'delete', `/coats/${stated.id}`, undefined, { version: stated.version }), 200);
    expect(await consumables()).toBe('11.04');
    expect(
      (
        await shop.rest('helper', 'post', '/coats', {
          jobId: own,
          productId: primer.id,
          surface: 'deck',
          litresUsed: 0,
        })
      ).body.errors[0].pointer,
    ).toBe('/litresUsed');
  });

  describe('whose paint is corrected', () => {
    let own: string;
    const newJob = async (): Promise<Json> => {
      const machine = await must(
        shop.rest('owner', 'post', '/machines', { kind: 'walkBehindMower', maker: 'Norvane', model: 'M46' }),
      );
      return must(shop.rest('owner', 'post', '/jobs', { machineId: machine.id }));
    };
    const consumables = async () =>
      (await shop.graphql('owner', 'query ($id: ID!) { job(id: $id) { cost { consumables } } }', { id: own })).data.job
        .cost.consumables;
    const change = (one: Json, fields: Json) =>
      must(shop.rest('helper', 'patch', `/coats/${one.id}`, fields, { version: one.version }), 200);
    beforeEach(async () => {
      own = (await newJob()).id;
    });

    it('is what its charge is corrected by, not the ledger', async () => {
      await coat({ jobId: own, litresUsed: 0.25 });
      const [entry] = (await shop.rest('owner', 'get', `/ledger-entries?jobId=${own}`)).body.items;
      const words = 'This was charged for a coat; change or archive the coat instead.';
      const refused = await shop.rest('owner', 'post', `/ledger-entries/${entry.id}/reverse`, { reason: 'Mistake' });
      expect(refused.body).toMatchObject({
        status: 409,
        detail: words,
        type: expect.stringMatching(/booked-elsewhere$/),
      });
      const { errors } = await shop.graphql(
        'owner',
        'mutation ($id: ID!) { reverseLedgerEntry(input: { id: $id, reason: "Mistake" }) { id } }',
        { id: entry.id },
      );
      expect(errors![0]).toMatchObject({ message: words, extensions: { code: 'booked-elsewhere' } });
    });

    it('is charged though the first charge rounded to nothing', async () => {
      const drop = await coat({ jobId: own, litresUsed: 0.0001 });
      expect(await consumables()).toBe('0.00');
      // By hand: a quarter of a litre from a can of half a litre at 18.40.
      await change(drop, { litresUsed: 0.25 });
      expect(await consumables()).toBe('9.20');
    });

    it('takes other litres by another film or can, unless they were stated', async () => {
      // check-values.md 2.1: 10 · 50 / 60 · 0.7 = 5.8333 m² a litre, so 3.5 m² take 0.6 L; a film of 120 µm twice that.
      const reckoned = await coat({ jobId: own, squareMetres: 3.5 });
      const thick = await change(reckoned, { dryFilmMicrometres: 120 });
      expect([reckoned.litresUsed, thick.litresUsed]).toEqual([0.6, 1.2]);
      expect(await consumables()).toBe('44.16');
      // Twice the solids, half the litres: 0.6 L at 61.00 the half litre.
      const solid = await must(
        shop.rest('owner', 'post', '/coating-products', {
          ...alkyd,
          name: 'Solid',
          volumeSolidsPercent: 100,
          containerPrice: '61.00',
        }),
      );
      const mutation = 'mutation ($coat: ChangeCoatInput!) { changeCoat(input: $coat) { litresUsed } }';
      const { data } = await shop.graphql('helper', mutation, {
        coat: { id: thick.id, version: thick.version, productId: solid.id },
      });
      expect(data.changeCoat.litresUsed).toBe(0.6);
      expect(await consumables()).toBe('73.20');
      const stated = await coat({ jobId: own, surface: 'deck', squareMetres: 3.5, litresUsed: 0.5 });
      expect((await change(stated, { dryFilmMicrometres: 120 })).litresUsed).toBe(0.5);
    });

    it('has a number of its own though several are recorded at once', async () => {
      const made = await Promise.all(Array.from({ length: 6 }, () => coat({ jobId: own })));
      expect(made.map((one) => one.coatNumber).sort()).toEqual([1, 2, 3, 4, 5, 6]);
    });

    it('is of a job that was not archived', async () => {
      const gone = await newJob();
      const unmeasured = await coat({ jobId: gone.id });
      await must(shop.rest('owner', 'delete', `/jobs/${gone.id}`, undefined, { version: gone.version }), 200);
      const refusal = {
        status: 409,
        type: expect.stringMatching(/:archived$/),
        detail: 'This job was archived and is only kept for history.',
      };
      expect(
        (
          await shop.rest('helper', 'post', '/coats', {
            jobId: gone.id,
            productId: primer.id,
            surface: 'deck',
            litresUsed: 0.25,
          })
        ).body,
      ).toMatchObject(refusal);
      expect(
        (
          await shop.rest(
            'helper',
            'patch',
            `/coats/${unmeasured.id}`,
            { litresUsed: 0.25 },
            { version: unmeasured.version },
          )
        ).body,
      ).toMatchObject(refusal);
      const { errors } = await shop.graphql(
        'helper',
        'mutation ($coat: CreateCoatInput!) { createCoat(input: $coat) { id } }',
        { coat: { jobId: gone.id, productId: primer.id, surface: 'deck' } },
      );
      expect(errors![0].extensions.code).toBe('archived');
      // What was recorded by mistake may still go.
      await must(
        shop.rest('helper', 'delete', `/coats/${unmeasured.id}`, undefined, { version: unmeasured.version }),
        200,
      );
    });

    it('may be of a closed job, as other money may', async () => {
      const { version } = (await shop.rest('owner', 'get', `/jobs/${own}`)).body;
      await must(shop.rest('owner', 'post', `/jobs/${own}/close`, { outcome: 'kept' }, { version }), 200);
      await coat({ jobId: own, litresUsed: 0.25 });
      expect(await consumables()).toBe('9.20');
    });
  });

  it('is refused where it cannot be', async () => {
    const send = (fields: Json, role: 'owner' | 'reader' = 'owner') =>
      shop.rest(role, 'post', '/coats', { jobId, productId: primer.id, surface: 'x', ...fields });
    expect((await send({ appliedAt: new Date(TEST_NOW.getTime() + 60_000).toISOString() })).status).toBe(422);
    expect((await send({ productId: jobId })).status).toBe(404);
    expect((await send({ jobId: primer.id })).status).toBe(404);
    expect((await send({ placeId: jobId })).status).toBe(404);
    expect((await send({}, 'reader')).status).toBe(403);
    const other = await shop.anotherShop();
    expect(
      (
        await shop.rest('owner', 'get', `/coats?jobId=${jobId}`, undefined, {
          headers: { Authorization: `Bearer ${other.keys.owner}` },
        })
      ).body.items,
    ).toEqual([]);
  });
});

describe('with a station', () => {
  beforeAll(async () => {
    const station = await must(
      shop.rest('owner', 'post', '/stations', { name: 'Lake Fennow', latitude: 45.4, longitude: -75.7 }),
    );
    const days = makeStationDays({ seed: 7, endDate: '2026-09-14', years: 12 });
    for (let from = 0; from < days.length; from += 4000)
      await must(
        shop.rest('owner', 'post', `/stations/${station.id}/days`, { days: days.slice(from, from + 4000) }),
        200,
      );
  });

  it('a coat outdoors dries by the weather seen and to come, never sooner when colder', async () => {
    const outside = await coat({ placeId: null, surface: 'outside', appliedAt: hoursAgo(48) });
    const status = await must(shop.rest('owner', 'get', `/coats/${outside.id}/status`), 200);
    expect(status.warnings.map((one: Json) => one.code)).not.toContain('temperature-assumed');
    expect(status.reasons.join(' ')).toContain('Lake Fennow');
    // What is past is told by one moment, though nobody recorded the temperatures.
    const touch = status.stages.find((one: Json) => one.stage === 'touch');
    expect(touch.reachedAt).not.toBeNull();
    expect([touch.likelyAt, touch.safeAt]).toEqual([touch.reachedAt, touch.reachedAt]);
    const full = status.stages.find((one: Json) => one.stage === 'full');
    expect(full.likelyAt <= full.safeAt).toBe(true);
    await must(
      shop.rest('owner', 'put', '/weather-forecast-days', {
        days: Array.from({ length: 30 }, (_, k) => ({
          day: new Date(TEST_NOW.getTime() + k * 86_400_000).toISOString().slice(0, 10),
          highCelsius: 13,
          lowCelsius: 11,
        })),
      }),
      200,
    );
    const colder = await must(shop.rest('owner', 'get', `/coats/${outside.id}/status`), 200);
    expect(colder.stages.find((one: Json) => one.stage === 'full').likelyAt > full.likelyAt).toBe(true);
  });

  it('tells the plan when each job may be assembled, in few statements', async () => {
    const { result, statements } = await shop.database.countStatements(() =>
      shop.within((context) => curing(context, [jobId])),
    );
    const job = result.get(jobId)!;
    expect(job.coats).toBeGreaterThan(5);
    expect(job.lastAppliedAt.toISOString()).toBe(hoursAgo(1));
    // The shop's 14 days after the last coat, unless the paint itself takes longer.
    expect(job.assemblyReadyAt!.getTime()).toBe(
      Math.max(job.assembleAt!.getTime(), Date.parse(hoursAgo(1)) + 14 * 86_400_000),
    );
    expect(job.handleAt! <= job.assembleAt! && job.assembleAt! <= job.fullAt!).toBe(true);
    expect(statements.length).toBeLessThanOrEqual(13);
    expect((await shop.within((context) => curing(context, []))).size).toBe(0);
  });

  it('lists coats with their standing in a constant number of statements', async () => {
    const ask = (first: number) =>
      shop.database.countStatements(() =>
        shop.graphql(
          'reader',
          `{ coats(first: ${first}) { edges { node { surface product { name } status { stage recoat { allowedNow reason } } } } } }`,
        ),
      );
    const few = await ask(1);
    const many = await ask(50);
    expect(many.result.errors).toBeUndefined();
    expect(many.result.data.coats.edges.length).toBeGreaterThan(5);
    expect(many.statements.length).toBe(few.statements.length);
    const { data } = await shop.graphql('helper', '{ jobs { edges { node { coats { surface coatNumber } } } } }');
    expect(data.jobs.edges.flatMap((edge: Json) => edge.node.coats).length).toBe(many.result.data.coats.edges.length);
  });
});
