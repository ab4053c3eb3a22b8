/** Whether a task may start now: the start itself, the coat's status and the plan answer from the same age. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let job: Json;
let other: Json;
let product: Json;
let rack: Json;
let person: Json;

const send = async (method: 'post' | 'get', path: string, body?: Json, status = method === 'post' ? 201 : 200) => {
  const reply = await shop.rest('owner', method, path, body);
  expect({ path, status: reply.status, body: reply.status === status ? null : reply.body }).toEqual({
    path,
    status,
    body: null,
  });
  return reply.body as Json;
};
const at = (minutes: number): void => {
  shop.clock.now = new Date(TEST_NOW.getTime() + minutes * 60_000);
};
const task = (jobId: string, code: string, kind: string, rest: Json = {}) =>
  send('post', '/tasks', {
    jobId,
    code,
    name: code,
    kind,
    handsOnMinutes: 30,
    minMinutes: 30,
    maxMinutes: 30,
    pausable: false,
    ...rest,
  });
const spray = { placeKind: 'sprayArea', needsPaintWeather: true };
const start = (id: string) => shop.rest('owner', 'post', `/tasks/${id}/start`, {});

beforeAll(async () => {
  shop = await startTestShop();
  await send('post', '/places', { name: 'Bench', kind: 'bench' });
  await send('post', '/places', { name: 'Spray', kind: 'sprayArea' });
  rack = await send('post', '/places', { name: 'Rack', kind: 'cureRack', shelter: 'heated', heatedToCelsius: 23 });
  person = await send('post', '/people', { name: 'Mira', weeklyHours: [] });
  const machine = (model: string) => send('post', '/machines', { kind: 'other', maker: 'Norvane', model });
  job = await send('post', '/jobs', { machineId: (await machine('One')).id });
  other = await send('post', '/jobs', { machineId: (await machine('Two')).id });
  product = await send('post', '/coating-products', {
    name: 'Barn red',
    family: 'alkyd',
    role: 'colour',
    volumeSolidsPercent: 50,
    dryFilmMicrometres: 30,
    minCelsius: 8,
    maxCelsius: 32,
    touchMinutes: 60,
    handleMinutes: 360,
    assembleMinutes: 10_080,
    fullMinutes: 20_160,
    recoatMinutes: [{ fromMinutes: 15, toMinutes: 60 }, { fromMinutes: 2880 }],
    containerLitres: 1,
    containerPrice: '30.00',
  });
});
afterAll(() => shop.close());

describe('a second coat and what makes sparks', () => {
  it('start when the coat, its vapour and the plan let them, and not before', async () => {
    const first = await task(job.id, 'first', 'colour', spray);
    const second = await task(job.id, 'second', 'colour', { ...spray, after: [{ predecessorId: first.id }] });
    const assemble = await task(job.id, 'build', 'assemble', {
      placeKind: 'bench',
      after: [{ predecessorId: second.id }],
    });
    const grind = await task(other.id, 'grind', 'derust', { placeKind: 'bench', cautions: ['wireWheel'] });
    await send('post', `/tasks/${first.id}/start`, {}, 200);
    // Nobody grinds beside what is being sprayed.
    expect((await start(grind.id)).body).toMatchObject({ status: 422, type: expect.stringContaining('air-not-clear') });
    at(30);
    await send('post', `/tasks/${first.id}/finish`, {}, 200);
    const coat = await send('post', '/coats', {
      jobId: job.id,
      taskId: first.id,
      productId: product.id,
      placeId: rack.id,
      surface: 'Housing',
      appliedAt: shop.clock.now.toISOString(),
    });
    const status = async () => (await send('get', `/coats/${coat.id}/status`)).recoat.allowedNow as boolean;
    const planned = async () =>
      ((await send('get', '/plan/bench')).tasks as Json[]).find((one) => one.taskId === second.id);
    // Five minutes on it is too wet, at 20 open, at 100 shut, after two days open again: 23 °C is the sheet's own.
    for (const [minutes, isOpen] of [
      [5, false],
      [20, true],
      [100, false],
      [2880 + 5, true],
    ] as const) {
      at(30 + minutes);
      expect([minutes, await status()]).toEqual([minutes, isOpen]);
      const reply = await start(second.id);
      expect([minutes, reply.status]).toEqual([minutes, isOpen ? 200 : 422]);
      if (isOpen) await send('post', `/tasks/${second.id}/reopen`, { reason: 'Only tried.' }, 200);
      else expect(reply.body.type).toContain('recoat-not-open');
      // The plan has it now, later today or, where the window has shut, not today at all.
      const task = await planned();
      const startsNow = task !== undefined && new Date(task.startsAt).getTime() <= shop.clock.now.getTime();
      expect([minutes, startsNow]).toEqual([minutes, isOpen]);
      // Vapour of a product whose sheet is silent stands for an hour.
      expect([minutes, (await start(grind.id)).status]).toEqual([minutes, minutes < 60 ? 422 : 200]);
      if (minutes >= 60) await send('post', `/tasks/${grind.id}/reopen`, { reason: 'Only tried.' }, 200);
    }
    // An owner may have it done even so, with a reason.
    at(30 + 50 * 60);
    await send('post', `/tasks/${second.id}/start`, {}, 200);
    at(30 + 51 * 60);
    await send('post', `/tasks/${second.id}/finish`, {}, 200);
    await send('post', '/coats', {
      jobId: job.id,
      taskId: second.id,
      productId: product.id,
      placeId: rack.id,
      surface: 'Housing',
      appliedAt: shop.clock.now.toISOString(),
    });
    expect((await start(assemble.id)).body.type).toContain('paint-not-hard');
    const forced = await shop.rest('owner', 'post', `/tasks/${assemble.id}/start`, {
      override: true,
      reason: 'Only the handles go on.',
    });
    expect(forced.status).toBe(200);
    expect(person.name).toBe('Mira');
  });
});
