/** What happened before it was entered: jobs taken whole, and own earlier machines from a table. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { areas } from '../src/app.module.js';
import { jobCosts } from '../src/cost/cost.queries.js';
import { experienceWith } from '../src/cost/experience.queries.js';
import { requiredChecks } from '../src/diagnosis/safety-checks.js';
import { learningRecords } from '../src/plan/inputs/learning.js';
import { runWithin } from '../src/platform/operation/execute.js';
import type { OperationContext } from '../src/platform/operation/operation.js';
import { createRoute } from '../src/work/routes.operations.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

jest.setTimeout(240_000);
const settings = { taxScheme: 'marginScheme', taxRatePercent: 13, haulCostPerKilometre: '0.37' } as const;

async function openedShop(): Promise<{ shop: TestShop; person: Json }> {
  const shop = await startTestShop(settings);
  const { body: person } = await shop.rest('owner', 'post', '/people', {
    name: 'Ines',
    weeklyHours: [{ weekday: 1, opens: '09:00', closes: '17:00' }],
  });
  const task = (code: string, kind: 'strip' | 'repair', handsOnMinutes: number) => ({
    code,
    name: code,
    kind,
    minMinutes: 10,
    handsOnMinutes,
    maxMinutes: 600,
  });
  await shop.within((context) =>
    createRoute(context, {
      name: 'Two-stage',
      machineKind: 'twoStageThrower',
      tasks: [task('strip', 'strip', 120), task('mend', 'repair', 90), task('mend-2', 'repair', 60)],
    }),
  );
  return { shop, person };
}

let one: { shop: TestShop; person: Json };
let other: { shop: TestShop; person: Json };
beforeAll(async () => {
  one = await openedShop();
  other = await openedShop();
});
afterAll(async () => {
  await one?.shop.close();
  await other?.shop.close();
});

const sendTable = (shop: TestShop, what: 'preview' | 'import', csv: string, key?: string) =>
  shop.rest('owner', 'post', `/past-machines/${what}`, csv, {
    headers: { 'Content-Type': 'text/csv' },
    ...(key ? { idempotencyKey: key } : {}),
  });
const countOf = (shop: TestShop) =>
  shop.within(async ({ tx }) => [
    await tx.acquisition.count(),
    await tx.machine.count(),
    await tx.job.count(),
    await tx.labourEntry.count(),
    await tx.ledgerEntry.count(),
    await tx.sale.count(),
  ]);

/** Two hundred machines of five seasons, drawn once; amounts and hours that do not divide evenly. */
function pastMachines() {
  let seed = 20_251;
  const random = (below: number) => (seed = (seed * 48_271) % 2_147_483_647) % below;
  const day = (offset: number) => new Date(Date.UTC(2021, 0, 4) + offset * 86_400_000).toISOString().slice(0, 10);
  const cents = (from: number, to: number) => ((from * 100 + random((to - from) * 100)) / 100).toFixed(2);
  return Array.from({ length: 200 }, (_, index) => {
    const acquired = index * 8 + random(30);
    const finished = acquired + 40 + random(60);
    const offered = finished + random(10);
    const ended = offered + 1 + random(80);
    const sold = index % 10 !== 9;
    return {
      kind: 'two-stage',
      maker: ['Norvane', 'Hallgrim', 'Pikestone'][random(3)]!,
      model: ['Ridge 26', 'Boreal 24', 'Tundra 28'][random(3)]!,
      serial: `S-${index}`,
      year: String(1990 + random(25)),
      acquired: day(acquired),
      paid: cents(20, 200),
      'haul km': String(random(60)),
      fees: random(4) === 0 ? cents(1, 20) : '',
      opened: day(acquired + random(5)),
      finished: day(finished),
      'hours strip': String(1 + random(12) / 4),
      'hours repair': String(0.5 + random(16) / 4),
      parts: cents(5, 90),
      paint: random(3) === 0 ? '' : cents(3, 30),
      asked: sold ? cents(500, 1200) : '',
      offered: sold ? day(offered) : '',
      sold: sold ? day(ended) : '',
      'sold for': sold ? cents(300, 1100) : '',
      'selling cost': sold && random(2) === 0 ? cents(1, 40) : '',
      outcome: sold ? 'sold' : 'kept',
      closed: sold ? '' : day(ended),
      'checked by': 'Ines',
    };
  });
}

const asCsv = (rows: Record<string, string>[]): string =>
  [Object.keys(rows[0]!), ...rows.map((row) => Object.values(row))].map((cells) => cells.join(',')).join('\n');

/** The same facts through the single operations, one after the other. */
async function enterOneByOne(context: OperationContext, row: Record<string, string>, personId: string, labour: Json[]) {
  const operations = new Map(areas.flatMap((area) => area.operations).map((operation) => [operation.name, operation]));
  const run = async (name: string, input: object) => (await runWithin(context, operations.get(name)!, input)) as Json;
  const sold = row.outcome === 'sold';
  const acquisition = await run('createAcquisition', {
    source: 'other',
    acquiredDate: row.acquired,
    price: row.paid,
    haulKilometres: Number(row['haul km']),
    ...(row.fees ? { fees: row.fees } : {}),
  });
  const machine = await run('createMachine', {
    kind: 'twoStageThrower',
    maker: row.maker,
    model: row.model,
    serial: row.serial,
    yearEstimate: Number(row.year),
    disposition: sold ? 'sell' : 'keep',
    acquisitionId: acquisition.id,
  });
  const job = await run('createJob', { machineId: machine.id, openedDate: row.opened });
  for (const [kind, planned] of [
    ['strip', 120],
    ['repair', 150],
  ] as const) {
    const task = await run('createTask', {
      jobId: job.id,
      code: kind,
      name: kind,
      kind,
      minMinutes: planned,
      handsOnMinutes: planned,
      maxMinutes: planned,
    });
    const entries = labour.filter((entry) => entry.kind === kind);
    for (const { startedAt, endedAt } of entries)
      await run('createLabourEntry', {
        taskId: task.id,
        personId,
        startedAt: startedAt.toISOString(),
        endedAt: endedAt.toISOString(),
      });
    await run('finishTask', { id: task.id, at: entries.at(-1)!.endedAt.toISOString() });
  }
  const spend = (amount: string | undefined, kind: string) =>
    amount && run('createLedgerEntry', { jobId: job.id, kind, amount, occurredDate: row.finished, description: kind });
  await spend(row.parts, 'other');
  await spend(row.paint, 'consumable');
  await run('createSafetyChecks', {
    items: requiredChecks('twoStageThrower').map(({ code }) => ({
      jobId: job.id,
      check: code,
      passed: true,
      checkedBy: 'Ines',
      checkedDate: row.finished,
    })),
  });
  if (sold) {
    await run('createOffer', { jobId: job.id, askPrice: row.asked, offeredDate: row.offered });
    await run('createSale', {
      jobId: job.id,
      soldDate: row.sold,
      price: row['sold for'],
      ...(row['selling cost'] ? { sellingCost: row['selling cost'] } : {}),
    });
  } else {
    const { version } = await context.tx.job.findUniqueOrThrow({ where: { id: job.id } });
    await run('closeJob', { id: job.id, version, outcome: 'kept', closedDate: row.closed });
  }
}

/** All the money, and all that is learnt from: by job number, since ids differ. */
async function learntFrom(shop: TestShop) {
  const records = await shop.within(async (context) => {
    const jobs = await context.tx.job.findMany({ orderBy: { number: 'asc' }, include: { machine: true } });
    const costs = await jobCosts(
      context,
      jobs.map((job) => job.id),
      new Map(),
    );
    const numberOf = new Map(jobs.map((job) => [job.id, job.number]));
    const learnt = await learningRecords(context, { seasonEndMonthDay: '03-15', partDays: [] });
    const ledger = await context.tx.ledgerEntry.findMany({
      select: { jobId: true, kind: true, amount: true, occurredDate: true },
    });
    return {
      jobs: jobs.map((job) => [job.number, job.title, job.openedDate, job.finishedDate, job.closedDate, job.outcome]),
      costs: costs.map((cost) => {
        const { jobId, ...rest } = cost as unknown as { jobId: string } & Record<string, unknown>;
        return [
          numberOf.get(jobId),
          JSON.stringify(rest, (key, value) => (key.endsWith('Id') || key === 'id' ? undefined : value)),
        ];
      }),
      ledger: ledger
        .map((entry) =>
          [numberOf.get(entry.jobId), entry.kind, entry.amount.toFixed(2), entry.occurredDate.toISOString()].join(' '),
        )
        .sort(),
      hours: learnt.hours
        .map(({ machineId, ...entry }) => JSON.stringify({ ...entry, job: numberOf.get(machineId) }))
        .sort(),
      absence: learnt.absence,
      foundWork: [...(learnt.foundWork ?? [])].sort((a, b) => a.minutes - b.minutes),
      effort: (await experienceWith(context, ['twoStageThrower']))('twoStageThrower'),
    };
  });
  const get = async (path: string) => (await shop.rest('reader', 'get', path).expect(200)).body;
  const strip = (value: unknown) =>
    JSON.parse(JSON.stringify(value, (key, one) => (/Id$|^id$|At$/.test(key) ? undefined : one))) as unknown;
  return {
    ...records,
    effort: {
      selling: records.effort.selling.toFixed(6),
      machines: records.effort.machines.map((one) => JSON.stringify(one)).sort(),
    },
    bid: strip(await get('/bid?kind=twoStageThrower&maker=Norvane&model=Ridge%2026')),
    business: strip(await get('/business?from=2021-01-01&to=2026-09-15')),
  };
}

it('200 past machines in one file leave the same money to the cent, and the same to learn from, as one by one', async () => {
  const rows = pastMachines();
  const csv = asCsv(rows);
  const preview = (await sendTable(one.shop, 'preview', csv).expect(200)).body;
  expect(preview).toMatchObject({ ready: true, jobCount: 200, faultCount: 0 });
  expect(preview.columns.every((column: Json) => column.understoodAs !== null)).toBe(true);
  expect(await countOf(one.shop)).toEqual([0, 0, 0, 0, 0, 0]);
  const imported = (await sendTable(one.shop, 'import', csv, 'past').expect(201)).body;
  expect(imported.jobs).toHaveLength(200);
  // Asked again after a bad line, it is not done again.
  await sendTable(one.shop, 'import', csv, 'past').expect(201);
  expect((await countOf(one.shop))[2]).toBe(200);

  // When the hours were worked is laid out by the import; the same moments are entered by hand.
  const labour = await one.shop.within(async ({ tx }) => {
    const entries = await tx.labourEntry.findMany({
      include: { task: { include: { job: true } } },
      orderBy: { startedAt: 'asc' },
    });
    return entries.map((entry) => ({ ...entry, kind: entry.task.kind, number: entry.task.job.number }));
  });
  const byDay = rows
    .map((row, index) => ({ row, index }))
    .sort((a, b) => (a.row.opened < b.row.opened ? -1 : a.row.opened > b.row.opened ? 1 : a.index - b.index));
  // Numbers follow the days.
  const numbers = byDay.map(({ index }) => imported.jobs[index].job.number);
  expect(numbers).toEqual(Array.from({ length: 200 }, (_, index) => index + 1));
  for (const [place, { row }] of byDay.entries()) {
    const own = labour.filter((entry) => entry.number === place + 1);
    const minutes = own.reduce(
      (sum, entry) => sum + (entry.endedAt!.getTime() - entry.startedAt.getTime()) / 60_000,
      0,
    );
    expect(minutes).toBe((Number(row['hours strip']) + Number(row['hours repair'])) * 60);
    await other.shop.within((context) => enterOneByOne(context, row, other.person.id, own));
  }
  const [atOnce, singly] = [await learntFrom(one.shop), await learntFrom(other.shop)];
  expect(atOnce.jobs).toEqual(singly.jobs);
  expect(atOnce.ledger).toEqual(singly.ledger);
  expect(atOnce.costs).toEqual(singly.costs);
  expect(atOnce.hours).toEqual(singly.hours);
  expect(atOnce).toEqual(singly);
  expect(atOnce.hours).toHaveLength(400);
  // By hand: what was paid in all is the column, its haul at 0.37 a kilometre to the cent, and the fees.
  const paid = rows.reduce(
    (sum, row) =>
      sum +
      Math.round(Number(row.paid) * 100) +
      Math.round(Number(row['haul km']) * 37) +
      Math.round(Number(row.fees || 0) * 100),
    0,
  );
  expect(imported.paid).toBe((paid / 100).toFixed(2));
  expect(await one.shop.discrepancies()).toEqual([]);
  expect(await other.shop.discrepancies()).toEqual([]);
});

describe('a table with faults', () => {
  const table = [
    'Type,Make,Bought,Paid,Colour,Sold,Sold for,Hours',
    'two-stage,Norvane,2025-04-03,60,red,2025-11-20,480,12.5',
    'car,Norvane,2025-04-03,60,,,,',
    'mower,,31.4.2025,sixty,,,,',
    'single stage,Hallgrim,2025-05-01,40,,2025-04-01,300,',
    'two-stage,Norvane,2025-04-03,60.00,red,2025-11-20,480,12.5',
    'two-stage,Pikestone,2027-01-01,60,,,,',
    'two-stage,Pikestone,2025-06-01,60,,2025-06-02,300,90',
  ].join('\n');
  it('is shown line by line, and nothing is recorded, neither by the preview nor by an import', async () => {
    const before = await countOf(one.shop);
    const preview = (await sendTable(one.shop, 'preview', table).expect(200)).body;
    expect(preview.columns.find((column: Json) => column.header === 'Colour').understoodAs).toBeNull();
    expect(preview.rows.map((row: Json) => [row.line, row.faults.length > 0])).toEqual([
      [2, false],
      [3, true],
      [4, true],
      [5, true],
      [6, true],
      [7, true],
      [8, true],
    ]);
    const faults = Object.fromEntries(preview.rows.map((row: Json) => [row.line, row.faults.join(' ')]));
    expect(preview.rows[0].understood).toBe(
      'Norvane, model not known (two-stage snow thrower), bought 2025-04-03 for 60, 12.5 h of work, sold 2025-11-20 for 480',
    );
    expect(faults[3]).toContain('"car" is not a kind');
    expect(faults[4]).toMatch(/"31.4.2025" is not a date.*"sixty" is not an amount/);
    expect(faults[5]).toContain('sold: 2025-04-01 lies before 2025-05-01, when work began');
    expect(faults[6]).toContain('The same machine stands in line 2');
    expect(faults[7]).toContain('lies in the future');
    expect(faults[8]).toContain('90 h do not fit between 2025-06-01 and 2025-06-02');
    expect(preview).toMatchObject({ ready: false, jobCount: 1, paid: '60.00', received: '480.00' });
    const refused = await sendTable(one.shop, 'import', table);
    expect(refused.status).toBe(422);
    expect(refused.body.errors.map((fault: Json) => fault.detail)).toContainEqual(
      expect.stringContaining('line 3: kind'),
    );
    expect(await countOf(one.shop)).toEqual(before);
    const { data, errors } = await one.shop.graphql(
      'owner',
      'query ($csv: String!) { previewPastMachines(csv: $csv) { ready faultCount columns { header understoodAs } } }',
      { csv: table },
    );
    expect([errors, data.previewPastMachines.faultCount]).toEqual([undefined, preview.faultCount]);
    await one.shop.rest('helper', 'post', '/past-machines/preview', { csv: table }).expect(403);
  });
  it('is imported over GraphQL once it is mended, and not a second time', async () => {
    const good = table.split('\n').slice(0, 2).join('\n');
    const mutation =
      'mutation ($csv: String!) { importPastMachines(input: { csv: $csv }) { jobCount ' +
      'jobs { job { number status notes } machine { maker model } } } }';
    const { data, errors } = await other.shop.graphql('owner', mutation, { csv: good });
    expect(errors).toBeUndefined();
    expect(data.importPastMachines.jobs[0]).toMatchObject({
      machine: { maker: 'Norvane', model: null },
      job: { status: 'sold', notes: expect.stringContaining('no safety checks are on record') },
    });
    const again = await other.shop.graphql('owner', mutation, { csv: good });
    expect(again.errors![0].message + JSON.stringify(again.errors![0].extensions)).toContain('is on record already');
  });
});

describe('past jobs taken whole', () => {
  const past = (fields: Json = {}): Json => ({
    acquiredDate: '2026-05-04',
    price: '50.00',
    machine: { kind: 'twoStageThrower', maker: 'Norvane', model: 'Ridge 26' },
    ...fields,
  });
  it('are dated as they were: purchase, work, coats, money, offers and sale; numbers follow the days', async () => {
    const { shop, person } = other;
    const product = (
      await shop.rest('owner', 'post', '/coating-products', {
        name: 'Zinc primer',
        family: 'alkyd',
        role: 'primer',
        volumeSolidsPercent: 40,
        dryFilmMicrometres: 40,
        minCelsius: 8,
        maxCelsius: 32,
        touchMinutes: 60,
        handleMinutes: 240,
        assembleMinutes: 1440,
        fullMinutes: 10080,
        containerLitres: 0.5,
        containerPrice: '20.00',
        recoatMinutes: [{ fromMinutes: 60, toMinutes: null }],
      })
    ).body;
    const before = (await shop.rest('owner', 'get', '/jobs?sort=-number&first=1')).body.items[0].number;
    const sold = past({
      acquiredDate: '2026-06-01',
      findings: [{ component: 'Auger', observation: 'Bent', verdict: 'repair' }],
      tasks: [
        {
          name: 'Straighten the auger',
          kind: 'straighten',
          handsOnMinutes: 60,
          labour: [{ personId: person.id, startedAt: '2026-06-06T14:00:00Z', endedAt: '2026-06-06T15:30:00Z' }],
        },
      ],
      expenses: [{ kind: 'other', amount: '12.40', description: 'Bearings' }],
      coats: [{ productId: product.id, surface: 'auger', appliedAt: '2026-06-07T12:00:00Z', litresUsed: 0.25 }],
      safetyChecks: { checkedBy: 'Ines', checkedDate: '2026-06-20' },
      offers: [
        { askPrice: '700.00', offeredDate: '2026-06-21', withdrawnDate: '2026-07-01' },
        { askPrice: '600.00', offeredDate: '2026-07-02' },
      ],
      sale: { soldDate: '2026-07-11', price: '560.00', sellingCost: '10.00' },
    });
    const { data, errors } = await shop.graphql(
      'owner',
      'mutation ($input: RecordPastJobsInput!) { recordPastJobs(input: $input) { jobCount paid received ' +
        'jobs { job { id number status openedDate finishedDate closedDate } } } }',
      {
        input: {
          jobs: [
            sold,
            past({
              openedDate: '2026-05-20',
              ended: { outcome: 'kept', closedDate: '2026-06-30' },
              machine: { kind: 'other', disposition: 'keep' },
            }),
          ],
        },
      },
    );
    expect(errors).toBeUndefined();
    const [first, second] = data.recordPastJobs.jobs.map((one: Json) => one.job);
    expect([second.number, first.number]).toEqual([before + 1, before + 2]);
    expect(first).toMatchObject({
      status: 'sold',
      openedDate: '2026-06-01',
      finishedDate: '2026-06-06',
      closedDate: '2026-07-11',
    });
    expect(second).toMatchObject({ status: 'kept', openedDate: '2026-05-20', closedDate: '2026-06-30' });
    const cost = (await shop.rest('owner', 'get', `/jobs/${first.id}/cost`).expect(200)).body;
    // 1.5 h at 25.00; from 1 June to 11 July 40 days at 0.50, unless space ends when it is finished; half a can of 20.00 is 10.00.
    expect(cost).toMatchObject({ purchase: '50.00', labour: '37.50', labourMinutes: 90 });
    const ledger = (await shop.rest('owner', 'get', `/ledger-entries?jobId=${first.id}&sort=occurredDate`)).body.items;
    expect(ledger.map((entry: Json) => [entry.kind, entry.amount, entry.occurredDate])).toEqual(
      expect.arrayContaining([
        ['other', '12.40', '2026-06-01'],
        ['consumable', '10.00', '2026-06-07'],
        ['saleProceeds', '560.00', '2026-07-11'],
        ['selling', '10.00', '2026-07-11'],
        // The margin scheme's tax: 13 % within the margin of 560 less 50: 510 × 13 / 113 = 58.67.
        ['tax', '58.67', '2026-07-11'],
      ]),
    );
    const offers = (await shop.rest('owner', 'get', `/offers?jobId=${first.id}&sort=offeredDate`)).body.items;
    expect(offers.map((offer: Json) => [offer.askPrice, offer.offeredDate, offer.withdrawnDate])).toEqual([
      ['700.00', '2026-06-21', '2026-07-01'],
      ['600.00', '2026-07-02', '2026-07-11'],
    ]);
    expect(await shop.discrepancies()).toEqual([]);
  });

  it.each([
    ['an open job stays open', {}, 201, null],
    ['a day that has not been', { acquiredDate: '2026-09-16' }, 422, '/acquiredDate'],
    ['a job before its machine', { openedDate: '2026-05-03' }, 422, '/jobs/1/openedDate'],
    ['a sale today without checks', { sale: { soldDate: '2026-09-15', price: '1.00' } }, 422, '/soldDate'],
    [
      'sold and kept',
      { sale: { soldDate: '2026-06-01', price: '1.00' }, ended: { outcome: 'kept', closedDate: '2026-06-01' } },
      422,
      '/jobs/1/ended',
    ],
    [
      'work before the machine came',
      {
        tasks: [
          {
            name: 'Strip',
            kind: 'strip',
            labour: [{ personId: 'P', startedAt: '2026-05-01T10:00:00Z', endedAt: '2026-05-01T11:00:00Z' }],
          },
        ],
      },
      422,
      '/jobs/1/tasks/0/labour/0/startedAt',
    ],
  ] as const)('%s', async (_what, fields, status, pointer) => {
    const { shop, person } = other;
    const before = await countOf(shop);
    const given = JSON.parse(JSON.stringify(past(fields)).replace('"P"', JSON.stringify(person.id))) as Json;
    const reply = await shop.rest('owner', 'post', '/past-jobs', { jobs: [past(), given] });
    expect([reply.status, reply.body.errors?.[0]?.pointer ?? null]).toEqual([status, pointer]);
    const added = status === 201 ? 2 : 0;
    expect((await countOf(shop)).slice(0, 3)).toEqual(before.slice(0, 3).map((count) => count + added));
  });
});
