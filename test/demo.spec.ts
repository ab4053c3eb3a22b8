/** The demo shop: what it must hold, whichever day it is loaded. Its content is invented; only its completeness is checked. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { loadDemo } from '../seed/demo.js';
import { demoSeason } from '../seed/demo-season.js';
import { areas } from '../src/app.module.js';
import { jobCosts } from '../src/cost/cost.queries.js';
import { readReadiness } from '../src/desk/season/readiness.queries.js';
import { type ArrivalLine, forecastArrival, learnArrivals, probabilityByDate } from '../src/engine/arrival/index.js';
import { lookUp } from '../src/engine/look-up.js';
import { ports } from '../src/opening/ports.js';
import { asDay } from '../src/platform/operation/columns.js';
import { inTransaction, runWithin } from '../src/platform/operation/execute.js';
import type { OperationContext } from '../src/platform/operation/operation.js';
import { noThreads } from '../src/platform/workers/pool.js';
import { jobsById } from '../src/work/work.queries.js';
import { createTestDatabase, type TestDatabase } from './harness/database.js';

const operations = new Map(areas.flatMap((area) => area.operations).map((one) => [one.name, one]));

let opened: TestDatabase;
const load = async (now: Date) => {
  const { shopId, ownerKey } = await loadDemo(opened.database, now);
  const appContext = {
    database: opened.database,
    clock: () => now,
    threads: noThreads,
    checkReplies: true,
    ports,
    reportFault: () => {},
  };
  return {
    shopId,
    ownerKey,
    within: <T>(work: (context: OperationContext) => Promise<T>) =>
      inTransaction(appContext, { shopId, role: 'owner', accessKeyId: null }, work),
  };
};

beforeAll(async () => {
  opened = await createTestDatabase();
});
afterAll(() => opened.close());

describe.each([new Date('2026-11-25T15:00:00Z'), new Date('2027-06-20T13:00:00Z')])('loaded on %s', (now) => {
  let shop: Awaited<ReturnType<typeof load>>;
  beforeAll(async () => {
    shop = await load(now);
  }, 180_000);

  it('has a machine in every stage, a donor, a keeper and a scrapped one', async () => {
    await shop.within(async (context) => {
      const machines = await context.tx.machine.findMany({ where: { jobs: { none: { outcome: 'sold' } } } });
      expect(machines.length).toBeGreaterThanOrEqual(14);
      expect(new Set(machines.map((one) => one.disposition))).toEqual(new Set(['sell', 'keep', 'donor', 'scrap']));
      const jobs = await jobsById(
        context,
        (await context.tx.job.findMany({ select: { id: true } })).map((job) => job.id),
      );
      expect(new Set(jobs.map((job) => job.status))).toEqual(
        new Set(['intake', 'diagnosed', 'inWork', 'finished', 'offered', 'sold', 'kept', 'scrapped']),
      );
      expect(jobs.filter((job) => job.status === 'sold')).toHaveLength(15);
      // One of them as it was found; one in work goes without paint; and findings have led to work.
      expect(new Set(jobs.map((job) => job.scope))).toEqual(new Set(['full', 'mechanical', 'sellAsFound']));
      expect(await context.tx.taskFinding.count()).toBeGreaterThanOrEqual(3);
      expect(await context.tx.harvest.count()).toBe(1);
    });
  });

  it('has a back-order without a date, a machine on the rack, sixty comparables and thirty winters', async () => {
    await shop.within(async (context) => {
      const last = await context.tx.promise.findFirst({ where: { promisedDate: null }, include: { orderLine: true } });
      expect(Number(last!.orderLine.quantityOrdered) - Number(last!.orderLine.quantityReceived)).toBe(3);
      const onRack = await context.tx.task.findMany({
        where: { kind: 'cure', startedAt: { not: null }, finishedAt: null, job: { closedDate: null } },
      });
      expect(onRack.length + (await context.tx.coat.count())).toBeGreaterThan(0);
      expect(await context.tx.comparable.count()).toBe(60);
      expect(await context.tx.stationDay.count()).toBeGreaterThan(30 * 365);
    });
  });

  it('says of a new single-stage thrower what the past ones came to', async () => {
    // Ten past ones against the range between P10 and P90 of one that came in today for nothing: eight are expected
    // inside, and fewer than six hardly ever (3 % of binomial draws).
    const { past, range } = await shop.within(async (context) => {
      const sold = await context.tx.job.findMany({
        where: { outcome: 'sold', purpose: 'refurbish', machine: { kind: 'singleStageThrower' } },
        select: { id: true },
        orderBy: { number: 'desc' },
        take: 10,
      });
      const taken = await runWithin(context, lookUp(operations, 'recordIntake'), {
        source: 'donation',
        acquiredDate: context.today,
        price: '0.00',
        machines: [{ kind: 'singleStageThrower', maker: 'Norvane', model: 'Drift 21' }],
      });
      const jobId = (taken as { machines: { job: { id: string } }[] }).machines[0]!.job.id;
      const [fresh] = await jobCosts(context, [jobId]);
      return {
        past: (
          await jobCosts(
            context,
            sold.map(({ id }) => id),
          )
        ).map(({ statement }) => statement.fullCost.minus(statement.acquisition).minus(statement.selling).toNumber()),
        range: fresh!.estimate,
      };
    });
    expect(past).toHaveLength(10);
    const inside = past.filter((cost) => cost >= range.p10.toNumber() && cost <= range.p90.toNumber());
    expect(inside.length).toBeGreaterThanOrEqual(6);
    expect(past.filter((cost) => cost > range.p90.toNumber()).length).toBeLessThanOrEqual(3);
  });

  it('has the snow still ahead, and something to decide', async () => {
    await shop.within(async (context) => {
      const readiness = await readReadiness(context);
      const median = readiness.firstSnowMedian ?? '';
      expect(median > context.today).toBe(true);
      const days = (Date.parse(median) - Date.parse(context.today)) / 86_400_000;
      expect(days).toBeGreaterThan(45);
      expect(days).toBeLessThan(140);
      expect(readiness.jobs.length).toBeGreaterThanOrEqual(9);
      // Something to decide: room for another machine.
      expect(readiness.capacity.some((one) => (one.moreThatFit ?? 0) > 0)).toBe(true);
    });
  });
});

describe("the demo's season", () => {
  it('lies ahead on every day of the year', () => {
    for (let day = 0; day < 366; day += 1) {
      const today = new Date(Date.UTC(2027, 0, 1 + day)).toISOString().slice(0, 10);
      const { firstSnow, latitude } = demoSeason(today);
      const ahead = (Date.parse(firstSnow) - Date.parse(today)) / 86_400_000;
      expect(ahead).toBeGreaterThanOrEqual(77);
      expect(ahead).toBeLessThan(140);
      // Inside the winter half of its hemisphere, far from the day a season begins.
      expect(
        latitude < 0 ? firstSnow.slice(5) >= '02-25' && firstSnow.slice(5) <= '07-10' : firstSnow.slice(5) >= '08-28',
      ).toBe(true);
    }
  });
});

describe("delivery times learnt from the demo's history", () => {
  it('hold what they state: four in five arrive inside an 80 % interval', async () => {
    const { rows } = await opened.database.pool.query<{ id: string }>('SELECT id FROM list_shops()');
    const lines = await opened.database.withShop(rows[0]!.id, (tx) =>
      tx.orderLine.findMany({
        include: { order: true, part: true, receipts: true, promises: { orderBy: { sequence: 'asc' } } },
      }),
    );
    const history = lines
      .map((line): ArrivalLine => ({
        id: line.id,
        supplierId: line.order.supplierId,
        family: line.part.family,
        orderedDate: asDay(line.order.orderedDate),
        receivedDate: line.receipts[0] ? asDay(line.receipts[0].receivedDate) : null,
        promises: line.promises.map((one) => ({
          statedDate: asDay(one.statedDate),
          promisedDate: one.promisedDate ? asDay(one.promisedDate) : null,
        })),
      }))
      .sort((a, b) => (a.orderedDate < b.orderedDate ? -1 : 1));
    let inside = 0;
    let tried = 0;
    for (const line of history.filter((one) => one.receivedDate).slice(10)) {
      // Only what was known on the day of the order: the model looks at nothing later.
      const model = learnArrivals(history, line.orderedDate);
      const forecast = forecastArrival(model, { ...line, receivedDate: null }, line.orderedDate);
      // Where the arrival fell in its own forecast, the day itself counted half: days are whole.
      const before = probabilityByDate(
        forecast,
        new Date(Date.parse(line.receivedDate!) - 86_400_000).toISOString().slice(0, 10),
      );
      const place = (before + probabilityByDate(forecast, line.receivedDate!)) / 2;
      tried += 1;
      if (place > 0.1 && place < 0.9) inside += 1;
    }
    expect(tried).toBeGreaterThanOrEqual(30);
    // With so few, two standard errors are about 14 points: this says that nothing is far off, the simulation says the rest.
    expect(inside / tried).toBeGreaterThan(0.75);
    expect(inside / tried).toBeLessThan(0.85);
  });
});
