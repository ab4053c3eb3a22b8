/** What comes in: acquisitions and their machines, the split of the cost, and what stands against a change. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
beforeAll(async () => {
  // Haul at 0.40 a kilometre.
  shop = await startTestShop();
});
afterAll(() => shop.close());

const post = async (path: string, body: Json, status = 201) => {
  const reply = await shop.rest('owner', 'post', path, body);
  expect([reply.status, reply.body.detail]).toEqual([status, reply.body.detail]);
  return reply.body;
};
const get = async (path: string) => (await shop.rest('owner', 'get', path).expect(200)).body;
const machine = (fields: Json = {}) => ({ kind: 'other', maker: 'Norvane', model: 'Drift', openJob: false, ...fields });
const lot = (machines: Json[], fields: Json = {}) =>
  post('/intake', {
    source: 'auction',
    acquiredDate: '2026-09-14',
    price: '100.00',
    haulKilometres: 0,
    machines,
    ...fields,
  });
const sharesOf = async (acquisitionId: string) => {
  const { items } = await get(`/machines?acquisitionId=${acquisitionId}&sort=createdAt&includeArchived=true`);
  return items.map((one: Json) => one.acquisitionShare);
};

describe('the split of a cost', () => {
  it('equally: the odd cent goes to the first, and nothing is lost', async () => {
    // 100.00 + 25 km × 0.40 = 110.00 over three: 36.67, 36.67, 36.66.
    const made = await lot([machine(), machine(), machine()], { splitMethod: 'equal', haulKilometres: 25 });
    expect(made.totalCost).toBe('110.00');
    expect(made.machines.map((one: Json) => one.machine.acquisitionShare)).toEqual(['36.67', '36.67', '36.66']);
  });

  it('by value: one whose value nobody stated counts as the mean of the others', async () => {
    // Values 30 and 60, mean 45: 100 × 30/135, 60/135, 45/135 = 22.22, 44.44, 33.33; the cent left over goes where most
    // was cut off (44.444).
    const made = await lot([machine({ valueAsFound: '30' }), machine({ valueAsFound: '60' }), machine()]);
    expect(made.machines.map((one: Json) => one.machine.acquisitionShare)).toEqual(['22.22', '44.45', '33.33']);
  });

  it('a gift costs nothing, and a machine may come in without an acquisition', async () => {
    const made = await lot([machine(), machine()], { source: 'donation', price: '0', haulCost: '0.00' });
    expect(made.machines.map((one: Json) => one.machine.acquisitionShare)).toEqual(['0.00', '0.00']);
    const alone = await shop.graphql(
      'owner',
      'mutation { createMachine(input: { kind: other, maker: "Norvane", model: "Found" }) { acquisitionShare acquisition { id } } }',
    );
    expect(alone.data.createMachine).toEqual({ acquisitionShare: '0.00', acquisition: null });
  });

  it('takes fees along like the haul, over both transports, and anew when they change', async () => {
    // A hammer price of 100.00, a buyer's premium of 15.00 and a haul of 10.00: 125.00, by value 1 to 4.
    const made = await lot([machine({ valueAsFound: '10' }), machine({ valueAsFound: '40' })], {
      haulKilometres: 25,
      fees: '15.00',
    });
    expect([made.totalCost, made.acquisition.fees]).toEqual(['125.00', '15.00']);
    const { id } = made.acquisition;
    expect(await sharesOf(id)).toEqual(['25.00', '100.00']);
    const { data } = await shop.graphql(
      'owner',
      'mutation ($input: ChangeAcquisitionInput!) { changeAcquisition(input: $input) { fees machines { acquisitionShare } } }',
      { input: { id, version: 1, fees: '40' } },
    );
    // 150.00.
    expect(data.changeAcquisition).toEqual({
      fees: '40.00',
      machines: [{ acquisitionShare: '30.00' }, { acquisitionShare: '120.00' }],
    });
    const [a, b] = made.machines.map((one: Json) => one.machine.id);
    const split = (body: Json) =>
      shop.rest(
        'owner',
        'put',
        `/acquisitions/${id}/split`,
        {
          shares: [
            { machineId: a, share: '50.00' },
            { machineId: b, share: '60.00' },
          ],
          ...body,
        },
        { version: 2 },
      );
    expect((await split({}).expect(422)).body.errors[0].detail).toContain('150');
    expect((await split({ fees: '0' }).expect(200)).body).toMatchObject({
      price: '100.00',
      haulCost: '10.00',
      fees: '0.00',
    });
    await shop.rest('owner', 'patch', `/acquisitions/${id}`, { fees: '1.00' }, { version: 3 }).expect(409);
    await post(
      '/intake',
      { source: 'auction', acquiredDate: '2026-09-14', price: '1.00', fees: '-1.00', machines: [machine()] },
      422,
    );
    expect((await shop.rest('helper', 'get', `/acquisitions/${id}`).expect(200)).body.fees).toBeNull();
  });

  it('is made anew when the price, a value or the method changes, and when a machine joins', async () => {
    const { acquisition } = await lot([machine({ valueAsFound: '10' }), machine({ valueAsFound: '30' })]);
    expect(await sharesOf(acquisition.id)).toEqual(['25.00', '75.00']);
    await shop
      .rest('owner', 'patch', `/acquisitions/${acquisition.id}`, { price: '80.00' }, { version: 1 })
      .expect(200);
    expect(await sharesOf(acquisition.id)).toEqual(['20.00', '60.00']);
    const [first] = (await get(`/machines?acquisitionId=${acquisition.id}&sort=createdAt`)).items;
    await shop
      .rest('owner', 'patch', `/machines/${first.id}`, { valueAsFound: '50' }, { version: first.version })
      .expect(200);
    // 80 × 50/80 and 30/80.
    expect(await sharesOf(acquisition.id)).toEqual(['50.00', '30.00']);
    await shop
      .rest('owner', 'patch', `/acquisitions/${acquisition.id}`, { splitMethod: 'equal' }, { version: 2 })
      .expect(200);
    await post('/machines', { kind: 'other', maker: 'Norvane', model: 'Third', acquisitionId: acquisition.id });
    expect(await sharesOf(acquisition.id)).toEqual(['26.67', '26.67', '26.66']);
  });

  it('adds up though machines join at once', async () => {
    const { acquisition } = await lot([machine()]);
    await Promise.all(
      Array.from({ length: 5 }, () =>
        post('/machines', { kind: 'other', maker: 'Norvane', model: 'Joined', acquisitionId: acquisition.id }),
      ),
    );
    const shares = await sharesOf(acquisition.id);
    // 100.00 over six: four of 16.67 and two of 16.66.
    expect([...shares].sort()).toEqual(['16.66', '16.66', '16.67', '16.67', '16.67', '16.67']);
  });

  it('follows a machine that was put with the wrong purchase, or with none', async () => {
    const one = await lot([machine(), machine()]);
    const two = await lot([machine()], { price: '30.00' });
    const found = await post('/machines', { kind: 'other', maker: 'Norvane', model: 'Found' });
    const move = async (id: string, acquisitionId: string | null) =>
      shop.rest(
        'owner',
        'patch',
        `/machines/${id}`,
        { acquisitionId },
        { version: (await get(`/machines/${id}`)).version },
      );
    const moved = one.machines[0].machine.id;
    expect((await move(moved, two.acquisition.id)).body.acquisitionShare).toBe('15.00');
    expect([await sharesOf(one.acquisition.id), await sharesOf(two.acquisition.id)]).toEqual([
      ['100.00'],
      ['15.00', '15.00'],
    ]);
    expect((await move(found.id, two.acquisition.id)).status).toBe(200);
    expect(await sharesOf(two.acquisition.id)).toEqual(['10.00', '10.00', '10.00']);
    expect((await move(moved, null)).body).toMatchObject({ acquisitionId: null, acquisitionShare: '0.00' });
    expect(await sharesOf(two.acquisition.id)).toEqual(['15.00', '15.00']);
    const byHand = await lot([machine({ share: '100.00' })], { splitMethod: 'manual' });
    expect((await move(moved, byHand.acquisition.id)).status).toBe(409);
    expect((await move(byHand.machines[0].machine.id, null)).status).toBe(409);
    expect((await move(moved, moved)).status).toBe(404);
  });

  it('computes the haul again when asked to by a null', async () => {
    const { acquisition } = await lot([machine()], { haulCost: '7.00', haulKilometres: 10 });
    const changed = await shop
      .rest('owner', 'patch', `/acquisitions/${acquisition.id}`, { haulKilometres: 20, haulCost: null }, { version: 1 })
      .expect(200);
    // 20 km × 0.40.
    expect(changed.body.haulCost).toBe('8.00');
    expect(await sharesOf(acquisition.id)).toEqual(['108.00']);
  });

  it('computes the haul again when the kilometres change, over both transports, unless its cost was given', async () => {
    // 25 km × 0.40 = 10.00; 10 km × 0.40 = 4.00; 30 km × 0.40 = 12.00.
    const {
      acquisition: { id },
    } = await lot([machine()], { haulKilometres: 25 });
    const path = `/acquisitions/${id}`;
    expect(
      (await shop.rest('owner', 'patch', path, { haulKilometres: 10 }, { version: 1 }).expect(200)).body.haulCost,
    ).toBe('4.00');
    expect(await sharesOf(id)).toEqual(['104.00']);
    const { data } = await shop.graphql(
      'owner',
      'mutation ($input: ChangeAcquisitionInput!) { changeAcquisition(input: $input) { haulCost machines { acquisitionShare } } }',
      { input: { id, version: 2, haulKilometres: 30 } },
    );
    expect(data.changeAcquisition).toEqual({ haulCost: '12.00', machines: [{ acquisitionShare: '112.00' }] });
    expect(
      (await shop.rest('owner', 'patch', path, { haulKilometres: 40, haulCost: '7.00' }, { version: 3 }).expect(200))
        .body.haulCost,
    ).toBe('7.00');
    expect(
      (await shop.rest('owner', 'patch', path, { haulKilometres: 10 }, { version: 4 }).expect(200)).body.haulCost,
    ).toBe('7.00');
  });
});

describe('a split by hand', () => {
  it('is given at intake, must add up, and is told off at its place', async () => {
    const { machines } = await lot([machine({ share: '90.00' }), machine({ share: '10.00' })], {
      splitMethod: 'manual',
    });
    expect(machines.map((one: Json) => one.machine.acquisitionShare)).toEqual(['90.00', '10.00']);
    const validationErrors = async (shares: (string | null)[]) =>
      (
        await post(
          '/intake',
          {
            source: 'auction',
            acquiredDate: '2026-09-14',
            price: '100.00',
            splitMethod: 'manual',
            machines: shares.map((share) => machine({ share })),
          },
          422,
        )
      ).errors;
    expect((await validationErrors(['90.00', null]))[0].pointer).toBe('/machines/1/share');
    expect((await validationErrors(['90.005', '9.995']))[0].pointer).toBe('/machines/0/share');
    expect((await validationErrors(['90.00', '9.99']))[0].detail).toContain('99.99');
  });

  it('is given anew together with a corrected price, over both transports', async () => {
    const { acquisition, machines } = await lot([machine({ share: '90.00' }), machine({ share: '10.00' })], {
      splitMethod: 'manual',
    });
    const [a, b] = machines.map((one: Json) => one.machine.id);
    const path = `/acquisitions/${acquisition.id}`;
    await shop.rest('owner', 'patch', path, { price: '120.00' }, { version: 1 }).expect(409);
    const split = (body: Json, version = 1) => shop.rest('owner', 'put', `${path}/split`, body, { version });
    await split({ price: '120.00', shares: [{ machineId: a, share: '90.00' }] }).expect(422);
    await split({
      price: '120.00',
      shares: [
        { machineId: a, share: '60.00' },
        { machineId: a, share: '60.00' },
      ],
    }).expect(422);
    await split({
      price: '120.00',
      shares: [
        { machineId: a, share: '90.00' },
        { machineId: b, share: '29.99' },
      ],
    }).expect(422);
    const stranger = (await lot([machine()])).machines[0].machine.id;
    await split({
      shares: [
        { machineId: a, share: '90.00' },
        { machineId: stranger, share: '10.00' },
      ],
    }).expect(404);
    await shop
      .rest('helper', 'put', `${path}/split`, { shares: [{ machineId: a, share: '100.00' }] }, { version: 1 })
      .expect(403);
    expect(
      (
        await split({
          price: '120.00',
          shares: [
            { machineId: b, share: '30.00' },
            { machineId: a, share: '90.00' },
          ],
        }).expect(200)
      ).body,
    ).toMatchObject({ price: '120.00', splitMethod: 'manual', version: 2 });
    expect(await sharesOf(acquisition.id)).toEqual(['90.00', '30.00']);
    await split(
      {
        shares: [
          { machineId: a, share: '90.00' },
          { machineId: b, share: '30.00' },
        ],
      },
      1,
    ).expect(412);
    const reply = await shop.graphql(
      'owner',
      'mutation ($input: SplitAcquisitionInput!) { splitAcquisition(input: $input) { price machines { acquisitionShare } } }',
      {
        input: {
          id: acquisition.id,
          version: 2,
          shares: [
            { machineId: a, share: '0' },
            { machineId: b, share: '120' },
          ],
        },
      },
    );
    expect(reply.data.splitAcquisition).toEqual({
      price: '120.00',
      machines: [{ acquisitionShare: '0.00' }, { acquisitionShare: '120.00' }],
    });
    // Given up again, the cost may change alone.
    await shop.rest('owner', 'patch', path, { splitMethod: 'equal', price: '50.00' }, { version: 3 }).expect(200);
    expect(await sharesOf(acquisition.id)).toEqual(['25.00', '25.00']);
  });
});

describe('wrong input', () => {
  it('is told with its place in the lot', async () => {
    const pointersOf = async (machines: Json[]) =>
      (
        await post('/intake', { source: 'auction', acquiredDate: '2026-09-14', price: '1.00', machines }, 422)
      ).errors.map((one: Json) => one.pointer);
    expect(await pointersOf([machine(), machine({ valueAsFound: '1.005' })])).toEqual(['/machines/1/valueAsFound']);
    const finding = { component: 'Auger', observation: 'Worn', verdict: 'repair', measuredValue: 3 };
    expect(await pointersOf([machine(), machine({ findings: [{ ...finding, unit: 'mm' }, finding] })])).toEqual([
      '/machines/1/findings/1/unit',
    ]);
    expect(await pointersOf([machine({ promisedDate: '2026-10-01' })])).toEqual(['/machines/0/promisedDate']);
    expect(await pointersOf([])).toEqual(['/machines']);
  });

  it("no purchase lies in the future of the shop's own day", async () => {
    // 03:30 on the 16th in Greenwich is 23:30 on the 15th in Toronto.
    shop.clock.now = new Date('2026-09-16T03:30:00Z');
    await lot([machine()], { acquiredDate: '2026-09-15' });
    await post('/intake', { source: 'auction', acquiredDate: '2026-09-16', price: '1.00', machines: [machine()] }, 422);
    const { acquisition } = await lot([machine()]);
    await shop
      .rest('owner', 'patch', `/acquisitions/${acquisition.id}`, { acquiredDate: '2026-09-16' }, { version: 1 })
      .expect(422);
    shop.clock.now = new Date('2026-09-16T04:30:00Z');
    await shop
      .rest('owner', 'patch', `/acquisitions/${acquisition.id}`, { acquiredDate: '2026-09-16' }, { version: 1 })
      .expect(200);
  });

  it('negative, huge or foreign', async () => {
    const one = { source: 'auction', acquiredDate: '2026-09-14', price: '1.00', machines: [machine()] };
    for (const fields of [
      { price: '-1.00' },
      { price: '999999999999999.00' },
      { price: 1 },
      { price: '1e3' },
      { haulCost: '-0.01' },
      { haulKilometres: -1 },
      { machines: Array(51).fill(machine()) },
    ]) {
      await post('/intake', { ...one, ...fields }, 422);
    }
    const other = await shop.anotherShop();
    const foreign = await shop.database.withShop(other.shopId, (tx) =>
      tx.acquisition.create({
        data: {
          shopId: other.shopId,
          source: 'auction',
          acquiredDate: new Date('2026-09-01'),
          price: '1',
          haulCost: '0',
          haulKilometres: 0,
          splitMethod: 'equal',
        },
      }),
    );
    await post('/machines', { kind: 'other', maker: 'Norvane', model: 'Drift', acquisitionId: foreign.id }, 404);
    await shop
      .rest(
        'owner',
        'put',
        `/acquisitions/${foreign.id}/split`,
        { shares: [{ machineId: foreign.id, share: '1' }] },
        { version: 1 },
      )
      .expect(404);
    await shop.rest('helper', 'post', '/intake', one).expect(403);
  });
});

describe('the answer', () => {
  it('shows findings on the job that was opened, as they are read a moment later', async () => {
    const given = machine({
      openJob: true,
      findings: [
        { component: 'Auger', observation: 'Worn', verdict: 'replace' },
        { component: 'Belt', observation: 'Glazed', verdict: 'repair' },
      ],
    });
    const {
      machines: [taken],
    } = await lot([given]);
    expect(taken.findings.map((one: Json) => [one.component, one.jobId])).toEqual([
      ['Auger', taken.job.id],
      ['Belt', taken.job.id],
    ]);
    for (const finding of taken.findings) expect(await get(`/findings/${finding.id}`)).toEqual(finding);
    const reply = await shop.graphql(
      'owner',
      'mutation ($input: RecordIntakeInput!) { recordIntake(input: $input) { machines { job { id } findings { jobId } } } }',
      { input: { source: 'auction', acquiredDate: '2026-09-14', price: '1.00', machines: [given] } },
    );
    const [other] = reply.data.recordIntake.machines;
    expect(other.findings).toEqual([{ jobId: other.job.id }, { jobId: other.job.id }]);
  });

  it('says what the ask leaves, one in ten below low and one in ten above high', async () => {
    for (const price of ['300.00', '360.00', '420.00'])
      await post('/comparables', {
        kind: 'singleStageThrower',
        maker: 'Norvane',
        condition: 4,
        priceKind: 'sold',
        price,
        seenDate: '2026-09-10',
      });
    const {
      machines: [taken],
    } = await lot([machine({ kind: 'singleStageThrower', openJob: true })]);
    const advice = taken.expectedPrice;
    expect(taken.expectedMargin).toEqual(advice.marginRange);
    const { low, high } = taken.expectedMargin;
    expect(Number(low)).toBeLessThan(Number(advice.expectedMargin));
    expect(Number(high)).toBeGreaterThan(Number(advice.expectedMargin));
  });
});

describe('what was archived', () => {
  it('takes nothing new', async () => {
    const { acquisition, machines } = await lot([machine()]);
    const [{ machine: only }] = machines;
    await shop.rest('owner', 'delete', `/acquisitions/${acquisition.id}`, undefined, { version: 1 }).expect(409);
    await shop.rest('owner', 'delete', `/machines/${only.id}`, undefined, { version: only.version }).expect(200);
    await post('/findings', { machineId: only.id, component: 'Auger', observation: 'Worn', verdict: 'repair' }, 409);
    await post('/jobs', { machineId: only.id }, 409);
    await shop.rest('owner', 'delete', `/acquisitions/${acquisition.id}`, undefined, { version: 1 }).expect(200);
    await post('/machines', { kind: 'other', maker: 'Norvane', model: 'Late', acquisitionId: acquisition.id }, 409);
    await shop
      .rest(
        'owner',
        'put',
        `/acquisitions/${acquisition.id}/split`,
        { shares: [{ machineId: only.id, share: '100.00' }] },
        { version: 2 },
      )
      .expect(409);
    expect(
      (await get(`/acquisitions?acquiredFrom=2026-09-14&includeArchived=true&first=200`)).items.some(
        (one: Json) => one.id === acquisition.id,
      ),
    ).toBe(true);
    expect(
      (await get(`/acquisitions?acquiredFrom=2026-09-14&first=200`)).items.some(
        (one: Json) => one.id === acquisition.id,
      ),
    ).toBe(false);
  });
});

it('a helper sees what came in, and none of its amounts', async () => {
  await lot([machine({ valueAsFound: '5.00' })]);
  const { data } = await shop.graphql(
    'helper',
    '{ acquisitions(first: 1) { edges { node { source price haulCost machines { maker acquisitionShare valueAsFound } } } } }',
  );
  expect(data.acquisitions.edges[0].node).toEqual({
    source: 'auction',
    price: null,
    haulCost: null,
    machines: [{ maker: 'Norvane', acquisitionShare: null, valueAsFound: null }],
  });
});
