/** Computing off the event loop: what threads give back, how they are given up, what they tell on the way. */
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { EngineError } from '../src/engine/error.js';
import { estimateAtCompletion } from '../src/engine/money/index.js';
import { after, planJob, planRecords, planTask } from '../src/plan/model/plan-fixtures.js';
import { computePlan } from '../src/plan/simulation/compute-plan.js';
import { workerTasks } from '../src/plan/simulation/worker-tasks.js';
import { projectRoot } from '../src/platform/launch/root.js';
import { noThreads, ThreadPool, type Threads } from '../src/platform/workers/pool.js';
import type { Progress, WorkerTask } from '../src/platform/workers/worker-task.js';
import { advicesOf } from '../src/resale/advice.js';
import { workerTasks as resaleWorks } from '../src/resale/worker-tasks.js';
import { startTestShop } from './harness/server.js';

const pool = () =>
  new ThreadPool({
    thread: pathToFileURL(path.join(projectRoot, '.build/src/platform/workers/thread.js')),
    most: 1,
    niceness: 1,
  });
const jobs = Array.from({ length: 20 }, (_, k) => planJob({ id: `job ${k}`, number: k, dueDate: '2026-10-20' }));
const tasks = jobs.flatMap((one) =>
  Array.from({ length: 8 }, (_, k) =>
    planTask({
      id: `${one.id} ${k}`,
      jobId: one.id,
      handsOnMinutes: 60,
      minMinutes: 30,
      maxMinutes: 120,
      placeKind: 'bench',
      links: k ? [after(`${one.id} ${k - 1}`)] : [],
    }),
  ),
);
const question = { records: planRecords({ jobs, tasks }), last: null, seed: 1, schedules: 60, scenarios: 100 };
const endless = { ...question, schedules: 10_000_000 };

describe('threads', () => {
  it('compute what the same work gives on the spot', async () => {
    const threads = pool();
    expect(await threads.run(workerTasks.plan, question)).toEqual(computePlan(question));
    await expect(
      threads.run(workerTasks.plan, { ...question, records: { ...question.records, tasks: [...tasks, tasks[0]!] } }),
    ).rejects.toMatchObject({ name: 'EngineError', code: 'duplicate-id' });
    expect((await threads.run(workerTasks.plan, { ...question, schedules: 0 })).search.schedules).toBe(0);
    await threads.close();
    await expect(threads.run(workerTasks.plan, question)).rejects.toMatchObject({ code: 'cancelled' });
  });

  it('refuse what is no plain data, and are there for the next', async () => {
    const threads = pool();
    await expect(
      threads.run(workerTasks.plan, { ...question, seed: (() => 1) as unknown as number }),
    ).rejects.toMatchObject({
      name: 'DataCloneError',
    });
    expect(
      (await threads.run(workerTasks.plan, { ...question, schedules: 0, scenarios: 1 })).simulation.scenarios,
    ).toBe(1);
    await threads.close();
  });

  it('are given up at once, and work on with what waits', async () => {
    const threads = pool();
    const long = new AbortController();
    const began = performance.now();
    const given = threads.run(workerTasks.plan, endless, { signal: long.signal });
    const next = threads.run(workerTasks.plan, { ...question, schedules: 0, scenarios: 1 });
    setTimeout(() => long.abort(), 100);
    await expect(given).rejects.toMatchObject({ code: 'cancelled' });
    expect((await next).simulation.scenarios).toBe(1);
    expect(performance.now() - began).toBeLessThan(10_000);
    const ended = expect(threads.run(workerTasks.plan, endless)).rejects.toMatchObject({ code: 'cancelled' });
    await threads.close();
    await ended;
  });

  it('are left by whoever gives up while waiting for one', async () => {
    const threads = pool();
    const [running, waiting] = [new AbortController(), new AbortController()];
    const busy = expect(threads.run(workerTasks.plan, endless, { signal: running.signal })).rejects.toMatchObject({
      code: 'cancelled',
    });
    const first = threads.run(
      workerTasks.plan,
      { ...question, schedules: 0, scenarios: 1 },
      { signal: waiting.signal },
    );
    const second = threads.run(workerTasks.plan, { ...question, schedules: 0, scenarios: 2 });
    waiting.abort();
    // At once, though the thread is still at work.
    await expect(first).rejects.toMatchObject({ code: 'cancelled' });
    running.abort();
    await busy;
    expect((await second).simulation.scenarios).toBe(2);
    await threads.close();
  });

  it('work in a process that was started at a low priority and may not leave it', () => {
    const script = `
      const { ThreadPool } = await import(process.argv[2]);
      const { workerTasks } = await import(process.argv[3]);
      const threads = new ThreadPool({ thread: new URL('./thread.js', process.argv[2]), most: 1, niceness: 0 });
      const question = JSON.parse(process.argv[4], (key, value) => (key === 'now' ? new Date(value) : value));
      console.log(await threads.run(workerTasks.finishOfAnother, question));
      await threads.close();`;
    const file = path.join(fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-nice-')), 'run.mjs');
    fs.writeFileSync(file, script);
    fs.chmodSync(path.dirname(file), 0o755);
    const built = (module: string) => pathToFileURL(path.join(projectRoot, '.build/src', module)).href;
    const asked = JSON.stringify({ records: planRecords(), route: [] });
    // As another user where that may be, since root may leave any priority.
    const nobody = { uid: 65_534 };
    const options =
      process.getuid?.() === 0 &&
      spawnSync('test', ['-r', path.join(projectRoot, '.build/src/plan/simulation/worker-tasks.js')], nobody).status ===
        0
        ? nobody
        : {};
    const { stdout, stderr } = spawnSync(
      'nice',
      [
        '-n',
        '10',
        process.execPath,
        file,
        built('platform/workers/pool.js'),
        built('plan/simulation/worker-tasks.js'),
        asked,
      ],
      { encoding: 'utf8', env: { PATH: process.env.PATH ?? '' }, ...options },
    );
    fs.rmSync(path.dirname(file), { recursive: true });
    expect({ stdout, stderr }).toEqual({ stdout: 'null\n', stderr: '' });
  });

  it('tell how far they are while they work', async () => {
    const threads = pool();
    const enough = new AbortController();
    const told: Progress[] = [];
    const onProgress = (progress: Progress): void => {
      told.push(progress);
      if (told.length === 3) enough.abort();
    };
    await expect(
      threads.run(workerTasks.plan, { ...endless, schedules: 1_000_000 }, { signal: enough.signal, onProgress }),
    ).rejects.toMatchObject({ code: 'cancelled' });
    expect(told.map((one) => one.stage)).toEqual(['searching', 'searching', 'searching']);
    const shares = told.map((one) => one.share);
    expect(shares[0]).toBeGreaterThan(0);
    expect(shares[1]).toBeGreaterThan(shares[0]!);
    expect(shares[2]).toBeGreaterThan(shares[1]!);
    expect(shares[2]).toBeLessThan(1);
    await threads.close();
  });
});

describe('every declared work', () => {
  const declared = fs
    .readdirSync(path.join(projectRoot, 'src'), { recursive: true, encoding: 'utf8' })
    .filter((file) => path.basename(file) === 'worker-tasks.ts')
    .map((file) => path.dirname(file));

  it('is found by a thread where it says it is', async () => {
    expect(declared.sort()).toEqual([
      'choice',
      'finish',
      'pictures',
      'plan/simulation',
      'purchasing',
      'resale',
      'season',
    ]);
    for (const area of declared) {
      const { workerTasks: its } = (await import(`../src/${area}/worker-tasks.js`)) as {
        workerTasks: Record<string, WorkerTask<unknown, unknown>>;
      };
      const compiled = (await import(
        pathToFileURL(path.join(projectRoot, '.build/src', area, 'worker-tasks.js')).href
      )) as {
        workerTasks: typeof its;
      };
      for (const [name, work] of Object.entries(its)) {
        expect(work).toMatchObject({ module: `${area}/worker-tasks`, name });
        expect(compiled.workerTasks[name]).toMatchObject({
          module: `${area}/worker-tasks`,
          name,
          long: work.long,
          amounts: work.amounts,
        });
      }
    }
  });

  it('gives amounts back as amounts', async () => {
    const threads = pool();
    const sold = (price: number, seenDate: string) => ({
      kind: 'mower',
      condition: 4,
      priceKind: 'sold' as const,
      price: new Decimal(price),
      seenDate,
    });
    const market = {
      comparables: [sold(180, '2026-05-02'), sold(210, '2026-06-11'), sold(195, '2026-08-20')],
      listings: [],
      today: '2026-09-15',
      currency: 'CAD',
      tax: { kind: 'none' as const },
      enquiryElasticity: 4,
      salesTaxBasis: 'invoice' as const,
      marginAccounting: 'item' as const,
      taxPeriodMonths: 3,
      tradeInLowersTax: false,
      snowKinds: [],
      firstSnows: [],
      seasonEndMonthDay: '03-15',
    };
    const machine = {
      kind: 'mower',
      maker: 'Hallgrim',
      model: 'Meadow 21',
      condition: 3,
      yearEstimate: null,
      clearingWidthMillimetres: null,
    };
    const figures = {
      leavesAs: 4,
      cost: estimateAtCompletion('61.25', [], 'CAD'),
      soldHere: 0,
      cashCost: new Decimal('40.10'),
      toPay: new Decimal(0),
      purchaseLeft: new Decimal(25),
      borneBefore: new Decimal(0),
    };
    const job = {
      jobId: 'one',
      machine,
      listing: null,
      terms: { tax: { kind: 'none' as const }, purchasePrice: new Decimal(25), fixedCost: new Decimal(0) },
      listFrom: '2026-09-15',
      labourMinutes: 240,
      remainingMinutes: 0,
      ...figures,
    };
    const asked = { market, jobs: [job], spacePerDay: new Decimal('0.5') };
    const there = await threads.run(resaleWorks.advice, asked);
    expect(Decimal.isDecimal(there.advices.get('one')!.ask)).toBe(true);
    expect(there).toEqual(advicesOf(asked));
    await threads.close();
  });
});

describe('whoever hangs up', () => {
  it('stops what was computed for them alone, through both APIs', async () => {
    let begun = (): void => {};
    let ended = (): void => {};
    const threads: Threads = {
      ...noThreads,
      close: () => Promise.resolve(),
      run: (work, asked, options) =>
        work.name === 'whatIf'
          ? new Promise((_, reject) => {
              begun();
              options!.signal!.addEventListener(
                'abort',
                () => (ended(), reject(new EngineError('cancelled', 'given up'))),
                { once: true },
              );
            })
          : noThreads.run(work, asked),
    };
    const shop = await startTestShop({}, undefined, threads);
    const { port } = shop.app.getHttpServer().address() as AddressInfo;
    const headers = { Authorization: `Bearer ${shop.keys.owner}`, 'Content-Type': 'application/json' };
    const ask = {
      rest: { path: '/v1/plan/what-if?extraMinutesADay=60' },
      graphql: {
        path: '/graphql',
        method: 'POST',
        body: JSON.stringify({ query: '{ whatIf(extraMinutesADay: 60) { change } }' }),
      },
    };
    for (const { body, ...to } of [{ ...ask.rest, body: '' }, ask.graphql]) {
      const underWay = new Promise<void>((resolve) => (begun = resolve));
      const stopped = new Promise<void>((resolve) => (ended = resolve));
      const request = http.request({ port, host: '127.0.0.1', headers, ...to });
      request.on('error', () => {});
      request.end(body);
      await underWay;
      request.destroy();
      // Hangs, and fails by its time, if nobody tells.
      await stopped;
    }
    await shop.rest('owner', 'get', '/places').expect(200);
    await shop.close();
  }, 20_000);
});

describe('whoever waits for seconds', () => {
  it('leaves connections to whoever reads', async () => {
    let go = (): void => {};
    const released = new Promise<void>((resolve) => (go = resolve));
    const threads: Threads = {
      ...noThreads,
      close: () => Promise.resolve(),
      run: async (work, asked) => (work.name === 'whatIf' && (await released), noThreads.run(work, asked)),
    };
    const shop = await startTestShop({}, undefined, threads);
    // More than the service has connections.
    const waiting = Array.from({ length: 15 }, (_, k) =>
      shop.rest('owner', 'get', `/plan/what-if?extraMinutesADay=${k + 10}`).then(({ status }) => status),
    );
    await new Promise((resolve) => setTimeout(resolve, 300));
    for (let k = 0; k < 5; k += 1) await shop.rest('reader', 'get', '/places').expect(200);
    go();
    expect(await Promise.all(waiting)).toEqual(Array(15).fill(200));
    await shop.close();
  }, 20_000);
});
