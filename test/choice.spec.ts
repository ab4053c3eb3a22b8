/** Which machines to buy, through both APIs, on a shop's own records. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { standardRoutes } from '../seed/routes.js';
import { createRoute } from '../src/work/routes.operations.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
const post = (path: string, body: Json, status = 201): Promise<Json> =>
  shop.rest('owner', 'post', path, body).then((reply) => {
    if (reply.status !== status) throw new Error(`${path}: ${reply.status} ${JSON.stringify(reply.body)}`);
    return reply.body;
  });

const cheap = { kind: 'singleStageThrower', maker: 'Norvane', title: 'Cheap one', askedPrice: '30.00' };
const dear = { kind: 'singleStageThrower', maker: 'Norvane', title: 'Dear one', askedPrice: '900.00' };

beforeAll(async () => {
  shop = await startTestShop({ hourlyValue: '10.00', spaceCostPerDay: '0.20' });
  await shop.within(async (context) => {
    for (const route of standardRoutes) await createRoute(context, route);
  });
  for (const price of ['380.00', '400.00', '420.00', '390.00', '410.00'])
    await post('/comparables', {
      kind: 'singleStageThrower',
      maker: 'Norvane',
      condition: 4,
      priceKind: 'sold',
      price,
      seenDate: '2026-09-01',
    });
}, 60_000);
afterAll(() => shop.close());

describe('which to buy', () => {
  it('is answered over REST and GraphQL alike', async () => {
    const answer = await post('/purchase-choice', { candidates: [cheap, dear] }, 200);
    expect(answer.machines.map((one: Json) => [one.title, one.buy])).toEqual([
      ['Cheap one', true],
      ['Dear one', false],
    ]);
    const [bought, left] = answer.machines;
    expect(Number(bought.payUpTo)).toBeGreaterThan(30);
    expect(Number(left.payUpTo)).toBeLessThan(900);
    expect(Number(answer.gain)).toBeGreaterThan(2 * Number(answer.gainStandardError));
    expect(answer.options.some((one: Json) => one.buys.length === 0 && one.changes.length === 0)).toBe(true);
    expect(answer.answer).toMatch(/^Buy Cheap one: about \d+ CAD more than changing nothing/);
    expect(answer.orderOfWork.map((one: Json) => one.title)).toEqual(['Cheap one']);
    const { data, errors } = await shop.graphql(
      'owner',
      `query ($candidates: [CandidateGivenInput!]) {
        purchaseChoice(candidates: $candidates) { answer gain machines { title buy payUpTo } }
      }`,
      { candidates: [cheap, dear] },
    );
    expect(errors).toBeUndefined();
    expect(data.purchaseChoice).toMatchObject({
      answer: answer.answer,
      gain: answer.gain,
      machines: answer.machines.map(({ title, buy, payUpTo }: Json) => ({ title, buy, payUpTo })),
    });
  });

  it('keeps to limits and refuses what it cannot judge', async () => {
    expect((await post('/purchase-choice', { candidates: [cheap], maxMachines: 0 }, 200)).machines[0].buy).toBe(false);
    expect((await post('/purchase-choice', { candidates: [cheap], maxCash: '10.00' }, 200)).machines[0].buy).toBe(
      false,
    );
    expect(await post('/purchase-choice', { candidates: [] }, 422)).toMatchObject({
      errors: [{ pointer: '/candidates' }],
    });
    expect(await post('/purchase-choice', { candidates: [{ kind: 'twoStageThrower' }] }, 422)).toMatchObject({
      type: 'urn:frostwright:problem:nothing-to-go-by',
    });
    expect((await shop.rest('helper', 'post', '/purchase-choice', { candidates: [cheap] })).status).toBe(403);
  });
});

describe('what to change', () => {
  it('ranks what stands out of chance and is silent on the rest, over REST and GraphQL alike', async () => {
    for (const kind of ['bench', 'sprayArea', 'cureRack']) await post('/places', { name: kind, kind });
    const acquisition = await post('/acquisitions', { source: 'auction', acquiredDate: '2026-09-14', price: '100.00' });
    for (const model of ['Drift 21', 'Drift 18']) {
      const machine = await post('/machines', {
        acquisitionId: acquisition.id,
        kind: 'singleStageThrower',
        maker: 'Norvane',
        model,
        condition: 2,
      });
      const route = (await shop.rest('owner', 'get', '/routes').expect(200)).body.items.find(
        (one: Json) => one.machineKind === 'singleStageThrower',
      );
      await post('/jobs', { machineId: machine.id, routeId: route.id });
    }
    const answer = (await shop.rest('owner', 'get', '/plan-changes?helperWeeks=2').expect(200)).body;
    const gains = answer.changes.map((one: Json) => Number(one.gain));
    expect(gains).toEqual([...gains].sort((a, b) => b - a));
    for (const one of answer.changes) {
      expect(Number(one.gain)).toBeGreaterThan(0);
      expect(Number(one.gain) > 2 * Number(one.gainStandardError) || one.readyGain > 0).toBe(true);
    }
    expect(answer.changes.length + answer.withoutClearGain.length).toBeGreaterThanOrEqual(6);
    expect(answer.scarcity).toHaveLength(6);
    for (const one of answer.scarcity) expect(one.decidedShare).toBeLessThanOrEqual(1);
    const { data } = await shop.graphql('owner', '{ planChanges(helperWeeks: 2) { answer changes { code gain } } }');
    expect(data.planChanges.answer).toBe(answer.answer);
    expect((await shop.rest('helper', 'get', '/plan-changes')).status).toBe(403);
  });
});
