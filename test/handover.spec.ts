/** The written starting point, gathered from a machine's whole way through the shop. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let job: Json;

const at = (minutes: number): string => new Date(TEST_NOW.getTime() + minutes * 60_000).toISOString();

async function made(path: string, body: Json): Promise<Json> {
  const response = await shop.rest('owner', 'post', path, body);
  if (response.status !== 201) throw new Error(`${path}: ${response.status} ${JSON.stringify(response.body)}`);
  return response.body;
}

beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '25.00' });
  const machine = await made('/machines', {
    kind: 'twoStageThrower',
    maker: 'Hallgrim',
    model: 'H_610',
    serial: 'A<1>',
    clearingWidthMillimetres: 610,
    engine: 'four-stroke, side valve',
    equipment: [
      { name: 'electric starter', status: 'removed', note: 'it smoked' },
      { name: 'headlight', status: 'fitted' },
    ],
  });
  job = await made('/jobs', { machineId: machine.id });
  await made('/findings', {
    machineId: machine.id,
    component: 'scraper bar',
    observation: 'worn\nthin',
    measuredValue: 4.2,
    limitLow: 6,
    unit: 'mm',
    verdict: 'replace',
    reason: 'below its limit',
  });
  const task = await made('/tasks', {
    jobId: job.id,
    code: 'bar',
    name: 'Fit the scraper bar',
    kind: 'parts',
    minMinutes: 30,
    handsOnMinutes: 60,
    maxMinutes: 90,
  });
  const person = await made('/people', { name: 'Ines', weeklyHours: [] });
  await made('/labour-entries', { taskId: task.id, personId: person.id, startedAt: at(-120), endedAt: at(-30) });
  await shop.rest('owner', 'post', `/tasks/${task.id}/finish`, {}, { idempotencyKey: null }).expect(200);
  await shop.within(async ({ tx, shop: { id: shopId } }) => {
    const part = await tx.part.create({ data: { shopId, name: 'scraper bar, 24 in', family: 'bars' } });
    await tx.partNeed.create({
      data: { shopId, taskId: task.id, partId: part.id, quantity: '1', usedDate: new Date('2026-09-15') },
    });
    await tx.partNeed.create({ data: { shopId, taskId: task.id, partId: part.id, quantity: '7' } });
    const product = await tx.coatingProduct.create({
      data: {
        shopId,
        name: 'zinc primer',
        family: 'alkyd',
        role: 'primer',
        volumeSolidsPercent: '40',
        dryFilmMicrometres: '40',
        minCelsius: '10',
        maxCelsius: '30',
        touchMinutes: 60,
        handleMinutes: 240,
        assembleMinutes: 1440,
        fullMinutes: 10080,
        incompatibleFamilies: [],
        containerLitres: '0.4',
        containerPrice: '12',
      },
    });
    // 00:30 UTC on the 15th is still the 14th in the shop.
    await tx.coat.create({
      data: {
        shopId,
        jobId: job.id,
        productId: product.id,
        surface: 'housing',
        coatNumber: 1,
        appliedAt: new Date('2026-09-15T00:30:00Z'),
        dryFilmMicrometres: '38.5',
      },
    });
  });
  await made('/safety-checks', { jobId: job.id, check: 'guards', passed: false, checkedBy: 'Ines' });
  await made('/safety-checks', { jobId: job.id, check: 'guards', passed: true, checkedBy: 'Ines' });
  await made('/safety-checks', {
    jobId: job.id,
    check: 'shearBolts',
    passed: false,
    checkedBy: 'Ines',
    note: 'one common bolt',
  });
}, 60_000);
afterAll(() => shop?.close(), 60_000);

const read = async (role: 'owner' | 'helper' | 'reader'): Promise<Json> =>
  (await shop.rest(role, 'get', `/jobs/${job.id}/starting-point`).expect(200)).body;

describe('the starting point', () => {
  it('holds what was found, done, fitted, coated and checked, and nothing that was not', async () => {
    const point = await read('reader');
    expect(point).toMatchObject({
      jobNumber: job.number,
      status: 'finished',
      writtenOn: '2026-09-15',
      machine: { maker: 'Hallgrim', model: 'H_610', clearingWidthMillimetres: 610 },
      findings: [{ component: 'scraper bar', withinLimits: false }],
      workDone: [{ code: 'bar', finishedDate: '2026-09-15' }],
      workLeft: [],
      labourMinutes: 90,
      // 1.5 h at 25.00 an hour.
      labourValue: '37.50',
      equipment: [
        { name: 'electric starter', status: 'removed' },
        { name: 'headlight', status: 'fitted' },
      ],
      partsFitted: [{ name: 'scraper bar, 24 in', quantity: 1, fittedOn: '2026-09-15' }],
      coats: [{ surface: 'housing', product: 'zinc primer', appliedOn: '2026-09-14', dryFilmMicrometres: 38.5 }],
    });
    expect(point.safetyChecks.map(({ check, passed }: Json) => [check, passed])).toEqual([
      ['guards', true],
      ['shearBolts', false],
    ]);
    expect(point.safetyMissing.map(({ code }: Json) => code)).toContain('shearBolts');
    expect(point.safetyMissing.map(({ code }: Json) => code)).not.toContain('guards');
    // Common practice, no source: shear bolts before each use, the first oil after five hours.
    expect(point.maintenance).toContainEqual(
      expect.objectContaining({ title: 'Shear bolts', nextDue: 'before each use', dueAfterHours: null }),
    );
    expect(point.maintenance).toContainEqual(expect.objectContaining({ title: 'First oil change', dueAfterHours: 5 }));
  });

  it("reads as a document of plain Markdown, without a price and with nobody's words taken for markup", async () => {
    const { text } = (await shop.rest('owner', 'get', `/jobs/${job.id}/starting-point?withHours=true`).expect(200))
      .body;
    expect(text).toMatch(/^# Hallgrim H\\_610: starting point\n/);
    for (const line of [
      '- Serial: A\\<1\\>',
      '- Working width: 610 mm',
      '- Removed: electric starter (it smoked)',
      '- **scraper bar**: worn thin. Measured 4.2 mm (limit at least 6 mm, out of limits). Decided: replace: below its limit.',
      '- 2026-09-15: Fit the scraper bar',
      '- Work in all: 1 h 30',
      '- 2026-09-15: 1 × scraper bar, 24 in',
      '- 2026-09-14: housing, coat 1, zinc primer, 38.5 µm dry',
      '- 2026-09-15: Guards in place, passed, by Ines',
      '- 2026-09-15: Right shear bolts, **failed**, by Ines (one common bolt)',
      '- **Not checked yet:** Dead-man control',
    ])
      expect(text.split('\n')).toContain(line);
    expect(text).not.toContain('37.50');
    expect(text).toContain("where the maker's manual says otherwise, the manual is right");
  });

  it('keeps prices from helpers, reads the same through GraphQL, and knows no foreign job', async () => {
    expect((await read('helper')).labourValue).toBeNull();
    const { data, errors } = await shop.graphql(
      'reader',
      `query ($id: ID!) { startingPoint(id: $id) { labourValue text findings { component } } }`,
      { id: job.id },
    );
    expect(errors).toBeUndefined();
    expect(data.startingPoint).toEqual({
      labourValue: '37.50',
      text: (await read('reader')).text,
      findings: [{ component: 'scraper bar' }],
    });
    await shop.rest('owner', 'get', `/jobs/${job.machineId}/starting-point`).expect(404);
  });

  it('says what is left while work is left, and reads in inches where the shop does', async () => {
    const { body: settings } = await shop.rest('owner', 'get', '/shop').expect(200);
    await shop.rest('owner', 'patch', '/shop', { unitSystem: 'imperial' }, { version: settings.version }).expect(200);
    await made('/tasks', {
      jobId: job.id,
      code: 'run',
      name: 'Test-run outdoors',
      kind: 'test',
      minMinutes: 30,
      handsOnMinutes: 60,
      maxMinutes: 90,
    });
    const { text, workLeft, status } = await read('owner');
    expect({ workLeft, status }).toEqual({ workLeft: ['Test-run outdoors'], status: 'inWork' });
    expect(text).toContain('**Not finished yet.** Still to do: Test-run outdoors.');
    // 610 mm / 25.4 = 24.016 in.
    expect(text).toContain('- Working width: 24 in');
  });

  it('lists every caution with the words that go before them', async () => {
    const { body } = await shop.rest('reader', 'get', '/cautions').expect(200);
    expect(body.cautions.map(({ code }: Json) => code)).toEqual(
      expect.arrayContaining([
        'fuelVapour',
        'spinningAuger',
        'storedEnergy',
        'wireWheel',
        'isocyanate',
        'carbonMonoxide',
        'starterCircuit',
        'oilyRags',
        'tipping',
        'battery',
      ]),
    );
    expect(body.precedence).toMatch(/maker's manual.*local codes and licensed practice/);
    const { data } = await shop.graphql('reader', '{ cautions { cautions { code standard } } }');
    expect(data.cautions.cautions).toHaveLength(body.cautions.length);
  });
});
