/** What can be done when a part does not come: the ways out, what each would do, and taking one. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { makePart, makeTask } from './parts-fixtures.js';

jest.setTimeout(60_000);
let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(status)).body;
const get = async (path: string, role: 'owner' | 'helper' = 'owner'): Promise<Json> =>
  (await shop.rest(role, 'get', path).expect(200)).body;
const on = (day: string): void => {
  shop.clock.now = new Date(`${day}T13:00:00Z`);
};

/** A need of three on a line of which one has come and the promise was withdrawn. */
async function backOrdered(name: string, part: Json = {}): Promise<Json> {
  const wanted = await makePart(shop, { name, family: `${name} family`, ...part });
  const { task, job, machine } = await makeTask(shop, `Fit ${name}`);
  const { need } = await post('/part-needs', { taskId: task.id, partId: wanted.id, quantity: 3 });
  const supplier = await post('/suppliers', { name: `Supplier of ${name}` });
  const { lines } = await post('/orders', {
    supplierId: supplier.id,
    lines: [{ partId: wanted.id, quantity: 3, unitPrice: '2.00', promisedDate: '2026-09-20', partNeedIds: [need.id] }],
  });
  await post(`/order-lines/${lines[0].id}/receipts`, { quantity: 1, bin: `First ${name}` });
  await post(`/order-lines/${lines[0].id}/promises`, { promisedDate: null });
  return { part: wanted, task, job, machine, need, supplier, line: lines[0] };
}

describe('shortageOptions', () => {
  it('lists the ways out with what each would do, and does none of it', async () => {
    on('2026-09-15');
    const { part, line, need, job, machine } = await backOrdered('Chute gear');
    const stand = await makePart(shop, { name: 'Chute gear, later pattern', family: 'Chute gear family' });
    await post('/interchanges', {
      partId: stand.id,
      servesForId: part.id,
      evidence: 'measuredSame',
      confidence: 4,
      conditions: 'with the later key',
    });
    const enough = await post('/stock', { partId: stand.id, bin: 'Enough', quantity: 2, unitCost: '3.00' });
    await post('/stock', { partId: part.id, bin: 'Too few', quantity: 1, unitCost: '1.00' });
    const donor = await post('/machines', {
      kind: machine.kind,
      maker: machine.maker,
      model: machine.model,
      disposition: 'donor',
    });
    const other = await post('/suppliers', { name: 'Second source' });
    const bought = await post('/orders', {
      supplierId: other.id,
      lines: [{ partId: part.id, quantity: 1, unitPrice: '4.50' }],
    });
    await post(`/order-lines/${bought.lines[0].id}/receipts`, { quantity: 1, bin: 'Used up' });
    const before = await get(`/part-needs/${need.id}`);

    const { quantityMissing, options } = await get(`/order-lines/${line.id}/shortage-options`);
    expect(quantityMissing).toBe(2);
    const of = (kind: string, where: Json = {}) =>
      options.filter(
        (one: Json) => one.kind === kind && Object.entries(where).every(([key, value]) => one[key] === value),
      );
    const [interchange] = of('interchange');
    // Two at 3.00 each.
    expect(interchange).toMatchObject({ allowed: true, stockId: enough.id, cost: '6.00', arrivalDate: '2026-09-15' });
    expect(interchange.reasons.join(' ')).toMatch(/measured the same, 80 %.*with the later key/);
    // An hour of work on an open day.
    expect(interchange.effects).toEqual([expect.objectContaining({ jobId: job.id, after: '2026-09-15' })]);
    expect(interchange.effects[0].days).toBeLessThan(0);
    const bins = of('stock');
    expect(bins.every((one: Json) => one.allowed === false && one.effects.length === 0)).toBe(true);
    expect(bins.map((one: Json) => one.reasons.join(' ')).join(' ')).toMatch(/2 are missing/);
    expect(of('donor')).toEqual([expect.objectContaining({ machineId: donor.id, allowed: true, cost: null })]);
    // Two at 4.50.
    expect(of('otherSupplier')).toEqual([
      expect.objectContaining({ supplierId: other.id, allowed: true, cost: '9.00' }),
    ]);
    expect(of('wait')).toHaveLength(1);
    // Refused ones come last; among the others what finishes sooner comes first.
    const allowed = options.map((one: Json) => one.allowed);
    expect(allowed).toEqual([...allowed].sort((a, b) => Number(b) - Number(a)));
    expect(['interchange', 'donor']).toContain(options[0].kind);
    expect(options.findIndex((one: Json) => one.kind === 'otherSupplier')).toBeGreaterThan(
      options.findIndex((one: Json) => one.kind === 'interchange'),
    );

    expect(await get(`/part-needs/${need.id}`)).toEqual(before);
    expect((await get(`/orders?supplierId=${other.id}`)).items).toHaveLength(1);
    expect((await get(`/harvests?machineId=${donor.id}`)).items).toHaveLength(0);
    const { data, errors } = await shop.graphql(
      'helper',
      'query ($id: ID!) { shortageOptions(id: $id) { options { kind cost effects { days } } } }',
      { id: line.id },
    );
    expect(errors).toBeUndefined();
    expect(data.shortageOptions.options.map((one: Json) => one.kind)).toEqual(options.map((one: Json) => one.kind));
    expect(data.shortageOptions.options.every((one: Json) => one.cost === null)).toBe(true);
  });

  it('takes from a bin: what has come stays held, the rest is held there, the line is cancelled and the job knows', async () => {
    on('2026-09-15');
    const { part, line, need, job, task } = await backOrdered('Axle bearing');
    const bin = await post('/stock', { partId: part.id, bin: 'Plenty', quantity: 5 });
    const taken = await post(`/order-lines/${line.id}/shortage-options`, {
      kind: 'stock',
      stockId: bin.id,
      cancelRest: true,
    });
    expect(taken.line).toMatchObject({ quantityReceived: 1, quantityCancelled: 2, status: 'received' });
    expect(taken.needs).toEqual([
      expect.objectContaining({ taskId: task.id, quantity: 2, status: 'onHand', stockId: bin.id }),
    ]);
    expect(await get(`/part-needs/${need.id}`)).toMatchObject({ quantity: 1, status: 'onHand' });
    expect(taken.effects[0]).toMatchObject({ jobId: job.id, after: '2026-09-15' });
    expect((await get(`/jobs/${job.id}`)).notes).toMatch(/2026-09-15: 2 × Axle bearing did not come: taken from a bin/);
    const over = await shop
      .rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'stock', stockId: bin.id })
      .expect(409);
    expect(over.body.type).toMatch(/nobody-waits$/);
  });

  it('orders elsewhere, over GraphQL', async () => {
    on('2026-09-15');
    const { part, line } = await backOrdered('Drive disc');
    const other = await post('/suppliers', { name: 'Third source' });
    await post('/orders', { supplierId: other.id, lines: [{ partId: part.id, quantity: 1, unitPrice: '4.50' }] });
    const { data, errors } = await shop.graphql(
      'owner',
      'mutation ($input: ResolveShortageInput!) { resolveShortage(input: $input) { line { ' +
        'quantityOutstanding } needs { quantity status ' +
        'orderLine { unitPrice landedUnitCost promisedDate order { supplier { name } } } } } }',
      {
        input: {
          id: line.id,
          kind: 'otherSupplier',
          supplierId: other.id,
          unitPrice: '4.60',
          shippingCost: '3.00',
          promisedDate: '2026-09-18',
        },
      },
    );
    expect(errors).toBeUndefined();
    // 2 × 4.60 and 3.00 over two: 6.10 each.
    expect(data.resolveShortage).toEqual({
      line: { quantityOutstanding: 2 },
      needs: [
        {
          quantity: 2,
          status: 'onOrder',
          orderLine: {
            unitPrice: '4.60',
            landedUnitCost: '6.10',
            promisedDate: '2026-09-18',
            order: { supplier: { name: 'Third source' } },
          },
        },
      ],
    });
  });

  it('takes off a donor, which must be told what the part is worth; or does nothing at all', async () => {
    on('2026-09-15');
    const { part, line, machine, need } = await backOrdered('Skid shoe');
    const donor = await post('/machines', {
      kind: machine.kind,
      maker: 'Hallgrim',
      model: 'H-1',
      disposition: 'donor',
    });
    const untold = await shop
      .rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'donor', machineId: donor.id })
      .expect(422);
    expect(untold.body.errors.map((one: Json) => one.pointer)).toEqual(['/unitValue', '/restValue', '/bin']);
    expect(await get(`/part-needs/${need.id}`)).toMatchObject({ quantity: 3, status: 'partlyReceived' });
    const taken = await post(`/order-lines/${line.id}/shortage-options`, {
      kind: 'donor',
      machineId: donor.id,
      unitValue: '3.00',
      restValue: '20.00',
      bin: 'Off H-1',
    });
    expect(taken.needs).toEqual([expect.objectContaining({ quantity: 2, status: 'onHand' })]);
    expect((await get(`/harvests?machineId=${donor.id}`)).items).toHaveLength(1);
    expect((await get(`/stock?partId=${part.id}`)).items.map((one: Json) => [one.bin, one.source]).sort()).toEqual([
      ['First Skid shoe', 'bought'],
      ['Off H-1', 'harvested'],
    ]);
  });

  it('looks at donors of the models that the part is known to fit before others, whatever their kind', async () => {
    on('2026-09-15');
    const { line, machine } = await backOrdered('Idler pulley', {
      fits: ['singleStageThrower'],
      fitsModels: [{ maker: 'Pikestone', model: 'P-9' }],
    });
    const unknown = await post('/machines', {
      kind: machine.kind,
      maker: 'Hallgrim',
      model: 'H-7',
      disposition: 'donor',
    });
    const known = await post('/machines', {
      kind: 'twoStageThrower',
      maker: 'Pikestone',
      model: 'p-9',
      disposition: 'donor',
    });
    await post('/machines', { kind: 'twoStageThrower', maker: 'Pikestone', model: 'P-10', disposition: 'donor' });
    const donors = (await get(`/order-lines/${line.id}/shortage-options`)).options.filter(
      (one: Json) => one.kind === 'donor',
    );
    const place = (one: Json) => donors.findIndex((donor: Json) => donor.machineId === one.id);
    expect(donors[place(known)].reasons[0]).toContain('a model that it is known to fit');
    expect(place(known)).toBeLessThan(place(unknown));
    expect(donors.map((one: Json) => one.reasons[0]).join(' ')).not.toContain('P-10');
    // What went to the scrapyard has no parts any more.
    await post('/scrap-sales', { machineId: known.id, proceeds: '5.00' });
    expect(
      (await get(`/order-lines/${line.id}/shortage-options`)).options.filter((one: Json) => one.machineId === known.id),
    ).toEqual([]);
    const { data } = await shop.graphql(
      'helper',
      'query ($id: ID!) { part(id: $id) { fits fitsModels { maker model } } }',
      { id: line.partId },
    );
    expect(data.part).toEqual({ fits: ['singleStageThrower'], fitsModels: [{ maker: 'Pikestone', model: 'P-9' }] });
  });

  it('gives nothing but the exact equal for a part that is made to break', async () => {
    on('2026-09-15');
    const { part, line, machine } = await backOrdered('Auger shear bolt', { designedToFail: true });
    const lookalike = await makePart(shop, { name: 'Ordinary bolt', family: 'fastener' });
    await post('/interchanges', {
      partId: lookalike.id,
      servesForId: part.id,
      evidence: 'supplierSays',
      confidence: 5,
    });
    const bin = await post('/stock', { partId: lookalike.id, bin: 'Bolts', quantity: 50 });
    await post('/machines', { kind: machine.kind, maker: 'Hallgrim', model: 'H-2', disposition: 'donor' });
    const equal = await post('/stock', { partId: part.id, bin: 'Equals', quantity: 2 });
    const { options } = await get(`/order-lines/${line.id}/shortage-options`);
    const refused = options.filter((one: Json) => !one.allowed && one.kind !== 'stock');
    expect(refused.map((one: Json) => one.kind).sort()).toEqual(expect.arrayContaining(['donor', 'interchange']));
    expect(refused.find((one: Json) => one.stockId === bin.id).reasons.join(' ')).toMatch(/exact equal/);
    const no = await shop
      .rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'interchange', stockId: bin.id })
      .expect(422);
    expect(no.body.type).toMatch(/option-refused$/);
    await post(`/order-lines/${line.id}/shortage-options`, { kind: 'stock', stockId: equal.id });
  });

  it('finds an equivalent fastener under the stated rules, and says why the others are refused', async () => {
    on('2026-09-15');
    const { line } = await backOrdered('Housing screw', { fastener: '5/16-18 x 1 hex, grade 5, zinc' });
    const bins: Record<string, Json> = {};
    for (const [name, fastener] of [
      ['Stronger', '5/16-18 x 1 hex, grade 8, zinc'],
      ['Longer', '5/16-18 x 1-1/4 hex, grade 5, zinc'],
      ['Metric', 'M8 x 25 hex, 8.8, zinc'],
      ['Weaker', '5/16-18 x 1 hex, grade 2, zinc'],
    ] as const) {
      const part = await makePart(shop, { name, family: 'fastener', fastener });
      bins[name] = await post('/stock', { partId: part.id, bin: name, quantity: 20, unitCost: '0.20' });
    }
    const read = async (grip: string): Promise<Record<string, Json>> =>
      Object.fromEntries(
        (await get(`/order-lines/${line.id}/shortage-options${grip}`)).options
          .filter((one: Json) => one.kind === 'equivalentFastener')
          .map((one: Json) => [one.partName, one]),
      );
    const strict = await read('');
    // Common practice, no source: the same thread and head, a grade equal or higher, a length that fits the joint.
    expect(strict.Stronger).toMatchObject({ allowed: true, cost: '0.40' });
    expect(strict.Longer).toMatchObject({ allowed: false });
    expect(strict.Longer.reasons.join(' ')).toMatch(/grip range/);
    expect(strict.Metric.reasons.join(' ')).toMatch(/never mix/);
    expect(strict.Weaker.reasons.join(' ')).toMatch(/weaker/);
    expect((await read('?gripFromMillimetres=20&gripToMillimetres=35')).Longer).toMatchObject({ allowed: true });
    await shop.rest('owner', 'get', `/order-lines/${line.id}/shortage-options?gripFromMillimetres=20`).expect(422);
    const take = { kind: 'equivalentFastener', stockId: bins.Longer.id };
    await shop.rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, take).expect(422);
    const taken = await post(`/order-lines/${line.id}/shortage-options`, {
      ...take,
      gripFromMillimetres: 20,
      gripToMillimetres: 35,
    });
    expect(taken.needs).toEqual([expect.objectContaining({ quantity: 2, status: 'onHand', stockId: bins.Longer.id })]);
  });

  it('makes or repairs the part here, where it is said what that takes: a task stands before the one that waits', async () => {
    on('2026-09-15');
    const { line, need, job, task } = await backOrdered('Control rod');
    expect(
      (await get(`/order-lines/${line.id}/shortage-options`)).options.filter((one: Json) => one.kind === 'rework'),
    ).toEqual([]);
    const { options } = await get(`/order-lines/${line.id}/shortage-options?reworkMinutes=120&reworkCost=4.00`);
    const [rework] = options.filter((one: Json) => one.kind === 'rework');
    // Material 4.00 and two hours at 25.00. The day is full with the fitting of what came before, so it ends on the next.
    expect(rework).toMatchObject({
      allowed: true,
      cost: '54.00',
      arrivalDate: '2026-09-15',
      effects: [{ jobId: job.id, after: '2026-09-16' }],
    });
    expect(rework.rankReasons.join(' ')).toMatch(
      /Jobs finish \d+ days? sooner in all\..*The parts are at hand \d+ days before what is waited for\. It costs 54\./,
    );
    expect((await get(`/tasks?jobId=${job.id}`)).items).toHaveLength(1);

    const untold = await shop
      .rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'rework' })
      .expect(422);
    expect(untold.body.errors).toEqual([{ detail: 'is needed for this option', pointer: '/reworkMinutes' }]);
    const { data, errors } = await shop.graphql(
      'owner',
      'mutation ($input: ResolveShortageInput!) { resolveShortage(input: $input) { line { ' +
        'quantityOutstanding } needs { id } effects { jobId after } } }',
      { input: { id: line.id, kind: 'rework', reworkMinutes: 120, reworkCost: '4.00', cancelRest: true } },
    );
    expect(errors).toBeUndefined();
    expect(data.resolveShortage).toEqual({
      line: { quantityOutstanding: 0 },
      needs: [],
      effects: [{ jobId: job.id, after: '2026-09-16' }],
    });
    // What has come stays held; the two that did not are work now.
    expect((await get(`/part-needs?jobId=${job.id}`)).items).toEqual([
      expect.objectContaining({ id: need.id, quantity: 1, status: 'onHand' }),
    ]);
    const { items } = await get(`/tasks?jobId=${job.id}`);
    const [made] = items.filter((one: Json) => one.id !== task.id);
    expect(made).toMatchObject({
      name: 'Make or repair 2 × Control rod',
      kind: 'repair',
      handsOnMinutes: 120,
      code: 'rework',
    });
    expect(items.find((one: Json) => one.id === task.id).predecessors).toEqual([
      expect.objectContaining({ predecessorId: made.id }),
    ]);
    const entries = await shop.within((context) => context.tx.ledgerEntry.findMany({ where: { taskId: made.id } }));
    expect(entries.map((entry) => [entry.kind, entry.amount.toFixed(2)])).toEqual([['part', '4.00']]);
    expect((await get(`/jobs/${job.id}`)).notes).toMatch(/2 × Control rod did not come: made or repaired here/);
  });

  it('never makes a part here that is made to break', async () => {
    on('2026-09-15');
    const { line } = await backOrdered('Impeller shear pin', { designedToFail: true });
    const { options } = await get(`/order-lines/${line.id}/shortage-options?reworkMinutes=10`);
    const [rework] = options.filter((one: Json) => one.kind === 'rework');
    expect(rework).toMatchObject({ allowed: false, effects: [] });
    expect(rework.reasons.join(' ')).toMatch(/exact equal/);
    await shop
      .rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'rework', reworkMinutes: 10 })
      .expect(422);
  });

  it('tells what the plan does first so that nobody waits, and what that is worth against standing idle', async () => {
    on('2026-09-15');
    const { line } = await backOrdered('Recoil spring');
    const { job: other } = await makeTask(shop, 'Clean the shroud');
    const { options } = await get(`/order-lines/${line.id}/shortage-options`, 'helper');
    const [resequence, wait] = ['resequence', 'wait'].map((kind) => options.find((one: Json) => one.kind === kind));
    expect(resequence).toMatchObject({ allowed: true, arrivalDate: wait.arrivalDate, cost: null });
    expect(resequence.reasons[0]).toMatch(/\d+ tasks? of [\d.]+ hours that wait for none of these parts: .*on job/);
    // An hour of work that waits for nothing is done today; idle, on the first open day from the arrival on.
    const effect = resequence.effects.find((one: Json) => one.jobId === other.id);
    expect(effect.after < wait.arrivalDate && effect.before >= wait.arrivalDate).toBe(true);
    expect(effect.days).toBeLessThan(0);
    // It is what happens anyway: no better and no worse than waiting, and not to be taken. A helper hears of no price.
    expect(resequence.probabilityReadyAfter).toBe(resequence.probabilityReadyBefore);
    expect(options.flatMap((one: Json) => one.rankReasons).join(' ')).not.toMatch(/It costs/);
    await shop.rest('owner', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'resequence' }).expect(422);
  });

  it('ranks the same part in a bin before waiting, even where the median day is no reason to take it', async () => {
    on('2026-09-15');
    const { part, line, job } = await backOrdered('Tension spring');
    // The job waits for something else too, which holds it up longer than the median arrival of the springs.
    const {
      items: [task],
    } = await get(`/tasks?jobId=${job.id}`);
    const slow = await makePart(shop, { name: 'Slow casting', family: 'slow' });
    const { need } = await post('/part-needs', { taskId: task.id, partId: slow.id, quantity: 1 });
    const supplier = await post('/suppliers', { name: 'Foundry' });
    await post('/orders', {
      supplierId: supplier.id,
      lines: [{ partId: slow.id, quantity: 1, unitPrice: '9.00', promisedDate: '2027-06-30', partNeedIds: [need.id] }],
    });
    const bin = await post('/stock', { partId: part.id, bin: 'Springs', quantity: 4, unitCost: '3.10' });
    const { options } = await get(`/order-lines/${line.id}/shortage-options`);
    const kinds = options.map((one: Json) => one.kind);
    expect(options[0]).toMatchObject({ kind: 'stock', stockId: bin.id, cost: '6.20' });
    expect(options[0].rankReasons.join(' ')).toContain('It cost 6.2 when it came in; nothing more is to be paid.');
    expect(kinds.indexOf('resequence')).toBeGreaterThan(0);
    expect(options.find((one: Json) => one.kind === 'resequence').rankReasons.join(' ')).not.toContain(
      'No job finishes sooner',
    );
    const { data } = await shop.graphql(
      'helper',
      'query ($id: ID!) { shortageOptions(id: $id) { options { kind rankReasons } } }',
      { id: line.id },
    );
    expect(data.shortageOptions.options.map((one: Json) => one.kind)).toEqual(kinds);
    expect(JSON.stringify(data)).not.toMatch(/It costs? /);
  });

  it('plans but once for all that lies at hand', async () => {
    on('2026-09-15');
    const { part, line } = await backOrdered('Gear case seal');
    const read = async () =>
      (await shop.database.countStatements(() => get(`/order-lines/${line.id}/shortage-options`))).statements.filter(
        (one) => /from "(public"\.")?Task"/i.test(one) && /"?handsOnMinutes/.test(one),
      ).length;
    await post('/stock', { partId: part.id, bin: 'S1', quantity: 2 });
    const few = await read();
    for (const bin of ['S2', 'S3', 'S4']) await post('/stock', { partId: part.id, bin, quantity: 2 });
    expect(
      (await get(`/order-lines/${line.id}/shortage-options`)).options.filter(
        (one: Json) => one.kind === 'stock' && one.allowed,
      ),
    ).toHaveLength(4);
    expect(few).toBeGreaterThan(1);
    expect(await read()).toBe(few);
  });

  it("is the owner's to take, and only for lines of the shop", async () => {
    on('2026-09-15');
    const { line } = await backOrdered('Tie rod');
    await shop.rest('helper', 'post', `/order-lines/${line.id}/shortage-options`, { kind: 'stock' }).expect(403);
    const theirs = await shop.anotherShop();
    await shop
      .rest('owner', 'get', `/order-lines/${line.id}/shortage-options`, undefined, {
        headers: { Authorization: `Bearer ${theirs.keys.owner}` },
      })
      .expect(404);
  });
});
