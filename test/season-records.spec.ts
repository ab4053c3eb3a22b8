/**
 * What a station's record says of the first snow, the last frost and the last day to paint: by its own units, its side of
 * the equator, its latest seasons.
 */
import { request as httpRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type Json, startTestShop, type TestShop } from './harness/server.js';
import { checkReference, readClimate } from './weather-reference.js';

let shop: TestShop;
beforeAll(async () => {
  shop = await startTestShop();
});
afterAll(() => shop.close());

const newStation = async (name: string, latitude = 45): Promise<string> =>
  (await shop.rest('owner', 'post', '/stations', { name, latitude, longitude: -93 })).body.id;

async function importFile(stationId: string, text: string, query = ''): Promise<{ status: number; body: Json }> {
  const { port } = shop.app.getHttpServer().address() as AddressInfo;
  return new Promise((resolve, reject) => {
    const sent = httpRequest(
      {
        port,
        host: '127.0.0.1',
        method: 'POST',
        path: `/v1/stations/${stationId}/days/import${query}`,
        headers: { Authorization: `Bearer ${shop.keys.owner}`, 'Content-Type': 'text/csv' },
      },
      (response) => {
        let body = '';
        response.setEncoding('utf8').on('data', (part: string) => (body += part));
        response.on('end', () => resolve({ status: response.statusCode!, body: JSON.parse(body) }));
      },
    );
    sent.on('error', reject).end(text);
  });
}

const everyDay = (from: string, to: string, row: (day: string) => string): string[] => {
  const rows: string[] = [];
  for (let at = Date.parse(from); at <= Date.parse(to); at += 86_400_000)
    rows.push(row(new Date(at).toISOString().slice(0, 10)));
  return rows;
};

describe('snow measured in tenths of an inch', () => {
  // Twin Cities, daily snowfall 1875 to 2023 in inches as the weather service publishes it; the dates are those of
  // first_snow_reference.json, worked out from the same record by other code.
  checkReference(
    'is kept as measured: every first 0.1 in of a station comes on its day',
    async () => {
      const station = await newStation('In inches');
      const rows = readClimate('mspthr_twin_cities.csv')
        .trim()
        .split('\n')
        .slice(1)
        .flatMap((line) => {
          const [day, , , , snow, trace] = line.split(',');
          return snow === '' ? [] : [`${day},${(Number(snow) / 25.4).toFixed(2)},${trace}`];
        });
      const imported = await importFile(station, ['date,snowfall_in,snow_trace', ...rows].join('\n'));
      expect(imported.body).toMatchObject({ days: rows.length, faultyLines: 0 });
      const { seasons } = (
        await shop.rest('reader', 'get', `/first-snow?stationId=${station}&thresholdMillimetres=2.54`)
      ).body;
      const expected = JSON.parse(readClimate('first_snow_reference.json')).stations.mspthr_twin_cities.seasons.filter(
        (one: Json) => !one.excluded_missing && one.first_0p1in.date,
      );
      expect(expected.length).toBeGreaterThanOrEqual(88);
      const found = new Map(seasons.map((one: Json) => [one.label, one.day]));
      expect(expected.filter((one: Json) => found.get(one.season) !== one.first_0p1in.date)).toEqual([]);
      // The shop's own threshold keeps its hundredths as well.
      const own = (await shop.rest('owner', 'get', '/shop')).body;
      const changed = await shop.rest(
        'owner',
        'patch',
        '/shop',
        { snowThresholdMillimetres: 2.54 },
        { version: own.version },
      );
      expect(changed.body).toMatchObject({ id: own.id, snowThresholdMillimetres: 2.54 });
    },
    60_000,
  );

  checkReference('says what the latest seasons would tell, and what either was worth', async () => {
    const { stations } = JSON.parse(readClimate('first_snow_reference.json'));
    const station = (await shop.rest('reader', 'get', '/nearest-stations')).body.stations.find(
      (one: Json) => one.station.name === 'In inches',
    ).station.id;
    const ask = async (query: string) =>
      (await shop.rest('reader', 'get', `/first-snow?stationId=${station}&thresholdMillimetres=2.54${query}`)).body;
    const [all, latest] = [await ask(''), await ask('&latestSeasons=30&quantileType=linear')];
    expect(all).toMatchObject({ latestSeasons: null });
    expect(latest).toMatchObject({ latestSeasons: 30 });
    expect(latest.reasons.join(' ')).toContain('latest 30 seasons alone');
    // The plain sample median of the last thirty usable seasons of the same reference.
    const days: number[] = stations.mspthr_twin_cities.seasons
      .filter((one: Json) => one.start_year >= latest.startDate.slice(0, 4) - 30 && !one.excluded_missing)
      .map((one: Json) => one.first_0p1in.dos ?? Infinity)
      .sort((a: number, b: number) => a - b);
    const middle = (days[Math.floor((days.length - 1) / 2)]! + days[Math.ceil((days.length - 1) / 2)]!) / 2;
    const expected = new Date(Date.parse(latest.startDate) + Math.floor(middle + 0.5) * 86_400_000);
    expect(latest.quantiles.find((one: Json) => one.probability === 0.5).day).toBe(expected.toISOString().slice(0, 10));
    // Told by hand from the reference's own list: each season's median from those before it.
    const told: number[] = stations.mspthr_twin_cities.seasons
      .filter((one: Json) => !one.excluded_missing && !one.record_truncated)
      .map((one: Json) => one.first_0p1in.dos);
    const medianOf = (list: number[]) => {
      const sorted = [...list].sort((a, b) => a - b);
      return (sorted[Math.floor((sorted.length - 1) / 2)]! + sorted[Math.ceil((sorted.length - 1) / 2)]!) / 2;
    };
    const misses = (of: (before: number[]) => number[]) => {
      const each = told.slice(30).map((day, k) => Math.abs(day - medianOf(of(told.slice(0, k + 30)))));
      return each.reduce((sum, one) => sum + one, 0) / each.length;
    };
    expect(all.backtest.seasons).toBe(told.length - 30);
    expect(all.backtest.all.medianMissDays).toBeCloseTo(
      misses((before) => before),
      6,
    );
    expect(all.backtest.latest.medianMissDays).toBeCloseTo(
      misses((before) => before.slice(-30)),
      6,
    );
    expect(all.reasons.join(' ')).toContain('Put to the test');
    // A trend is told when it is significant, and its chance always.
    expect(all.trend === null).toBe(all.trendPValue >= 0.05);
  });
});

describe('the last frost', () => {
  it('south of the equator is that of spring there', async () => {
    const station = await newStation('South', -41);
    // Frost in every night up to 10 October, none later: the winter's frosts in July are not the last.
    const rows = everyDay('2014-01-01', '2026-09-14', (day) => {
      const monthDay = day.slice(5);
      return `${day},${monthDay >= '05-01' && monthDay <= '10-10' ? '8,-1' : '20,8'}`;
    });
    expect((await importFile(station, ['date,high_c,low_c', ...rows].join('\n'))).status).toBe(200);
    const { body } = await shop.rest('reader', 'get', `/last-frost?stationId=${station}`);
    expect(body.seasonLabel).toBe('2026-27');
    expect(body.quantiles.find((one: Json) => one.probability === 0.5).day).toBe('2026-10-10');
  });
});

describe('files of the archive', () => {
  const header =
    'STATION,STATION_NAME,DATE' +
    ['PRCP', 'SNOW', 'TMAX', 'TMIN']
      .map((name) => `,${name},Measurement Flag,Quality Flag,Source Flag,Time of Observation`)
      .join('');
  it('are read as the older export wrote them, days as 19500112 and flags in columns of their own', async () => {
    const station = await newStation('Older');
    const answer = await importFile(
      station,
      [
        header,
        'GHCND:XX1,SOMEWHERE XX US,19500112,15, , ,0,2400,25, , ,0,2400,-11, , ,0,2400,-100, , ,0,2400',
        'GHCND:XX1,SOMEWHERE XX US,19500113,0,T, ,0,2400,0,T, ,0,2400,200, ,I,0,2400,-9999, , , ,9999',
        'GHCND:XX1,SOMEWHERE XX US,19500231,0, , ,0,2400,0, , ,0,2400,0, , ,0,2400,0, , ,0,2400',
      ].join('\n'),
    );
    expect(answer.body).toMatchObject({
      format: 'ncei-csv',
      days: 2,
      failedQuality: 1,
      traces: 1,
      faultyLines: 1,
      faultyLineRanges: [{ fromLine: 4, toLine: 4 }],
    });
    const { items } = (await shop.rest('reader', 'get', `/stations/${station}/days`)).body;
    expect(items).toMatchObject([
      { day: '1950-01-12', precipitationMillimetres: 1.5, snowfallMillimetres: 25, highCelsius: -1.1, lowCelsius: -10 },
      { day: '1950-01-13', precipitationMillimetres: 0, snowfallMillimetres: 0, snowTrace: true, highCelsius: null },
    ]);
    // A plain file may write its days so as well.
    const plain = await importFile(station, 'date,high_c,low_c\n19500114,3,-4');
    expect(plain.body).toMatchObject({ added: 1, firstDate: '1950-01-14' });
  });

  it('are refused when no line gave a day, and nothing is recorded', async () => {
    const station = await newStation('Nothing');
    for (const text of [
      'date,high_c,low_c\n12/01/1950,3,4\n13/01/1950,x,4',
      'date,high_c,low_c',
      'date,high_c,low_c\n1950-01-01,,',
    ]) {
      const answer = await importFile(station, text);
      expect(answer).toMatchObject({ status: 422, body: { type: 'urn:frostwright:problem:nothing-understood' } });
    }
    expect((await importFile(station, 'date,high_c,low_c\n12/01/1950,3,4')).body.detail).toContain('Line 2 has no day');
    expect((await shop.rest('reader', 'get', `/stations/${station}/days`)).body.items).toEqual([]);
  });

  it('tell every line that was refused, however many, and keep the others', async () => {
    const station = await newStation('Many faults');
    const rows = everyDay('2020-01-01', '2020-12-31', (day) =>
      day < '2020-09-01' ? `${day.slice(5)},1,0` : `${day},1,0`,
    );
    const answer = await importFile(station, ['date,high_c,low_c', ...rows].join('\n'));
    expect(answer.body).toMatchObject({
      days: 122,
      faultyLines: 244,
      faultyLineRanges: [{ fromLine: 2, toLine: 245 }],
    });
    expect(answer.body.validationErrors).toHaveLength(100);
  });
});

describe('paint weather', () => {
  it('begins at times at which the shop works, and tells the last day before the winter', async () => {
    const station = await newStation('Mild');
    // Warm and dry up to 20 October, in one year of two up to the 31st; freezing from then to 31 March.
    const rows = everyDay('2016-01-01', '2026-09-14', (day) => {
      const [year, monthDay] = [Number(day.slice(0, 4)), day.slice(5)];
      const cold = monthDay > (year % 2 === 0 ? '10-20' : '10-31') || monthDay < '04-01';
      return `${day},${cold ? '2,-8' : '24,16'},40,0`;
    });
    await importFile(station, ['date,high_c,low_c,humidity_pct,precip_mm', ...rows].join('\n'));
    const { body } = await shop.rest('reader', 'get', `/paint-weather?stationId=${station}`);
    expect(body.lastDay).toMatchObject({ untilDate: '2027-01-31', continues: false, years: 10 });
    // Five years of ten reach 31 October, which is a Saturday in 2026: the shop last works on the 30th. 20 October is a Tuesday.
    expect(body.lastDay.quantiles).toEqual([
      { probability: 0.8, day: '2026-10-20' },
      { probability: 0.5, day: '2026-10-30' },
      { probability: 0.2, day: '2026-10-30' },
    ]);
    const opening = (await shop.rest('reader', 'get', '/shop')).body;
    for (const { startsAt } of body.wait.quantiles) {
      const local = new Date(startsAt).toLocaleString('en-CA', {
        timeZone: opening.timeZone,
        weekday: 'short',
        hour: '2-digit',
        minute: '2-digit',
        hourCycle: 'h23',
      });
      const [weekday, time] = local.split(/,? /) as [string, string];
      const periods = opening.openingHours.filter(
        (one: Json) =>
          one.weekday === ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'].indexOf(weekday.replace('.', '')) + 1,
      );
      expect(periods.some((one: Json) => one.opens <= time && time < one.closes)).toBe(true);
    }
    const { data, errors } = await shop.graphql(
      'reader',
      `{ paintWeather(stationId: "${station}") { lastDay { continues quantiles { day } } }
        firstSnow(stationId: "${await newStation('None')}") { reasons } }`,
    );
    expect(data.paintWeather.lastDay.quantiles).toHaveLength(3);
    expect(errors).toHaveLength(1);
  });
});
