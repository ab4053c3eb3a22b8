/** A machine as it comes: the least that makes a record, what the seller says, what is missing, what to do first. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { createRoute } from '../src/work/routes.operations.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
  const task = (code: string, kind: 'diagnose' | 'assemble', after: string[] = []) => ({
    code,
    name: code,
    kind,
    minMinutes: 30,
    handsOnMinutes: 60,
    maxMinutes: 120,
    cautions: code === 'look' ? (['storedEnergy'] as const) : (['hotParts'] as const),
    after: after.map((one) => ({ code: one })),
  });
  await shop.within((context) =>
    createRoute(context, {
      name: 'Short',
      machineKind: 'twoStageThrower',
      tasks: [task('look', 'diagnose'), task('together', 'assemble', ['look'])].map((one) => ({
        ...one,
        cautions: [...one.cautions],
      })),
    }),
  );
});
afterAll(() => shop.close());

const send = async (method: 'post' | 'patch', path: string, body: Json, status = 201, version?: number) => {
  const reply = await shop.rest('owner', method, path, body, version === undefined ? {} : { version });
  expect([reply.status, reply.body.detail]).toEqual([status, reply.body.detail]);
  return reply.body;
};
const get = async (path: string) => (await shop.rest('owner', 'get', path).expect(200)).body;
const intake = async (machine: Json, fields: Json = {}) => {
  const made = await send('post', '/intake', {
    price: '40.00',
    machines: [{ kind: 'twoStageThrower', ...machine }],
    ...fields,
  });
  return { ...made, taken: made.machines[0] };
};

describe('the least that makes a record', () => {
  it('is the kind, the price and two words; maker and model are settled later, and the job is called by them then', async () => {
    const { acquisition, taken } = await intake({ description: 'rusty red' });
    expect(acquisition).toMatchObject({ source: 'other', acquiredDate: '2026-09-15', price: '40.00' });
    expect(taken.machine).toMatchObject({ maker: null, model: null, description: 'rusty red' });
    expect(taken.job).toMatchObject({ title: 'rusty red (two-stage snow thrower, maker not known)', taskCount: 2 });
    expect((await get('/search?text=rusty')).found.map((one: Json) => one.jobNumber)).toEqual([taken.job.number]);
    const { data } = await shop.graphql(
      'owner',
      'mutation ($input: ChangeMachineInput!) { changeMachine(input: $input) { maker model jobs { title } } }',
      { input: { id: taken.machine.id, version: taken.machine.version, maker: 'Hallgrim', model: 'Boreal 24' } },
    );
    expect(data.changeMachine).toEqual({
      maker: 'Hallgrim',
      model: 'Boreal 24',
      jobs: [{ title: 'Hallgrim Boreal 24' }],
    });
    // A title of one's own stays.
    const own = await intake({ jobTitle: 'For the neighbour' });
    await send('patch', `/machines/${own.taken.machine.id}`, { maker: 'Norvane' }, 200, 1);
    expect((await get(`/jobs/${own.taken.job.id}`)).title).toBe('For the neighbour');
    expect((await get(`/jobs/${own.taken.job.id}/starting-point`)).text).toContain('# Norvane, model not known');
  });

  it('is taken over GraphQL, too', async () => {
    const reply = await shop.graphql(
      'owner',
      'mutation { recordIntake(input: { price: "15.00", machines: [{ kind: walkBehindMower, description: "green deck" }] }) ' +
        '{ machines { machine { maker description } job { title } firstSteps { title caution } cautions { code } } } }',
    );
    expect(reply.errors).toBeUndefined();
    expect(reply.data.recordIntake.machines[0]).toMatchObject({
      machine: { maker: null, description: 'green deck' },
      job: { title: 'green deck (walk-behind mower, maker not known)' },
      firstSteps: [{ caution: 'spinningAuger' }, { caution: 'blade' }, { caution: 'fuelVapour' }],
    });
  });
});

it('what came in last month is dated so: acquisition, job, findings and the days that its space costs', async () => {
  const { taken } = await intake(
    { description: 'shed find', findings: [{ component: 'Auger', observation: 'Bent', verdict: 'repair' }] },
    { acquiredDate: '2026-08-16', sellerClaims: 'Ran last winter.' },
  );
  expect(taken.job.openedDate).toBe('2026-08-16');
  expect(taken.findings.map((one: Json) => one.foundDate)).toEqual(['2026-08-16', '2026-08-16']);
  // 30 days from 16 August to 15 September at 0.50 a day.
  expect(taken.cost).toMatchObject({ spaceDays: 30, space: '15.00' });
  const later = await intake({ description: 'second', openedDate: '2026-09-01' }, { acquiredDate: '2026-08-16' });
  expect(later.taken.job.openedDate).toBe('2026-09-01');
  await send('post', '/intake', { price: '1.00', acquiredDate: '2026-09-16', machines: [{ kind: 'other' }] }, 422);
});

it('each claim of the seller is a finding to verify, on every machine of the lot, and says what to do with it', async () => {
  const made = await send('post', '/intake', {
    price: '60.00',
    sellerClaims: 'Ran last winter, starter smokes.',
    machines: [
      {
        kind: 'twoStageThrower',
        sellerClaims: 'New belts.',
        equipment: [{ name: 'Electric starter', status: 'fitted' }],
      },
      { kind: 'twoStageThrower', disposition: 'donor' },
    ],
  });
  const [first, donor] = made.machines;
  expect(first.findings.map((one: Json) => [one.component, one.observation, one.verdict, one.jobId])).toEqual([
    ['Engine', 'The seller says: "Ran last winter"', 'verify', first.job.id],
    ['Starter', 'The seller says: "starter smokes"', 'verify', first.job.id],
    ['Belt', 'The seller says: "New belts"', 'verify', first.job.id],
  ]);
  expect(donor.findings).toHaveLength(2);
  expect(first.findings[1].nextStep).toContain('Look whether it is so');
  expect(first.firstSteps.map((one: Json) => one.title)).toContain('Starter stays off');
  // The first steps and the task that can be begun, not the assembly's.
  const cautions = first.cautions.map((one: Json) => one.code);
  expect(cautions).toEqual(expect.arrayContaining(['starterCircuit', 'storedEnergy', 'fuelVapour']));
  expect(cautions).not.toContain('hotParts');
  const settled = await send(
    'patch',
    `/findings/${first.findings[1].id}`,
    { verdict: 'remove', reason: 'It is burnt.' },
    200,
    first.findings[1].version,
  );
  expect(settled.verdict).toBe('remove');
  expect(settled.nextStep ?? '').not.toContain('Look whether it is so');
});

describe('what is missing', () => {
  it('is ticked from the checklist of its kind, and is a finding and a priced need of its assembly', async () => {
    const list = await get('/missing-checklist?kind=twoStageThrower');
    expect(list.items.map((one: Json) => one.code)).toEqual(
      expect.arrayContaining(['chuteCrank', 'key', 'skidShoes', 'fuelCap', 'dipstick', 'shearBolts']),
    );
    const { taken } = await intake({
      maker: 'Hallgrim',
      model: 'Boreal 24',
      missing: [{ code: 'chuteCrank', price: '18.50' }, { code: 'skidShoes', price: '9.00' }, { code: 'key' }],
    });
    expect(taken.missing).toMatchObject([
      { code: 'chuteCrank', title: 'Chute crank', partName: 'Chute crank', price: '18.50' },
      { code: 'skidShoes', price: '9.00' },
      { code: 'key', price: null },
    ]);
    expect(taken.machine.equipment.map((one: Json) => [one.name, one.status])).toEqual([
      ['Chute crank', 'missing'],
      ['Skid shoe', 'missing'],
      ['Ignition key', 'missing'],
    ]);
    const { data } = await shop.graphql(
      'owner',
      'query ($job: ID!) { job(id: $job) { partNeeds { quantity part { name } task { code } } } }',
      { job: taken.job.id },
    );
    expect(data.job.partNeeds.map((one: Json) => [one.part.name, one.quantity, one.task.code])).toEqual([
      ['Chute crank', 1, 'together'],
      ['Skid shoe', 2, 'together'],
      ['Ignition key', 1, 'together'],
    ]);
    expect(taken.findings.map((one: Json) => [one.component, one.partNeedId !== null])).toEqual([
      ['Chute crank', true],
      ['Skid shoe', true],
      ['Ignition key', true],
    ]);
    // 18.50 and two of 9.00; nobody knows what a key costs.
    const cost = await get(`/jobs/${taken.job.id}/cost`);
    expect(cost.estimateToComplete.parts ?? cost.estimateToComplete).toBeDefined();
    expect(JSON.stringify(cost)).toContain('36.50');
    expect(JSON.stringify(cost.reasons)).toContain('Ignition key');
  });

  it('can be ticked and taken back at the bench; twice is once, and the next machine finds the part and its price', async () => {
    const { taken } = await intake({ description: 'blue' });
    const path = `/machines/${taken.machine.id}/missing`;
    const tick = (role: 'owner' | 'helper', items: Json[]) =>
      shop.rest(role, 'post', path, { items }, { idempotencyKey: null });
    const first = (await tick('owner', [{ code: 'chuteCrank' }]).expect(200)).body;
    expect(first.noted).toMatchObject([{ code: 'chuteCrank', partName: 'Chute crank', price: '18.50' }]);
    expect(first.items.find((one: Json) => one.code === 'chuteCrank')).toMatchObject({ missing: true, price: '18.50' });
    expect((await tick('helper', [{ code: 'chuteCrank' }]).expect(200)).body.noted).toEqual([]);
    expect((await tick('helper', [{ code: 'fuelCap' }]).expect(200)).body.noted).toMatchObject([{ price: null }]);
    expect((await get(`/findings?machineId=${taken.machine.id}`)).items).toHaveLength(2);
    const withdraw = (body: Json) => shop.rest('helper', 'post', `${path}/withdraw`, body, { idempotencyKey: null });
    expect((await withdraw({ code: 'fuelCap' })).status).toBe(422);
    const after = (await withdraw({ code: 'fuelCap', reason: 'It lay under the seat.' }).expect(200)).body;
    expect(after.items.find((one: Json) => one.code === 'fuelCap').missing).toBe(false);
    expect((await get(`/findings?machineId=${taken.machine.id}`)).items).toHaveLength(1);
    expect((await get(`/part-needs?jobId=${taken.job.id}`)).items).toHaveLength(1);
    expect((await withdraw({ code: 'fuelCap', reason: 'Again.' })).body.type).toMatch(/not-missing$/);
    const list = await shop.graphql(
      'reader',
      'query ($id: ID!) { machineChecklist(id: $id) { items { code missing } } }',
      { id: taken.machine.id },
    );
    expect(list.data.machineChecklist.items.filter((one: Json) => one.missing)).toEqual([
      { code: 'chuteCrank', missing: true },
    ]);
  });

  it('fits the kind and the engine: a two-stroke has no dipstick, a mower no chute crank, an electric one no fuel cap', async () => {
    const codes = async (query: string) =>
      (await get(`/missing-checklist?${query}`)).items.map((one: Json) => one.code) as string[];
    expect(await codes('kind=singleStageThrower&engineType=twoStroke')).not.toContain('dipstick');
    expect(await codes('kind=singleStageThrower&engineType=electric')).not.toContain('fuelCap');
    expect(await codes('kind=walkBehindMower')).not.toContain('chuteCrank');
    const refused = await shop.rest('owner', 'post', '/intake', {
      price: '5.00',
      machines: [{ kind: 'walkBehindMower', missing: [{ code: 'key' }, { code: 'chuteCrank' }] }],
    });
    expect([refused.status, refused.body.errors[0].pointer]).toEqual([422, '/machines/0/missing/1/code']);
  });

  it('of a donor is noted, and needed by nobody; a shear bolt is the exact one of its model', async () => {
    const donor = await intake({ disposition: 'donor', missing: [{ code: 'wheel', price: '12.00' }] });
    expect([donor.taken.job, donor.taken.missing[0].partNeedId]).toEqual([null, null]);
    const bolts = async (fields: Json) =>
      (await intake({ ...fields, missing: [{ code: 'shearBolts' }] })).taken.missing[0].partName as string;
    const own = await bolts({ maker: 'Hallgrim', model: 'Boreal 24' });
    expect(own).toBe('Shear bolt, Hallgrim Boreal 24');
    expect(await bolts({ maker: 'Hallgrim', model: 'Boreal 24' })).toBe(own);
    const [one, other] = [await bolts({ description: 'grey' }), await bolts({ description: 'grey' })];
    expect(new Set([own, one, other]).size).toBe(3);
    const parts = (await get('/parts?search=Shear')).items;
    expect(parts.map((part: Json) => part.designedToFail)).toEqual([true, true, true]);
  });
});
