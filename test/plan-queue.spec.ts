/** Planning in the background: the queue in the database, planners side by side, their progress, and what reads make of it. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import { EngineError } from '../src/engine/error.js';
import { ports } from '../src/opening/ports.js';
import { ENGINE_VERSION } from '../src/plan/background/plan-store.js';
import { REPLAN } from '../src/plan/background/replan-settings.js';
import { replanNext, startReplanning } from '../src/plan/background/replanner.js';
import type { AppContext } from '../src/platform/operation/execute.js';
import { noThreads, type Threads } from '../src/platform/workers/pool.js';
import type { Progress } from '../src/platform/workers/worker-task.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

const quick = { ...REPLAN, schedules: 60, scenarios: 50, settleMilliseconds: 0, pollMilliseconds: 20 };

let shop: TestShop;
let job: Json;
let admin: pg.Client;
const appContext = (threads: Threads = noThreads): AppContext => ({
  database: shop.database,
  clock: () => shop.clock.now,
  threads,
  checkReplies: true,
  ports,
  reportFault: (error) => {
    throw error;
  },
});
const post = async (where: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', where, body).expect(201)).body;
const plan = async (query = ''): Promise<Json> => (await shop.rest('owner', 'get', `/plan${query}`).expect(200)).body;
const request = async (shopId = shop.shopId): Promise<Json> =>
  (await admin.query('select * from "PlanRequest" where "shopId" = $1', [shopId])).rows[0];
const addTask = (code: string) =>
  post('/tasks', {
    jobId: job.id,
    code,
    name: code,
    kind: 'service',
    handsOnMinutes: 60,
    minMinutes: 30,
    maxMinutes: 120,
  });

/** Works on the spot; before the planning itself something else happens, with its progress in hand. */
const onPlanning = (happen: (told: (progress: Progress) => void, signal?: AbortSignal) => unknown): Threads => ({
  ...noThreads,
  close: () => Promise.resolve(),
  async run(work, question, options = {}) {
    if (work.name === 'plan') await happen(options.onProgress ?? (() => {}), options.signal);
    return noThreads.run(work, question);
  },
});

beforeAll(async () => {
  shop = await startTestShop();
  admin = new pg.Client({ connectionString: shop.adminUrl });
  await admin.connect();
  const machine = await post('/machines', { kind: 'singleStageThrower', maker: 'Norvane', model: 'Drift 21' });
  job = await post('/jobs', { machineId: machine.id, promisedDate: '2026-10-01' });
  await addTask('one');
  await addTask('two');
}, 60_000);
afterAll(async () => {
  await admin.end();
  await shop.close();
});

describe('the queue', () => {
  it('hears of every commit once, whoever writes, and of nothing that was rolled back', async () => {
    const { revision, weatherRevision } = await request();
    await post('/people', { name: 'Mira', weeklyHours: [] });
    expect(await request()).toMatchObject({ revision: revision + 1, weatherRevision });
    await shop.rest('owner', 'post', '/people', { name: '' }).expect(422);
    await shop.database
      .withShop(shop.shopId, async (tx) => {
        await tx.person.updateMany({ data: { name: 'Gone again' } });
        throw new Error('no');
      })
      .catch(() => {});
    expect((await request()).revision).toBe(revision + 1);
    // Two thousand station days in one request count once, and as weather.
    const station = await post('/stations', { name: 'Lake Fennow', latitude: 45.5, longitude: -75.6 });
    const days = Array.from({ length: 2000 }, (_, k) => ({
      day: new Date(Date.UTC(2015, 0, 1 + k)).toISOString().slice(0, 10),
      highCelsius: 12,
      lowCelsius: 4,
      snowfallMillimetres: 0,
    }));
    await shop.rest('owner', 'post', `/stations/${station.id}/days`, { days }).expect(200);
    expect(await request()).toMatchObject({ revision: revision + 3, weatherRevision: weatherRevision + 2 });
  });

  it('gives a shop to one planner at a time, merges a burst, and writes what reads then answer from', async () => {
    const other = await shop.anotherShop();
    const done = await Promise.all(
      Array.from({ length: 6 }, (_, k) => replanNext(appContext(), `planner ${k}`, quick)),
    );
    // Two shops waited; each was planned once.
    expect(done.filter((one) => one !== null).sort()).toEqual([shop.shopId, other.shopId].sort());
    expect(await request()).toMatchObject({ claimedBy: null, plannedRevision: (await request()).revision });
    expect(await replanNext(appContext(), 'planner', quick)).toBeNull();
    const told = await plan();
    expect(told).toMatchObject({ stale: false, scenarios: 50 });
    expect(told.schedulesTried).toBeGreaterThan(0);
    const { rows } = await admin.query('select fingerprint, seed from "Plan" where "shopId" = $1', [shop.shopId]);
    expect(rows).toEqual([{ fingerprint: told.fingerprint, seed: told.seed }]);
  });

  it('answers from the kept plan in two statements, and anew once records have changed', async () => {
    await plan();
    const { statements } = await shop.database.countStatements(() =>
      shop.rest('reader', 'get', '/plan/bench').expect(200),
    );
    // Whose key, when it was last used, the shop's facts, whether the plan still fits.
    expect(statements.filter((sql) => /"(Plan|PlanRequest|Task|Job|StationDay)"/.test(sql))).toHaveLength(1);
    await addTask('three');
    const old = await plan('?stale=true');
    expect(old).toMatchObject({ stale: true, scenarios: 50 });
    expect(old.tasks.map((one: Json) => one.name)).not.toContain('three');
    const { plan: same } = (await shop.graphql('owner', '{ plan(stale: true) { stale fingerprint } }')).data;
    expect(same).toEqual({ stale: true, fingerprint: old.fingerprint });
    const fresh = await plan();
    expect(fresh).toMatchObject({ stale: false, scenarios: 500, ageSeconds: 0 });
    expect(fresh.tasks.map((one: Json) => one.name)).toContain('three');
    // Now there is nothing stale to take.
    expect(await plan('?stale=true')).toMatchObject({ stale: false, fingerprint: fresh.fingerprint });
    // The background's plan takes the place of the one made for the purpose.
    await replanNext(appContext(), 'planner', quick);
    expect(await plan()).toMatchObject({ stale: false, scenarios: 50, ageSeconds: 0 });
    shop.clock.now = new Date(shop.clock.now.getTime() + 10 * 60_000);
    expect(await plan()).toMatchObject({ stale: false, scenarios: 50, ageSeconds: 600 });
  });

  it('is taken over from a planner that was killed, when its lease is up; what the killed one still writes is dropped', async () => {
    await addTask('four');
    const { revision } = await request();
    const claim = async (worker: string, lease: number) =>
      (await admin.query('select * from claim_plan_request($1, $2, 0, $3, 3600)', [worker, ENGINE_VERSION, lease]))
        .rows;
    expect(await claim('killed', 60)).toEqual([{ shopId: shop.shopId }]);
    expect(await replanNext(appContext(), 'second', quick)).toBeNull();
    await admin.query(`update "PlanRequest" set "claimedAt" = now() - interval '2 minutes'`);
    expect(await replanNext(appContext(), 'second', quick)).toBe(shop.shopId);
    expect(await request()).toMatchObject({ plannedRevision: revision, claimedBy: null });
    // A slow one whose claim was given to another writes nothing.
    await addTask('five');
    const plans = async () =>
      Number((await admin.query('select count(*) from "Plan" where "shopId" = $1', [shop.shopId])).rows[0].count);
    const before = await plans();
    const robbed = onPlanning(
      () => void admin.query(`update "PlanRequest" set "claimedBy" = 'another' where "shopId" = $1`, [shop.shopId]),
    );
    await replanNext(appContext(robbed), 'slow', quick);
    expect(await plans()).toBe(before);
    await admin.query('update "PlanRequest" set "claimedBy" = null, "claimedAt" = null');
  });

  it('is served by two replicas that start and stop', async () => {
    const stops = [startReplanning(appContext(), quick), startReplanning(appContext(), quick)];
    await addTask('six');
    await addTask('seven');
    for (let tries = 0; tries < 300 && (await request()).plannedRevision < (await request()).revision; tries += 1)
      await new Promise((resolve) => setTimeout(resolve, 20));
    await Promise.all(stops.map((stop) => stop()));
    expect(await request()).toMatchObject({ plannedRevision: (await request()).revision, claimedBy: null });
    expect((await plan()).tasks.map((one: Json) => one.name)).toEqual(expect.arrayContaining(['six', 'seven']));
  });

  it('renews a plan that an older engine made, though nothing has changed', async () => {
    await replanNext(appContext(), 'planner', quick);
    expect(await replanNext(appContext(), 'planner', quick)).toBeNull();
    await admin.query(`update "Plan" set "engineVersion" = '0' where "shopId" = $1`, [shop.shopId]);
    expect((await shop.rest('reader', 'get', '/plan/progress').expect(200)).body.upToDate).toBe(false);
    expect(await replanNext(appContext(), 'planner', quick)).toBe(shop.shopId);
    expect((await shop.rest('reader', 'get', '/plan/progress').expect(200)).body.upToDate).toBe(true);
    expect(await replanNext(appContext(), 'planner', quick)).toBeNull();
  });

  it('is left to the next planner by one that is stopped in the middle', async () => {
    await addTask('stopped');
    const stopping = new AbortController();
    const stopped = onPlanning(() => {
      stopping.abort();
      throw new EngineError('cancelled', 'given up');
    });
    await expect(replanNext(appContext(stopped), 'first', quick, stopping.signal)).rejects.toMatchObject({
      code: 'cancelled',
    });
    expect(await request()).toMatchObject({
      claimedBy: null,
      claimedAt: null,
      planningSince: null,
      stage: null,
      fault: null,
    });
    expect(await replanNext(appContext(), 'next', quick)).toBe(shop.shopId);
  });

  it('keeps the last ten plans', async () => {
    for (let k = 0; k < 12; k += 1) {
      shop.clock.now = new Date(shop.clock.now.getTime() + 60_000);
      await admin.query('update "PlanRequest" set revision = revision + 1');
      await replanNext(appContext(), 'planner', { ...quick, schedules: 3, scenarios: 1 });
      await replanNext(appContext(), 'planner', { ...quick, schedules: 3, scenarios: 1 });
    }
    expect(
      (await admin.query('select count(*)::int as kept from "Plan" where "shopId" = $1', [shop.shopId])).rows[0].kept,
    ).toBe(10);
  });
});

describe('progress', () => {
  const progress = async (): Promise<Json> => (await shop.rest('reader', 'get', '/plan/progress').expect(200)).body;

  it('tells through both APIs what waits and how far the planning is', async () => {
    await replanNext(appContext(), 'planner', quick);
    const idle = await progress();
    expect(idle).toEqual({
      upToDate: true,
      updatedAt: null,
      plannedAt: expect.any(String),
      renewal: null,
      fault: null,
    });
    await addTask('eight');
    const waiting = await progress();
    expect(waiting).toMatchObject({ upToDate: false, plannedAt: idle.plannedAt, renewal: null });
    expect(Date.parse(waiting.updatedAt)).toBeGreaterThan(Date.parse(idle.plannedAt));
    const seen: Json[] = [];
    const watched = onPlanning(async (told) => {
      seen.push((await progress()).renewal);
      told({ stage: 'searching', share: 0.4 });
      await heard('searching');
      seen.push((await progress()).renewal);
      told({ stage: 'simulating', share: 0.75 });
      await heard('simulating');
      seen.push(
        (await shop.graphql('helper', '{ planProgress { upToDate renewal { since stage share } fault { detail } } }'))
          .data.planProgress,
      );
    });
    await replanNext(appContext(watched), 'planner', { ...quick, progressMilliseconds: 0 });
    const since = expect.any(String);
    expect(seen).toEqual([
      { since, stage: 'reading', share: 0 },
      { since, stage: 'searching', share: 0.4 },
      { upToDate: false, renewal: { since, stage: 'simulating', share: 0.75 }, fault: null },
    ]);
    expect(await progress()).toMatchObject({ upToDate: true, updatedAt: null, renewal: null, fault: null });
  });

  it('renews the claim, so that a long planning is not taken for a killed one; one that was taken is given up', async () => {
    await addTask('nine');
    let ended: unknown;
    const long = onPlanning(async (told, signal) => {
      await admin.query(`update "PlanRequest" set "claimedAt" = now() - interval '50 seconds'`);
      told({ stage: 'searching', share: 0.1 });
      await heard('searching');
      // Another asks, with a shorter lease: the claim is fresh again.
      expect(await replanNext(appContext(), 'other', { ...quick, leaseSeconds: 40 })).toBeNull();
      await admin.query(`update "PlanRequest" set "claimedBy" = 'another'`);
      told({ stage: 'searching', share: 0.2 });
      await new Promise<void>((resolve) => signal!.addEventListener('abort', () => resolve(), { once: true }));
      ended = signal!.aborted;
      throw new EngineError('cancelled', 'given up');
    });
    const before = (await request()).plannedRevision;
    expect(await replanNext(appContext(long), 'long', { ...quick, progressMilliseconds: 0 })).toBe(shop.shopId);
    expect(ended).toBe(true);
    expect(await request()).toMatchObject({ plannedRevision: before, claimedBy: 'another', fault: null });
    await admin.query('update "PlanRequest" set "claimedBy" = null, "claimedAt" = null');
    await replanNext(appContext(), 'planner', quick);
  });

  it('says why there is no plan, in words of ours only', async () => {
    for (const [thrown, detail] of [
      [new EngineError('no-room', 'Task one has no place'), 'Task one has no place'],
      [new TypeError('x.y is not a function'), 'Something went wrong here; it has been written to the log.'],
    ] as const) {
      await admin.query(
        'update "PlanRequest" set revision = revision + 1, "claimedBy" = null, "claimedAt" = null where "shopId" = $1',
        [shop.shopId],
      );
      const failing = onPlanning(() => Promise.reject(thrown));
      await expect(replanNext(appContext(failing), 'planner', quick)).rejects.toThrow();
      expect(await progress()).toMatchObject({
        upToDate: false,
        renewal: null,
        fault: { at: expect.any(String), detail },
      });
      // Not tried again at once.
      expect(await replanNext(appContext(), 'planner', quick)).toBeNull();
    }
    await admin.query('update "PlanRequest" set "claimedBy" = null, "claimedAt" = null');
    await replanNext(appContext(), 'planner', quick);
    expect(await progress()).toMatchObject({ upToDate: true, fault: null });
  });

  async function heard(stage: string): Promise<void> {
    for (let tries = 0; tries < 200 && (await request()).stage !== stage; tries += 1)
      await new Promise((resolve) => setTimeout(resolve, 10));
  }
});
