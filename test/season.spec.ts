import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { makeStationDays } from '../seed/weather.js';
import { startTestShop, type Json, type TestShop } from './harness/server.js';

let shop: TestShop;
let stationId: string;
const days = makeStationDays({ seed: 7, endDay: '2026-09-14', years: 30 });

beforeAll(async () => {
  shop = await startTestShop();
  const made = await shop.rest('owner', 'post', '/stations', { name: 'Lake Fennow', latitude: 45.5, longitude: -75.6, source: 'invented' });
  expect(made.status).toBe(201);
  stationId = made.body.id;
});
afterAll(() => shop.close());

const send = (rows: Json[], role: 'owner' | 'helper' = 'owner') => shop.rest(role, 'post', `/stations/${stationId}/days`, { days: rows });

describe('station days', () => {
  it('come in by chunks, and the same again change nothing', async () => {
    for (let from = 0; from < days.length; from += 4000) {
      const chunk = days.slice(from, from + 4000);
      const answer = await send(chunk);
      expect(answer.status).toBe(200);
      expect(answer.body).toMatchObject({ days: chunk.length, added: chunk.length, changed: 0, unchanged: 0, faultyLines: 0, firstDay: chunk[0]!.day, lastDay: chunk.at(-1)!.day });
    }
    const again = await send(days.slice(0, 4000));
    expect(again.body).toMatchObject({ added: 0, changed: 0, unchanged: 4000 });
  });

  it('are replaced where they differ', async () => {
    const { day } = days[10]!;
    const answer = await send([{ ...days[10], snowfallMillimetres: 77 }, days[11]]);
    expect(answer.body).toMatchObject({ added: 0, changed: 1, unchanged: 1 });
    const read = await shop.rest('reader', 'get', `/stations/${stationId}/days?fromDay=${day}&toDay=${day}`);
    expect(read.body.items).toEqual([{ ...days[10], snowfallMillimetres: 77 }]);
    expect((await send([days[10]])).body).toMatchObject({ changed: 1 });
  });
});
