/** Findings and safety checks, over HTTP on a real database. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { missingSafetyChecks, safetyStatus } from '../src/diagnosis/diagnosis.queries.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let machine: Json;
let foreign: Json;

beforeAll(async () => {
  shop = await startTestShop();
  machine = await makeMachine('twoStageThrower');
  const other = await shop.anotherShop();
  const own = shop.keys.owner;
  shop.keys.owner = other.keys.owner;
  foreign = await makeMachine('twoStageThrower');
  shop.keys.owner = own;
}, 60_000);
afterAll(() => shop?.close(), 60_000);

async function makeMachine(kind: string): Promise<Json> {
  return (await shop.rest('owner', 'post', '/machines', { kind, maker: 'Norvane', model: 'N24' }).expect(201)).body;
}
const bar = (over: Json = {}) => ({
  machineId: machine.id,
  component: 'scraper bar',
  observation: 'worn to the rivets',
  measuredValue: 4.2,
  limitLow: 6,
  unit: 'mm',
  verdict: 'replace',
  ...over,
});

describe('findings', () => {
  it('judges a measurement by its limits, both of which serve on', async () => {
    const judged = async (over: Json) =>
      (await shop.rest('helper', 'post', '/findings', bar(over)).expect(201)).body.withinLimits;
    expect(await judged({})).toBe(false);
    expect(await judged({ measuredValue: 6 })).toBe(true);
    expect(await judged({ limitLow: null, limitHigh: 4.2 })).toBe(true);
    expect(await judged({ limitLow: null, limitHigh: 4.1 })).toBe(false);
    expect(await judged({ limitLow: null })).toBeNull();
    expect(await judged({ measuredValue: null })).toBeNull();
  });

  it('is recorded and read through GraphQL, with the machine on both ends', async () => {
    const made = await shop.graphql(
      'helper',
      `mutation ($input: CreateFindingInput!) { createFinding(input: $input) { id ` +
        `withinLimits verdict foundDate jobId machine { maker } } }`,
      {
        input: bar({
          component: 'impeller',
          verdict: 'serveOn',
          foundDate: '2026-09-14',
          reason: 'Turns freely and throws well.',
        }),
      },
    );
    expect(made.errors).toBeUndefined();
    expect(made.data.createFinding).toMatchObject({
      withinLimits: false,
      verdict: 'serveOn',
      foundDate: '2026-09-14',
      jobId: null,
      machine: { maker: 'Norvane' },
    });
    const read = await shop.graphql('reader', `query ($id: ID!) { machine(id: $id) { findings { id component } } }`, {
      id: machine.id,
    });
    expect(read.data.machine.findings).toContainEqual({ id: made.data.createFinding.id, component: 'impeller' });
  });

  it.each([
    [{ limitLow: 7, limitHigh: 6 }, '/limitLow'],
    [{ unit: null }, '/unit'],
    [{ foundDate: '2026-09-16' }, '/foundDate'],
    [{ verdict: 'ignore' }, '/verdict'],
    [{ measuredValue: '4.2' }, '/measuredValue'],
    [{ component: '' }, '/component'],
  ])('refuses %j', async (over, pointer) => {
    const { body } = await shop.rest('owner', 'post', '/findings', bar(over)).expect(422);
    expect(body.errors.map((one: Json) => one.pointer)).toContain(pointer);
  });

  it('keeps to its shop and its roles', async () => {
    await shop.rest('owner', 'post', '/findings', bar({ machineId: foreign.id })).expect(404);
    await shop.rest('reader', 'post', '/findings', bar()).expect(403);
  });

  it('changes against the version read, checking what it would then be, and archives', async () => {
    const { body: finding } = await shop.rest('owner', 'post', '/findings', bar({ limitHigh: 8 })).expect(201);
    const path = `/findings/${finding.id}`;
    await shop.rest('owner', 'patch', path, { limitLow: 9 }, { version: 1 }).expect(422);
    const { body: changed } = await shop
      .rest('helper', 'patch', path, { measuredValue: 7.5 }, { version: 1 })
      .expect(200);
    expect(changed).toMatchObject({ version: 2, withinLimits: true, foundDate: '2026-09-15' });
    await shop.rest('owner', 'patch', path, { measuredValue: 1 }, { version: 1 }).expect(412);
    await shop.rest('owner', 'delete', path, undefined, { version: 2 }).expect(200);
    const { body: list } = await shop.rest('reader', 'get', `/findings?machineId=${machine.id}`).expect(200);
    expect(list.items.map((one: Json) => one.id)).not.toContain(finding.id);
  });

  it("joins the job that is open or is opened next, and no other machine's", async () => {
    const one = await makeMachine('singleStageThrower');
    const { body: early } = await shop.rest('owner', 'post', '/findings', bar({ machineId: one.id })).expect(201);
    const { body: job } = await shop.rest('owner', 'post', '/jobs', { machineId: one.id }).expect(201);
    expect(job.status).toBe('diagnosed');
    expect((await shop.rest('owner', 'get', `/findings/${early.id}`)).body.jobId).toBe(job.id);
    expect((await shop.rest('owner', 'post', '/findings', bar({ machineId: one.id })).expect(201)).body.jobId).toBe(
      job.id,
    );
    const { body } = await shop.rest('owner', 'post', '/findings', bar({ jobId: job.id })).expect(422);
    expect(body.errors[0].pointer).toBe('/jobId');
  });

  it('to be replaced are listed until a part need meets them', async () => {
    const one = await makeMachine('other');
    const { body: finding } = await shop.rest('owner', 'post', '/findings', bar({ machineId: one.id })).expect(201);
    // Before there is a job nothing can need a part.
    expect(finding).toMatchObject({ partNeedId: null, nextStep: null });
    const { body: job } = await shop.rest('owner', 'post', '/jobs', { machineId: one.id }).expect(201);
    await shop.rest('owner', 'post', '/findings', bar({ machineId: one.id, verdict: 'repair' })).expect(201);
    const lacking = async (): Promise<string[]> =>
      (await shop.rest('reader', 'get', `/findings?lacksPart=true&jobId=${job.id}`).expect(200)).body.items.map(
        (row: Json) => row.id,
      );
    expect(await lacking()).toEqual([finding.id]);
    const told = async (): Promise<Json> =>
      (
        await shop.graphql('reader', 'query ($id: ID!) { job(id: $id) { findings { verdict nextStep partNeedId } } }', {
          id: job.id,
        })
      ).data.job.findings;
    expect(await told()).toEqual([
      {
        verdict: 'replace',
        partNeedId: null,
        nextStep: expect.stringMatching(/^Decide on its proposal/),
      },
      { verdict: 'repair', partNeedId: null, nextStep: expect.stringMatching(/^Decide on its proposal/) },
    ]);
    const needOn = async (jobId: string): Promise<Json> => {
      const { body: task } = await shop
        .rest('owner', 'post', '/tasks', {
          jobId,
          code: 'fit-bar',
          name: 'Fit the bar',
          kind: 'assemble',
          minMinutes: 10,
          handsOnMinutes: 20,
          maxMinutes: 40,
        })
        .expect(201);
      const { body: part } = await shop
        .rest('owner', 'post', '/parts', { name: `Scraper bar ${jobId}`, family: 'bar' })
        .expect(201);
      return (
        await shop.rest('owner', 'post', '/part-needs', { taskId: task.id, partId: part.id, quantity: 1 }).expect(201)
      ).body.need;
    };
    const need = await needOn(job.id);
    const { body: elsewhere } = await shop
      .rest('owner', 'post', '/jobs', { machineId: (await makeMachine('other')).id })
      .expect(201);
    const meet = (partNeedId: string, version: number) =>
      shop.rest('helper', 'patch', `/findings/${finding.id}`, { partNeedId }, { version });
    expect((await meet((await needOn(elsewhere.id)).id, 1).expect(422)).body.errors[0].pointer).toBe('/partNeedId');
    await meet(job.id, 1).expect(404);
    expect((await meet(need.id, 1).expect(200)).body).toMatchObject({ partNeedId: need.id, nextStep: null });
    expect(await lacking()).toEqual([]);
    expect((await shop.rest('reader', 'get', `/findings?lacksPart=false&jobId=${job.id}`)).body.items).toHaveLength(2);
    // Taken back, the need meets nothing any more.
    await shop.rest('owner', 'delete', `/part-needs/${need.id}`, undefined, { version: need.version }).expect(200);
    expect(await lacking()).toEqual([finding.id]);
  });
});

describe('safety checks', () => {
  let job: Json;
  beforeAll(async () => {
    const mower = await makeMachine('walkBehindMower');
    job = (await shop.rest('owner', 'post', '/jobs', { machineId: mower.id }).expect(201)).body;
  });
  const record = (check: string, passed: boolean, over: Json = {}) =>
    shop.rest('helper', 'post', '/safety-checks', { jobId: job.id, check, passed, checkedBy: 'Ines', ...over });
  const status = async (): Promise<Json> =>
    (await shop.rest('reader', 'get', `/jobs/${job.id}/safety-status`).expect(200)).body;
  const codes = (list: Json[]): string[] => list.map(({ code }) => code);

  it('asks of each kind of machine what that kind can fail', async () => {
    const mower = await status();
    expect(mower).toMatchObject({ jobId: job.id, safe: false, passed: [], failed: [] });
    expect(codes(mower.missing)).toEqual(codes(mower.required));
    expect(codes(mower.required)).toEqual(
      expect.arrayContaining(['operatorPresence', 'bladeStops', 'bladeSound', 'noFuelLeak', 'engineStops', 'guards']),
    );
    expect(codes(mower.required)).not.toContain('shearBolts');
    // 16 CFR 1205.5(a)(1): the blade shall come to a stop within 3.0 seconds; recalled from memory.
    expect(mower.required.find(({ code }: Json) => code === 'bladeStops').text).toMatch(/3 seconds.*16 CFR 1205/);
    const { body: thrower } = await shop.rest('owner', 'post', '/jobs', { machineId: machine.id }).expect(201);
    const needed = await shop.within((context) => missingSafetyChecks(context, thrower.id));
    expect(needed.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['operatorPresence', 'shearBolts', 'chute', 'driveDisengages', 'beltDisengages']),
    );
    expect(needed.map(({ code }) => code)).not.toContain('bladeStops');
  });

  it('lets the latest record of a check count, by the day it was made', async () => {
    await record('guards', true).expect(201);
    expect(codes((await status()).passed)).toEqual(['guards']);
    await record('guards', false, { note: 'shield loose' }).expect(201);
    expect(await status()).toMatchObject({ passed: [], failed: [{ code: 'guards' }] });
    // Recorded later, made earlier.
    await record('guards', true, { checkedDate: '2026-09-10' }).expect(201);
    expect(codes((await status()).failed)).toEqual(['guards']);
    await record('guards', true).expect(201);
    expect(codes((await status()).failed)).toEqual([]);
  });

  it('is safe once every required check has passed, and tells what is missing until then', async () => {
    const { required } = await status();
    const left = required.filter(({ code }: Json) => code !== 'guards' && code !== 'bladeSound');
    for (const { code } of left) await record(code, true).expect(201);
    await record('bladeSound', false).expect(201);
    expect(codes(await shop.within((context) => missingSafetyChecks(context, job.id)))).toEqual(['bladeSound']);
    await record('bladeSound', true).expect(201);
    expect(await status()).toMatchObject({ safe: true, missing: [], failed: [] });
    const { data } = await shop.graphql(
      'reader',
      `query ($id: ID!) { job(id: $id) { safetyStatus { safe } safetyChecks { check ` +
        `title passed job { number } } } safetyStatus(id: $id) { safe } }`,
      { id: job.id },
    );
    expect(data).toMatchObject({ job: { safetyStatus: { safe: true } }, safetyStatus: { safe: true } });
    expect(
      data.job.safetyChecks.filter(({ check }: Json) => check === 'guards').map(({ passed }: Json) => passed),
    ).toEqual([true, true, false, true]);
    expect(data.job.safetyChecks[0]).toMatchObject({ title: 'Guards in place', job: { number: job.number } });
  });

  it('costs three statements however many jobs: jobs, their machines, the checks', async () => {
    const { body } = await shop.rest('owner', 'get', '/jobs').expect(200);
    const ids: string[] = body.items.map(({ id }: Json) => id);
    expect(ids.length).toBeGreaterThan(1);
    const { result, statements } = await shop.database.countStatements(() =>
      shop.within((context) => safetyStatus(context, ids)),
    );
    expect(result.size).toBe(ids.length);
    // The fourth reads the shop's facts for the call.
    expect(statements).toHaveLength(4);
  });

  it("refuses what is no check, the future, strangers' jobs, readers and changes", async () => {
    await record('paintShine', true).expect(422);
    const { body } = await record('guards', true, { checkedDate: '2026-09-16' }).expect(422);
    expect(body.errors[0].pointer).toBe('/checkedDate');
    await record('guards', true, { jobId: machine.id }).expect(404);
    await shop
      .rest('reader', 'post', '/safety-checks', { jobId: job.id, check: 'guards', passed: true, checkedBy: 'x' })
      .expect(403);
    await shop.rest('owner', 'get', `/jobs/${machine.id}/safety-status`).expect(404);
    const { body: made } = await record('guards', true).expect(201);
    await expect(
      shop.within((context) => context.tx.safetyCheck.update({ where: { id: made.id }, data: { passed: false } })),
    ).rejects.toMatchObject({ code: 'kept-as-written' });
  });
});
