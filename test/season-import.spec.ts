/** Files as a person downloads them, sent as they are and read as they come. */
import { createReadStream } from 'node:fs';
import { request as httpRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { checkReference, climateFile } from './weather-reference.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const newStation = async (name: string): Promise<string> =>
  (await shop.rest('owner', 'post', '/stations', { name, latitude: 45.38, longitude: -75.71 })).body.id;

/** Sends a stream as the body, as `curl --data-binary @file` does. */
async function send(
  stationId: string,
  body: Readable,
  key = shop.keys.owner,
  query = '',
): Promise<{ status: number; body: Json }> {
  const { port } = shop.app.getHttpServer().address() as AddressInfo;
  return new Promise((resolve, reject) => {
    const sent = httpRequest(
      {
        port,
        host: '127.0.0.1',
        method: 'POST',
        path: `/v1/stations/${stationId}/days/import${query}`,
        headers: { Authorization: `Bearer ${key}`, 'Content-Type': 'text/plain' },
      },
      (response) => {
        let text = '';
        response.setEncoding('utf8').on('data', (part: string) => (text += part));
        response.on('end', () => resolve({ status: response.statusCode!, body: JSON.parse(text) }));
      },
    );
    sent.on('error', reject);
    pipeline(body, sent).catch(reject);
  });
}
const csv = (...lines: string[]) => Readable.from([lines.join('\n')]);
const daysOf = async (stationId: string, query = '') =>
  (await shop.rest('reader', 'get', `/stations/${stationId}/days${query}`)).body.items as Json[];

describe('a file of real size that is refused', () => {
  /** More than a reading's worth (64 KiB), most of it still on its way when the first lines are found wrong. */
  const large = (line: string) => Readable.from(Array.from({ length: 400 }, () => `${line}\n`.repeat(200)));

  it.each(['no station file at all, line upon line', '{"json": true}', 'x'.repeat(30)])(
    'is told so while it is being sent: %s',
    async (line) => {
      const answer = await send(await newStation('Refused'), large(line));
      expect(answer.status).toBe(422);
      expect(answer.body.type).toMatch(/^urn:frostwright:problem:/);
    },
  );

  it('is told so for a station that is not there, and for a key that may not', async () => {
    const nowhere = '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11';
    expect((await send(nowhere, large('date,high_c'))).status).toBe(404);
    expect((await send(await newStation('Not theirs'), large('date,high_c'), shop.keys.helper)).status).toBe(403);
  });
});

describe('a plain CSV', () => {
  it('is read in the units its columns name, faults told by line', async () => {
    const station = await newStation('Plain');
    const answer = await send(
      station,
      csv(
        'date,high_f,low_f,precip_in,snow_in',
        '2024-11-20,50,32,0.5,0',
        '2024-11-21,41,x,0.1,1.0',
        'nonsense',
        '2024-11-22,32,14,T,T',
      ),
    );
    expect(answer.status).toBe(200);
    expect(answer.body).toMatchObject({
      format: 'plain-csv',
      lines: 5,
      days: 3,
      added: 3,
      faultyLines: 2,
      traces: 1,
      firstDate: '2024-11-20',
      lastDate: '2024-11-22',
    });
    expect(answer.body.units).toEqual([
      'high_f: fahrenheit',
      'low_f: fahrenheit',
      'precip_in: inches',
      'snow_in: inches',
    ]);
    expect(answer.body.validationErrors.map((one: Json) => one.line)).toEqual([3, 4]);
    // By hand: 50 °F is 10 °C, 32 °F is 0 °C, half an inch 12.7 mm; an inch of snow is 25.4 mm.
    expect(await daysOf(station)).toMatchObject([
      { day: '2024-11-20', highCelsius: 10, lowCelsius: 0, precipitationMillimetres: 12.7, snowfallMillimetres: 0 },
      { day: '2024-11-21', highCelsius: 5, lowCelsius: null, snowfallMillimetres: 25.4 },
      { day: '2024-11-22', snowfallMillimetres: 0, snowTrace: true },
    ]);
    const again = await send(
      station,
      csv('date,high_f,low_f,precip_in,snow_in', '2024-11-20,50,32,0.5,0', '2024-11-21,41,33,0.1,1.0'),
    );
    expect(again.body).toMatchObject({ added: 0, changed: 1, unchanged: 1 });
  });

  it('tells the lines of days that have not been yet, and keeps the others', async () => {
    const station = await newStation('Ahead');
    const answer = await send(
      station,
      csv('date,snow_mm,high_c,low_c', '2126-11-24,0,5,1', '2026-09-15,0,20,9', '2026-09-16,0,20,9'),
    );
    expect(answer.body).toMatchObject({ added: 1, faultyLines: 2, lastDate: '2026-09-15' });
    expect(answer.body.validationErrors).toEqual([
      { line: 2, detail: '2126-11-24 has not been yet; what is to come is entered as a forecast' },
      { line: 4, detail: '2026-09-16 has not been yet; what is to come is entered as a forecast' },
    ]);
    expect((await shop.rest('reader', 'get', `/paint-weather?stationId=${station}`)).status).toBe(200);
  });

  it('does not let one stray day of long ago or to come hide the climate', async () => {
    const station = await newStation('Stray');
    await shop.rest('owner', 'post', `/stations/${station}/days`, {
      days: [{ day: '2026-09-01', highCelsius: 20, lowCelsius: 9 }],
    });
    // Such as an import of an earlier release has left behind.
    await shop.within((context) =>
      context.tx.stationDay.create({
        data: {
          shopId: context.shop.id,
          stationId: station,
          day: new Date('2126-11-24'),
          highCelsius: 5,
          lowCelsius: 1,
        },
      }),
    );
    const { body } = await shop.rest('reader', 'get', `/paint-weather?stationId=${station}`);
    expect(body.reasons[0]).toContain('1 days on record from 2026-09-01 to 2026-09-01');
  });

  it('that tells nothing is refused with what to do', async () => {
    const station = await newStation('Refusing');
    const unknown = await send(station, csv('name,price', 'a,b'));
    expect(unknown.status).toBe(422);
    expect(unknown.body.type).toMatch(/unknown-format$/);
    expect((await send(station, csv('date,high', '2024-01-01,3'))).body.type).toMatch(/unit-missing$/);
    expect((await send(station, csv(''))).status).toBe(422);
    expect((await send(station, csv('date,high_c'), shop.keys.helper)).status).toBe(403);
    expect((await send(station, csv('date,high_c'), 'fw_none')).status).toBe(401);
    expect((await send('0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11', csv('date,high_c'))).status).toBe(404);
    expect((await send('no-id', csv('date,high_c'))).status).toBe(422);
    expect((await shop.rest('owner', 'post', `/stations/${station}/days/import`, { days: [] })).status).toBe(415);
    const other = await shop.anotherShop();
    expect((await send(station, csv('date,high_c', '2024-01-01,3'), other.keys.owner)).status).toBe(404);
  });
});

describe('as NOAA hands them out', () => {
  checkReference(
    'a .dly file of 133 years: the same days as the reference CSV, once and again',
    async () => {
      const station = await newStation('Ottawa CDA');
      const file = climateFile('raw/CA006105976.dly');
      const first = await send(station, createReadStream(file));
      expect(first.body).toMatchObject({
        format: 'ghcn-dly',
        stationInFile: 'CA006105976',
        faultyLines: 0,
        firstDate: '1889-11-01',
      });
      expect(first.body.added).toBe(first.body.days);
      // Again, as far as its first two thousand lines of 270 bytes.
      const again = await send(station, createReadStream(file, { end: 270 * 2000 - 1 }));
      expect(again.body).toMatchObject({
        lines: 2000,
        faultyLines: 0,
        added: 0,
        changed: 0,
        unchanged: again.body.days,
      });
      expect(again.body.days).toBeGreaterThan(10_000);
      // Reference README, trap 2 and first_snow_reference.json: "days_with_snow_value": 48316.
      const { data } = await shop.graphql(
        'reader',
        '{ stations { edges { node { name onRecord { days daysWithSnowfall } } } } }',
      );
      const onRecord = data.stations.edges.find((edge: Json) => edge.node.name === 'Ottawa CDA').node.onRecord;
      expect(onRecord.daysWithSnowfall).toBe(48_316);
      // By hand from the file's first line of SNOW: November 1889, a trace on the 27th, 203 mm on the 28th, a trace on the 29th.
      expect(await daysOf(station, '?startDate=1889-11-27&endDate=1889-11-29')).toMatchObject([
        { snowfallMillimetres: 0, snowTrace: true },
        { snowfallMillimetres: 203, snowTrace: false },
        { snowfallMillimetres: 0, snowTrace: true },
      ]);
      // first_snow_reference.json, full record, ≥ 25 mm: the service's answer from its own database.
      const snow = await shop.rest(
        'reader',
        'get',
        `/first-snow?stationId=${station}&thresholdMillimetres=25&quantileType=linear`,
      );
      const { default: expected } = await import(climateFile('first_snow_reference.json'), { with: { type: 'json' } });
      const ottawa = expected.stations.CA006105976_ottawa_cda;
      expect(snow.body.seasonsWithSnow).toBe(ottawa.full_record.first_1p0in.n_events);
      expect(snow.body.earliest.day).toBe(ottawa.full_record.first_1p0in.earliest.date);
      expect(snow.body.latest.day).toBe(ottawa.full_record.first_1p0in.latest_event.date);
    },
    60_000,
  );

  checkReference(
    'a file of 13 MB in constant memory',
    async () => {
      const station = await newStation('Long');
      // The file of a whole region: of 32 stations in it one is read, the lines of the others are faults.
      const line = (station: string, year: number, month: number) =>
        `${station}${year}${String(month).padStart(2, '0')}SNOW    0  C${'-9999   '.repeat(30)}\n`;
      function* lines() {
        for (let year = 1890; year < 2020; year += 1) {
          for (let month = 1; month <= 12; month += 1) {
            for (let other = 0; other < 32; other += 1)
              yield line(other === 0 ? 'XX000000001' : `YY0000000${String(other).padStart(2, '0')}`, year, month);
          }
        }
      }
      let bytes = 0;
      let most = 0;
      const counted = function* () {
        for (const one of lines()) {
          bytes += one.length;
          if (bytes % 1000 < 20) most = Math.max(most, process.memoryUsage().arrayBuffers);
          yield one;
        }
      };
      const before = process.memoryUsage().arrayBuffers;
      const answer = await send(station, Readable.from(counted()));
      expect(bytes).toBeGreaterThan(12_000_000);
      expect(answer.body).toMatchObject({ days: 130 * 12, added: 130 * 12, faultyLines: 130 * 12 * 31 });
      expect(answer.body.validationErrors).toHaveLength(100);
      expect(most - before).toBeLessThan(8_000_000);
    },
    60_000,
  );
});
