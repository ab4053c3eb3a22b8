/** Coats between the can and the next coat: may I spray here now, the metal's own temperature, sanding, moves, printed tables. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
// It brings no types.
// @ts-expect-error -- no declarations
import psychrolib from 'psychrolib';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let jobId: string;
let warm: string;
let cold: string;
let booth: string;
let product: Json;

const can = {
  name: 'Tarn enamel',
  family: 'alkyd',
  role: 'colour',
  volumeSolidsPercent: 50,
  dryFilmMicrometres: 40,
  minCelsius: 10,
  maxCelsius: 35,
  referenceCelsius: 20,
  touchMinutes: 60,
  handleMinutes: 240,
  assembleMinutes: 2880,
  fullMinutes: 10_080,
  containerLitres: 1,
  containerPrice: '30.00',
};

const must = async (made: PromiseLike<Json>, status = 201): Promise<Json> => {
  const answer = await made;
  expect({ status: answer.status, body: answer.status === status ? null : answer.body }).toEqual({
    status,
    body: null,
  });
  return answer.body;
};
const post = (path: string, body: Json, role: 'owner' | 'helper' = 'helper') =>
  must(shop.rest(role, 'post', path, body));
const get = (path: string, role: 'owner' | 'reader' = 'reader') => must(shop.rest(role, 'get', path), 200);
const minutesAgo = (minutes: number): string => new Date(TEST_NOW.getTime() - minutes * 60_000).toISOString();
const codes = (list: Json[]): string[] => list.map((one) => one.code);

beforeAll(async () => {
  shop = await startTestShop();
  const machine = await post('/machines', { kind: 'singleStageThrower', maker: 'Norvane', model: 'N20' }, 'owner');
  jobId = (await post('/jobs', { machineId: machine.id }, 'owner')).id;
  const place = (fields: Json) => post('/places', fields, 'owner');
  booth = (await place({ name: 'Booth', kind: 'sprayArea', shelter: 'unheated' })).id;
  warm = (await place({ name: 'Warm rack', kind: 'cureRack', shelter: 'heated', heatedToCelsius: 20 })).id;
  cold = (await place({ name: 'Cold rack', kind: 'cureRack', shelter: 'heated', heatedToCelsius: 10 })).id;
  product = await post('/coating-products', { ...can, recoatMinutes: [{ fromMinutes: 30, toMinutes: 240 }] }, 'owner');
});
afterAll(() => shop.close());

describe('may I spray here now', () => {
  const ask = (query: string) => get(`/spray-decision?${query}`);

  it('refuses metal of 15 °C in air of 20 °C at 70 %, whose dew point another library puts at 14.4 °C', async () => {
    const answer = await ask(`productId=${product.id}&airCelsius=20&humidityPercent=70&metalCelsius=15`);
    expect(answer).toMatchObject({ allowed: false, missing: [], placeId: booth });
    expect(codes(answer.refusals)).toEqual(['too-near-dew-point']);
    // npm psychrolib 1.1.1 (ASHRAE Handbook of Fundamentals 2017, chapter 1).
    psychrolib.SetUnitSystem(psychrolib.SI);
    const dew = psychrolib.GetTDewPointFromRelHum(20, 0.7);
    expect(Math.abs(answer.dewPointCelsius - dew)).toBeLessThan(0.1);
    expect(Math.abs(answer.marginCelsius - (15 - dew))).toBeLessThan(0.1);
    expect(answer.cautions).toContain('solventVapour');
    // With the usual margin of 3 °C, just above 17.4 °C is enough.
    for (const [metalCelsius, allowed] of [
      [dew + 2.9, false],
      [dew + 3.1, true],
    ] as const)
      expect(
        await ask(`productId=${product.id}&airCelsius=20&humidityPercent=70&metalCelsius=${metalCelsius.toFixed(2)}`),
      ).toMatchObject({ allowed });
  });

  it('names what is missing, and says so in both APIs', async () => {
    expect(await ask('airCelsius=20')).toMatchObject({
      allowed: null,
      missing: ['productId', 'humidityPercent', 'metalCelsius'],
      answer: expect.stringContaining("the can, the humidity and the metal's temperature are missing"),
    });
    const { data, errors } = await shop.graphql(
      'reader',
      `{ sprayDecision(placeId: "${booth}", productId: "${product.id}", airCelsius: 4, humidityPercent: 60) {
        allowed missing refusals { code } } }`,
    );
    expect(errors).toBeUndefined();
    // Too cold whatever the metal is.
    expect(data.sprayDecision).toEqual({
      allowed: false,
      missing: ['metalCelsius'],
      refusals: [{ code: 'too-cold' }],
    });
  });

  it('takes what a thermometer there showed within the hour, which warns of metal near the dew point', async () => {
    const readings = [{ readAt: minutesAgo(10), celsius: 20, humidityPercent: 70, metalCelsius: 15 }];
    const sent = await must(shop.rest('helper', 'post', `/places/${booth}/temperature-readings`, { readings }), 200);
    expect(codes(sent.warnings)).toEqual(['too-near-dew-point']);
    expect(await ask(`productId=${product.id}`)).toMatchObject({
      allowed: false,
      airCelsius: 20,
      metalCelsius: 15,
      readAt: minutesAgo(10),
    });
    expect((await get(`/temperature-readings?placeId=${booth}`)).items[0]).toMatchObject({ metalCelsius: 15 });
    // What is given counts before what was read.
    expect(await ask(`productId=${product.id}&metalCelsius=19`)).toMatchObject({ allowed: true, metalCelsius: 19 });
  });

  it('refuses while the coat beneath is not open, and beside sparks', async () => {
    await post('/coats', { jobId, productId: product.id, placeId: warm, surface: 'Chute', appliedAt: minutesAgo(20) });
    const query = `productId=${product.id}&airCelsius=20&humidityPercent=40&metalCelsius=19&jobId=${jobId}`;
    expect(codes((await ask(`${query}&surface=%20chute`)).refusals)).toEqual(['recoat-not-open']);
    expect((await ask(`${query}&surface=deck`)).allowed).toBe(true);
    const task = await post(
      '/tasks',
      {
        jobId,
        name: 'Wire-wheel the deck',
        kind: 'derust',
        code: 'derust',
        minMinutes: 30,
        maxMinutes: 90,
        handsOnMinutes: 60,
        placeKind: 'bench',
      },
      'owner',
    );
    await post('/places', { name: 'Bench', kind: 'bench', shelter: 'heated', heatedToCelsius: 18 }, 'owner');
    await must(shop.rest('helper', 'post', `/tasks/${task.id}/start`, {}), 200);
    const beside = await ask(`${query}&surface=deck`);
    expect(codes(beside.refusals)).toEqual(['air-not-clear']);
    await must(shop.rest('helper', 'post', `/tasks/${task.id}/finish`, {}), 200);
    expect((await ask(`${query}&surface=deck`)).allowed).toBe(true);
  });
});

describe('a coat', () => {
  it('is warned of metal near the dew point as it is recorded', async () => {
    const made = await post('/coats', {
      jobId,
      productId: product.id,
      placeId: booth,
      surface: 'metal',
      airCelsius: 20,
      humidityPercent: 70,
      metalCelsius: 15,
    });
    expect(codes(made.warnings)).toContain('too-near-dew-point');
    expect(made.metalCelsius).toBe(15);
  });

  it('is one surface whatever its case and blanks', async () => {
    const fields = { jobId, productId: product.id, placeId: warm };
    await post('/coats', { ...fields, surface: 'Belt cover', appliedAt: minutesAgo(200) });
    const second = await post('/coats', { ...fields, surface: ' belt  COVER ', appliedAt: minutesAgo(100) });
    expect(second).toMatchObject({ surface: 'Belt cover', coatNumber: 2 });
  });

  it('whose window has shut is opened by sanding, which can be taken back', async () => {
    const coat = await post('/coats', {
      jobId,
      productId: product.id,
      placeId: warm,
      surface: 'frame',
      appliedAt: minutesAgo(600),
    });
    const status = async () => (await get(`/coats/${coat.id}/status`)).recoat;
    expect(await status()).toMatchObject({ allowedNow: false, needsSanding: true });
    const refused = await shop.rest('helper', 'post', '/coat-sandings', { coatId: coat.id, sandedAt: minutesAgo(601) });
    expect(refused.body.errors[0]).toMatchObject({ pointer: '/sandedAt' });
    const sanding = await post('/coat-sandings', { coatId: coat.id });
    expect(await status()).toMatchObject({ allowedNow: true, needsSanding: false });
    await must(shop.rest('helper', 'delete', `/coat-sandings/${sanding.id}`, undefined, { version: 1 }), 200);
    expect(await status()).toMatchObject({ allowedNow: false, needsSanding: true });
    // Sanded while it was too soft to be handled (4 hours at 20 °C): that opens nothing.
    await post('/coat-sandings', { coatId: coat.id, sandedAt: minutesAgo(420) });
    expect((await status()).allowedNow).toBe(false);
  });

  it('dries by the place it was moved to', async () => {
    const coat = await post('/coats', {
      jobId,
      productId: product.id,
      placeId: warm,
      surface: 'auger',
      appliedAt: minutesAgo(480),
    });
    const age = async () => (await get(`/coats/${coat.id}/status`)).equivalentMinutes;
    expect(await age()).toBe(480);
    const move = await post('/coat-moves', { coatId: coat.id, placeId: cold, movedAt: minutesAgo(240) });
    // Four hours at 20 °C, then four at 10 °C, which count half (check-values.md 2.3: halved for each 10 °C decrease).
    expect(await age()).toBe(360);
    expect((await get(`/coats/${coat.id}/status`)).placeId).toBe(cold);
    expect(
      (await shop.rest('helper', 'post', '/coat-moves', { coatId: coat.id, placeId: warm, movedAt: minutesAgo(240) }))
        .status,
    ).toBe(409);
    await must(shop.rest('helper', 'delete', `/coat-moves/${move.id}`, undefined, { version: 1 }), 200);
    expect(await age()).toBe(480);
  });

  it('counts the temperature noted with it, and an unknown one as cold and as warm', async () => {
    const noted = await post('/coats', {
      jobId,
      productId: product.id,
      placeId: booth,
      surface: 'noted',
      appliedAt: minutesAgo(120),
      airCelsius: 30,
    });
    const place = (await post('/places', { name: 'Unknown', kind: 'cureRack', shelter: 'unheated' }, 'owner')).id;
    const unknown = await post('/coats', {
      jobId,
      productId: product.id,
      placeId: place,
      surface: 'unknown',
      appliedAt: minutesAgo(120),
    });
    // Two hours: at 30 °C until the reading of 20 °C ten minutes ago takes over halfway, after 55 minutes.
    expect((await get(`/coats/${noted.id}/status`)).equivalentMinutes).toBe(55 * 2 + 65);
    const status = await get(`/coats/${unknown.id}/status`);
    // As cold as the sheet allows, 10 °C, for what must have dried: half of 120.
    expect(status.equivalentMinutes).toBe(60);
    expect(codes(status.warnings)).toContain('temperature-assumed');
  });
});

describe('a printed recoat table', () => {
  const recoatTable = [
    { minCelsius: 16, maxCelsius: 21, fromMinutes: 1440 },
    { minCelsius: 22, maxCelsius: 27, fromMinutes: 1080 },
    { minCelsius: 28, maxCelsius: 32, fromMinutes: 960 },
  ];

  it('is entered as printed, decides when the next coat may go on, and is replaced as a whole', async () => {
    const printed = await post('/coating-products', { ...can, name: 'Printed', recoatTable }, 'owner');
    expect(printed).toMatchObject({
      recoatMinutes: [{ fromMinutes: 1440, toMinutes: null }],
      recoatTable: recoatTable.map((one) => ({ ...one, toMinutes: null })),
    });
    const hot = (
      await post('/places', { name: 'Hot', kind: 'cureRack', shelter: 'heated', heatedToCelsius: 30 }, 'owner')
    ).id;
    const on = (hours: number, surface: string) =>
      post('/coats', { jobId, productId: printed.id, placeId: hot, surface, appliedAt: minutesAgo(hours * 60) });
    const open = async (coat: Json) => (await get(`/coats/${coat.id}/status`)).recoat.allowedNow;
    // Doubling every 10 °C would open it after 12 hours at 30 °C; the sheet prints 16.
    expect(await open(await on(13, 'early'))).toBe(false);
    expect(await open(await on(16, 'in time'))).toBe(true);
    const { data } = await shop.graphql(
      'reader',
      `{ coatingProduct(id: "${printed.id}") { recoatTable { minCelsius fromMinutes } } }`,
    );
    expect(data.coatingProduct.recoatTable).toHaveLength(3);
    const changed = await must(
      shop.rest('owner', 'patch', `/coating-products/${printed.id}`, { recoatTable: [] }, { version: printed.version }),
      200,
    );
    expect(changed).toMatchObject({ recoatTable: [], recoatMinutes: [{ fromMinutes: 1440 }] });
    expect(await open(await on(13, 'by the rule'))).toBe(true);
  });

  it('is refused where it makes no sense', async () => {
    const wrong = async (fields: Json) =>
      (await shop.rest('owner', 'post', '/coating-products', { ...can, name: 'Wrong', ...fields })).body.errors?.map(
        (one: Json) => one.pointer,
      );
    expect(await wrong({})).toEqual(['/recoatMinutes']);
    expect(await wrong({ recoatTable: [recoatTable[0], { ...recoatTable[1], minCelsius: 20 }] })).toEqual([
      '/recoatTable',
    ]);
    expect(await wrong({ recoatTable: [{ ...recoatTable[0], toMinutes: 60 }] })).toEqual(['/recoatTable/0/toMinutes']);
    expect(await wrong({ recoatMinutes: [{ fromMinutes: 0, toMinutes: 60 }], recoatTable })).toEqual(['/recoatTable']);
  });
});
