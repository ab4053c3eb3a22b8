import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { makeStationDays } from '../seed/weather.js';
import { probabilityOfSnowBy } from '../src/season/first-snow.js';
import { snowOutlook } from '../src/season/first-snow.queries.js';
import { type Json, startTestShop, TEST_NOW, type TestShop } from './harness/server.js';

let shop: TestShop;
let stationId: string;
const days = makeStationDays({ seed: 7, endDate: '2026-09-14', years: 30 });

beforeAll(async () => {
  shop = await startTestShop();
  const made = await shop.rest('owner', 'post', '/stations', {
    name: 'Lake Fennow',
    latitude: 45.5,
    longitude: -75.6,
    source: 'invented',
  });
  expect(made.status).toBe(201);
  stationId = made.body.id;
});
afterAll(() => shop.close());

const send = (rows: Json[], role: 'owner' | 'helper' = 'owner') =>
  shop.rest(role, 'post', `/stations/${stationId}/days`, { days: rows });

describe('station days', () => {
  it('come in by chunks, and the same again change nothing', async () => {
    for (let from = 0; from < days.length; from += 4000) {
      const chunk = days.slice(from, from + 4000);
      const answer = await send(chunk);
      expect(answer.status).toBe(200);
      expect(answer.body).toMatchObject({
        days: chunk.length,
        added: chunk.length,
        changed: 0,
        unchanged: 0,
        faultyLines: 0,
        firstDate: chunk[0]!.day,
        lastDate: chunk.at(-1)!.day,
      });
    }
    const again = await send(days.slice(0, 4000));
    expect(again.body).toMatchObject({ added: 0, changed: 0, unchanged: 4000 });
  });

  it('are replaced where they differ', async () => {
    const { day } = days[10]!;
    const answer = await send([{ ...days[10], snowfallMillimetres: 77 }, days[11]]);
    expect(answer.body).toMatchObject({ added: 0, changed: 1, unchanged: 1 });
    const read = await shop.rest('reader', 'get', `/stations/${stationId}/days?startDate=${day}&endDate=${day}`);
    expect(read.body.items).toEqual([{ ...days[10], snowfallMillimetres: 77 }]);
    // What a day does not tell stays: temperatures alone leave the snow as it was.
    const { snowfallMillimetres, ...rest } = days[10]!;
    expect((await send([{ ...rest, snowTrace: false, highCelsius: rest.highCelsius + 1 }])).body).toMatchObject({
      changed: 1,
    });
    const kept = (await shop.rest('reader', 'get', `/stations/${stationId}/days?startDate=${day}&endDate=${day}`)).body
      .items[0];
    expect(kept).toMatchObject({ highCelsius: Math.round((rest.highCelsius + 1) * 10) / 10, snowfallMillimetres: 77 });
    expect((await send([{ ...rest, snowfallMillimetres }])).body).toMatchObject({ changed: 1 });
  });

  it('can be taken back', async () => {
    const first = days.slice(0, 10);
    const gone = await shop.rest(
      'owner',
      'delete',
      `/stations/${stationId}/days?startDate=${first[0]!.day}&endDate=${first[9]!.day}`,
    );
    expect(gone.status).toBe(200);
    expect(gone.body).toMatchObject({ days: days.length - 10, firstDate: days[10]!.day });
    expect(
      (await shop.rest('helper', 'delete', `/stations/${stationId}/days?startDate=1990-01-01&endDate=2026-01-01`))
        .status,
    ).toBe(403);
    expect((await send(first)).body).toMatchObject({ added: 10 });
  });
});

describe('stations', () => {
  it('are suggested by distance, the archived left out', async () => {
    const far = await shop.rest('owner', 'post', '/stations', { name: 'Far Point', latitude: 46.5, longitude: -75.7 });
    const near = await shop.rest('owner', 'post', '/stations', {
      name: 'Next Door',
      latitude: 45.4,
      longitude: -75.71,
    });
    const answer = await shop.rest('reader', 'get', '/nearest-stations');
    expect(answer.status).toBe(200);
    expect(answer.body.stations.map((one: Json) => one.station.name)).toEqual([
      'Next Door',
      'Lake Fennow',
      'Far Point',
    ]);
    // A degree of latitude on a sphere of 6371.0088 km is 111.195 km: 1.1 of them to Far Point.
    expect(answer.body.stations[2].distanceKilometres).toBeCloseTo(1.1 * 111.195, 1);
    expect(answer.body.stations[1]).toMatchObject({
      days: days.length,
      firstDate: days[0]!.day,
      lastDate: days.at(-1)!.day,
    });
    expect(answer.body.stations[0]).toMatchObject({ days: 0, firstDate: null });
    const elsewhere = await shop.rest('reader', 'get', '/nearest-stations?latitude=46.6&longitude=-75.7');
    expect(elsewhere.body.stations[0].station.name).toBe('Far Point');
    expect((await shop.rest('owner', 'delete', `/stations/${near.body.id}`, undefined, { version: 1 })).status).toBe(
      200,
    );
    expect((await shop.rest('reader', 'get', '/nearest-stations')).body.stations).toHaveLength(2);
    await shop.rest('owner', 'delete', `/stations/${far.body.id}`, undefined, { version: 1 });
  });

  it('tell over GraphQL what is on record', async () => {
    const { data, errors } = await shop.graphql(
      'helper',
      '{ stations { edges { node { name onRecord { days daysWithSnowfall firstDate } } } } }',
    );
    expect(errors).toBeUndefined();
    const missed = days.filter((one) => one.snowfallMillimetres === null).length;
    expect(data.stations.edges.map((edge: Json) => edge.node)).toEqual([
      {
        name: 'Lake Fennow',
        onRecord: { days: days.length, daysWithSnowfall: days.length - missed, firstDate: days[0]!.day },
      },
    ]);
  });

  it('refuse what cannot be, foreign stations and other roles', async () => {
    const wrong = await send([{ day: '2026-01-01', highCelsius: -5, lowCelsius: 3 }]);
    expect(wrong.status).toBe(422);
    expect(wrong.body.errors).toEqual([{ detail: 'must not be above highCelsius', pointer: '/days/0/lowCelsius' }]);
    expect((await send([days[0], days[0]])).status).toBe(422);
    for (const day of ['2026-02-30', '0000-01-01', '2026-09-16', 'yesterday'])
      expect((await send([{ day }])).status).toBe(422);
    expect((await send([days[0]], 'helper')).status).toBe(403);
    const other = await shop.anotherShop();
    const foreign = await shop.rest(
      'owner',
      'post',
      `/stations/${stationId}/days`,
      { days: [days[0]] },
      { headers: { Authorization: `Bearer ${other.keys.owner}` } },
    );
    expect(foreign.status).toBe(404);
    expect(
      (
        await shop.rest('owner', 'get', `/stations/${stationId}/days`, undefined, {
          headers: { Authorization: `Bearer ${other.keys.owner}` },
        })
      ).status,
    ).toBe(404);
  });
});

describe('the forecast', () => {
  it('is entered and replaced by day, by a helper too', async () => {
    const first = await shop.rest('helper', 'put', '/weather-forecast-days', {
      days: [
        { day: '2026-09-16', highCelsius: 21.5, lowCelsius: 9 },
        { day: '2026-09-17', highCelsius: 18, lowCelsius: 8, humidityPercent: 90 },
      ],
    });
    expect(first.status).toBe(200);
    expect(first.body.days.map((one: Json) => one.highCelsius)).toEqual([21.5, 18]);
    const second = await shop.graphql(
      'helper',
      'mutation ($days: [WeatherForecastEntryInput!]!) { recordWeatherForecast(input: { ' +
        'days: $days }) { days { day highCelsius humidityPercent version } } }',
      {
        days: [{ day: '2026-09-17', highCelsius: 17, lowCelsius: 8 }],
      },
    );
    expect(second.errors).toBeUndefined();
    expect(second.data.recordWeatherForecast.days).toEqual([
      { day: '2026-09-17', highCelsius: 17, humidityPercent: null, version: 2 },
    ]);
    const listed = await shop.rest('reader', 'get', '/weather-forecast-days?startDate=2026-09-17');
    expect(listed.body.items).toHaveLength(1);
    expect((await shop.rest('helper', 'delete', `/weather-forecast-days/${listed.body.items[0].id}`)).status).toBe(200);
    expect((await shop.rest('reader', 'get', '/weather-forecast-days')).body.items).toHaveLength(1);
    expect(
      (
        await shop.rest('reader', 'put', '/weather-forecast-days', {
          days: [{ day: '2026-09-17', highCelsius: 17, lowCelsius: 8 }],
        })
      ).status,
    ).toBe(403);
    expect(
      (
        await shop.rest('helper', 'put', '/weather-forecast-days', {
          days: [{ day: '2026-09-17', highCelsius: 7, lowCelsius: 8 }],
        })
      ).status,
    ).toBe(422);
  });
});

describe('the first snow', () => {
  /** The first inch of each season, by hand from the rows that were sent. */
  const byHand = () => {
    const first = new Map<number, string>();
    for (const row of days) {
      const season = Number(row.day.slice(0, 4)) - (row.day.slice(5) < '07-01' ? 1 : 0);
      if (season < 2026 && season > 1995 && (row.snowfallMillimetres ?? 0) >= 25 && !first.has(season))
        first.set(season, row.day);
    }
    return first;
  };

  it('is told from the nearest station, season by season', async () => {
    const answer = await shop.rest('reader', 'get', '/first-snow?byDays=2026-11-30');
    expect(answer.status).toBe(200);
    const { body } = answer;
    expect(body).toMatchObject({
      stationId,
      seasonLabel: '2026-27',
      thresholdMillimetres: 25,
      quantileType: 'medianUnbiased',
      happenedDate: null,
      startDate: '2026-07-01',
    });
    const expected = byHand();
    const told = new Map(
      body.seasons
        .filter((one: Json) => one.status === 'event')
        .map((one: Json) => [Number(one.label.slice(0, 4)), one.day]),
    );
    for (const [season, at] of told) expect(at).toBe(expected.get(season as number));
    expect(told.size).toBe(body.seasonsWithSnow);
    expect(body.seasonsWithSnow).toBeGreaterThanOrEqual(29);
    // By 30 November: of the seasons used, the share whose first inch fell in July to November.
    const early = [...told.values()].filter(
      (at) => String(at).slice(5) >= '07-01' && String(at).slice(5) <= '11-30',
    ).length;
    expect(body.probabilities[0].probability).toBeCloseTo(early / (body.seasonsWithSnow + body.seasonsWithout), 9);
    const median = body.quantiles.find((one: Json) => one.probability === 0.5);
    expect(median.earliestLikelyDate <= median.day && median.day <= median.latestLikelyDate).toBe(true);
    expect(body.noneSoFar.noneByDate).toBe('2026-09-14');
    expect(body.reasons.join(' ')).toContain('Lake Fennow');
  });

  it('knows how late it is: given none by 1 December, only the later seasons count', async () => {
    shop.clock.now = new Date('2026-12-02T15:00:00Z');
    const { body } = await shop.rest('reader', 'get', '/first-snow?byDays=2026-12-10');
    const dates = [...byHand().values()].map((at) =>
      at.slice(5) < '07-01' ? `2027${at.slice(4)}` : `2026${at.slice(4)}`,
    );
    const later = dates.filter((at) => at > '2026-12-01');
    expect(body.noneSoFar.noneByDate).toBe('2026-12-01');
    expect(body.noneSoFar.seasonsAlike).toBe(later.length);
    expect(body.noneSoFar.probabilities[0].probability).toBeCloseTo(
      later.filter((at) => at <= '2026-12-10').length / later.length,
      9,
    );
    expect(body.reasons.join(' ')).toContain('No record tells of the days since');
    const outlook = await shop.within((context) => snowOutlook(context));
    expect(outlook.sample.map((one) => one.firstSnowDate).sort()).toEqual(later.sort());
    expect(outlook.medianDate! > '2026-12-01').toBe(true);
    expect(probabilityOfSnowBy(outlook, '2026-12-10')).toBeCloseTo(body.noneSoFar.probabilities[0].probability, 9);
    shop.clock.now = TEST_NOW;
  });

  it('looks to the next season once this one is over', async () => {
    shop.clock.now = new Date('2027-03-16T15:00:00Z');
    expect((await shop.rest('reader', 'get', '/first-snow')).body).toMatchObject({
      seasonLabel: '2027-28',
      noneSoFar: null,
    });
    shop.clock.now = TEST_NOW;
  });

  it('is the same over GraphQL, at any threshold and quantile', async () => {
    const { data, errors } = await shop.graphql(
      'helper',
      '{ firstSnow(thresholdMillimetres: 100, quantileType: linear) { thresholdMillimetres ' +
        'seasonsWithout quantiles { probability day } probabilityNever } }',
    );
    expect(errors).toBeUndefined();
    const rest = await shop.rest('helper', 'get', '/first-snow?thresholdMillimetres=100&quantileType=linear');
    expect(data.firstSnow.quantiles).toEqual(
      rest.body.quantiles.map(({ probability, day }: Json) => ({ probability, day })),
    );
    expect((await shop.rest('helper', 'get', '/first-snow?thresholdMillimetres=0')).status).toBe(422);
    expect(
      (await shop.rest('helper', 'get', `/first-snow?stationId=0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11`)).status,
    ).toBe(404);
  });

  it('takes few statements however long the record', async () => {
    const { statements } = await shop.database.countStatements(() => shop.within((context) => snowOutlook(context)));
    // The shop's facts, its settings, the station, its days.
    expect(statements).toHaveLength(4);
  });

  it('passes over a nearer station with a week on record, and says so, at the price of the same statements', async () => {
    const near = (
      await shop.rest('owner', 'post', '/stations', { name: 'By the Gate', latitude: 45.42, longitude: -75.69 })
    ).body.id as string;
    const week = Array.from({ length: 7 }, (_, k) => ({
      day: `2026-09-0${k + 1}`,
      highCelsius: 21,
      lowCelsius: 9,
      snowfallMillimetres: 0,
    }));
    expect((await shop.rest('owner', 'post', `/stations/${near}/days`, { days: week })).body.added).toBe(7);
    const snow = (await shop.rest('reader', 'get', '/first-snow')).body;
    expect(snow.stationId).toBe(stationId);
    expect(snow.reasons.join(' ').replace(/[\d.]+ km/g, '# km')).toContain(
      'By the Gate, # km away, is nearer, but has only 7 days in the months of first snow with their snowfall on ' +
        'record; ten years of them are wanted.',
    );
    const outlook = await shop.within((context) => snowOutlook(context));
    expect(outlook.medianDate).not.toBeNull();
    const { data } = await shop.graphql(
      'reader',
      '{ paintWeather { stationId reasons } lastFrost { stationId reasons } }',
    );
    for (const answer of [data.paintWeather, data.lastFrost]) {
      expect(answer.stationId).toBe(stationId);
      expect(answer.reasons.join(' ')).toContain('has only 7 days with a high and a low on record');
    }
    // Asked for by name it answers, with what little it knows.
    expect((await shop.rest('reader', 'get', `/first-snow?stationId=${near}`)).body).toMatchObject({
      stationId: near,
      quantiles: [],
    });
    // Where no station has enough, the one with most answers and says how little that is.
    expect(
      (await shop.rest('owner', 'delete', `/stations/${stationId}/days?startDate=1990-01-01&endDate=2026-01-01`))
        .status,
    ).toBe(200);
    const poor = (await shop.rest('reader', 'get', '/first-snow')).body;
    expect(poor.stationId).toBe(stationId);
    expect(poor.reasons.join(' ')).toContain('less than the ten years wanted, and no station has more');
    const { statements } = await shop.database.countStatements(() => shop.within((context) => snowOutlook(context)));
    expect(statements).toHaveLength(4);
    for (let from = 0; from < days.length; from += 4000) await send(days.slice(from, from + 4000));
    await shop.rest('owner', 'delete', `/stations/${near}`, undefined, { version: 1 });
  });

  it('is drawn', async () => {
    const drawn = await shop
      .rest('reader', 'get', '/first-snow.svg')
      .buffer(true)
      .parse((response, done) => {
        let text = '';
        response.on('data', (part: Buffer) => (text += part.toString('utf8')));
        response.on('end', () => done(null, text));
      });
    expect(drawn.status).toBe(200);
    expect(drawn.headers['content-type']).toContain('image/svg+xml');
    expect(drawn.body).toContain('<title id="first-snow-title">First snow of 2026-27 (25 mm)</title>');
  });

  it('says what to do without records', async () => {
    const other = await shop.anotherShop();
    const headers = { Authorization: `Bearer ${other.keys.owner}` };
    const answer = await shop.rest('owner', 'get', '/first-snow', undefined, { headers });
    expect(answer.status).toBe(422);
    expect(answer.body.type).toMatch(/no-station-records$/);
  });
});
