/** Paint weather from a station whose every summer day is fit and every winter day is not, so that all can be counted by hand. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { paintWeatherYears, paintWindows } from '../src/season/paint-weather.queries.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;

/**
 * May to September 25/15 °C at 50 %: dew point near 9.3 °C (check-values.md 2.2), so dry enough all day; else frost.
 * Snow on 20 November.
 */
function dayOf(day: string): Json {
  const summer = day.slice(5) >= '05-01' && day.slice(5) <= '09-30';
  const weather = summer
    ? { highCelsius: 25, lowCelsius: 15, humidityPercent: 50 }
    : { highCelsius: 0, lowCelsius: -10, humidityPercent: 80 };
  return { day, ...weather, precipitationMillimetres: 0, snowfallMillimetres: day.slice(5) === '11-20' ? 30 : 0 };
}

beforeAll(async () => {
  shop = await startTestShop();
  const station = await shop.rest('owner', 'post', '/stations', {
    name: 'Two Seasons',
    latitude: 45.4,
    longitude: -75.7,
  });
  const days: Json[] = [];
  for (let time = Date.UTC(2019, 0, 1); time < Date.UTC(2026, 8, 15); time += 86_400_000)
    days.push(dayOf(new Date(time).toISOString().slice(0, 10)));
  expect((await shop.rest('owner', 'post', `/stations/${station.body.id}/days`, { days })).status).toBe(200);
});
afterAll(() => shop.close());

const ask = async (query = ''): Promise<Json> => {
  const answer = await shop.rest('reader', 'get', `/paint-weather${query}`);
  expect({ status: answer.status, problem: answer.body.detail }).toEqual({ status: 200, problem: undefined });
  return answer.body;
};

describe('paint weather', () => {
  it('is certain in summer and never in winter, by fortnight', async () => {
    const { fortnights, place } = await ask();
    expect(place).toContain('outdoors');
    expect(fortnights).toHaveLength(26);
    expect(fortnights[0]).toMatchObject({ from: '01-01', to: '01-14', probability: 0 });
    expect(fortnights.find((one: Json) => one.from === '07-02').probability).toBe(1);
    // 23 April to 6 May: the first six days of May of fourteen.
    expect(fortnights.find((one: Json) => one.from === '04-23').probability).toBeCloseTo(6 / 14, 9);
  });

  it('counts the days left, and starts the wait now', async () => {
    // Today is 15 September, nine in the morning: sixteen days of September are left, the 15th among them.
    const body = await ask('?beforeDate=2026-10-11');
    expect(body.daysLeft).toMatchObject({ beforeDate: '2026-10-11', expected: 16, minDays: 16, maxDays: 16 });
    expect(body.wait.quantiles.map((one: Json) => one.startsAt)).toEqual(Array(3).fill('2026-09-15T13:00:00.000Z'));
    expect(body.comingDays).toHaveLength(14);
    expect(body.comingDays[0]).toEqual({
      day: '2026-09-15',
      forecast: false,
      probability: 1,
      refusal: null,
      windows: [{ from: '2026-09-15T13:00:00.000Z', to: '2026-09-15T21:00:00.000Z' }],
    });
    // Without a day to count to: the median first snow, which fell on every 20 November.
    expect((await ask()).daysLeft).toMatchObject({ beforeDate: '2026-11-20', expected: 16 });
  });

  it('lets the forecast stand in for climate', async () => {
    await shop.rest('owner', 'put', '/weather-forecast-days', {
      days: [
        { day: '2026-09-15', highCelsius: 22, lowCelsius: 14, precipitationMillimetres: 8 },
        { day: '2026-09-16', highCelsius: 6, lowCelsius: 2, precipitationMillimetres: 0 },
      ],
    });
    const body = await ask('?beforeDate=2026-10-11');
    expect(body.daysLeft).toMatchObject({ expected: 14, weatherForecastDays: 2 });
    expect(body.comingDays.slice(0, 3).map(({ forecast, refusal }: Json) => ({ forecast, refusal }))).toEqual([
      { forecast: true, refusal: 'rain' },
      { forecast: true, refusal: 'cold' },
      { forecast: false, refusal: null },
    ]);
    // The 17th, when the shop opens at nine.
    expect(body.wait.quantiles[0].startsAt).toBe('2026-09-17T13:00:00.000Z');
  });

  it('asks what a product, a place or the caller demands', async () => {
    const product = await shop.rest('owner', 'post', '/coating-products', {
      name: 'Fussy',
      family: 'epoxy',
      role: 'primer',
      volumeSolidsPercent: 50,
      dryFilmMicrometres: 60,
      minCelsius: 26,
      maxCelsius: 35,
      referenceCelsius: 28,
      touchMinutes: 60,
      handleMinutes: 90,
      assembleMinutes: 120,
      fullMinutes: 240,
      recoatMinutes: [{ fromMinutes: 30 }],
      containerLitres: 1,
      containerPrice: '9.00',
    });
    expect((await ask(`?productId=${product.body.id}`)).fortnights.every((one: Json) => one.probability === 0)).toBe(
      true,
    );
    expect(
      (await ask(`?productId=${product.body.id}&minCelsius=10`)).fortnights.some((one: Json) => one.probability === 1),
    ).toBe(true);
    const heated = await shop.rest('owner', 'post', '/places', {
      name: 'Booth',
      kind: 'sprayArea',
      shelter: 'heated',
      heatedToCelsius: 20,
    });
    const warm = await ask(`?placeId=${heated.body.id}`);
    expect(warm.place).toContain('Booth');
    expect(warm.fortnights[0].probability).toBe(1);
    // It is the shop's spray area now, so it counts without being named.
    expect((await ask()).place).toContain('Booth');
    await shop.rest('owner', 'delete', `/places/${heated.body.id}`, undefined, { version: 1 });
    expect((await shop.rest('reader', 'get', `/paint-weather?productId=${heated.body.id}`)).status).toBe(404);
  });

  it('is the same over GraphQL', async () => {
    const { data, errors } = await shop.graphql(
      'helper',
      '{ paintWeather(beforeDate: "2026-10-11") { stationName daysLeft { expected quantiles { ' +
        'probability days } } comingDays { day refusal windows { from to } } } }',
    );
    expect(errors).toBeUndefined();
    expect(data.paintWeather.daysLeft).toEqual({
      expected: 14,
      quantiles: [0.1, 0.5, 0.9].map((probability) => ({ probability, days: 14 })),
    });
  });
});

describe('the last frost', () => {
  it('ends the winter of the next spring', async () => {
    // Frost every night to 30 April. Days are counted from New Year, so that the two leap years of eight (2020, 2024)
    // stand for 1 May in 2027: on 30 April six of eight are over. In September the next spring is meant.
    const { body } = await shop.rest('reader', 'get', '/last-frost?byDays=2027-04-29,2027-04-30,2027-05-01');
    expect(body).toMatchObject({ seasonLabel: '2027', thresholdCelsius: 0 });
    expect(body.quantiles.slice(0, 3).map((one: Json) => one.day)).toEqual(Array(3).fill('2027-04-30'));
    expect(body.probabilities).toEqual([
      { day: '2027-04-29', probability: 0 },
      { day: '2027-04-30', probability: 6 / 8 },
      { day: '2027-05-01', probability: 1 },
    ]);
    expect(body.seasons[0]).toMatchObject({ label: '2019', status: 'event', day: '2019-04-30', celsius: -10 });
    const { data, errors } = await shop.graphql(
      'reader',
      '{ lastFrost(thresholdCelsius: -11) { quantiles { day } seasons { status } } }',
    );
    expect(errors).toBeUndefined();
    expect(data.lastFrost.seasons.map((one: Json) => one.status)).toEqual([...Array(8).fill('none'), 'running']);
  });
});

describe('for the plan', () => {
  it('each fit day is one window in the hours the shop is open', async () => {
    const { result, statements } = await shop.database.countStatements(() =>
      shop.within((context) => paintWindows(context, '2026-09-15', '2027-05-02')),
    );
    // 17 to 30 September, then the first two days of May.
    const moments = result.map((minute) => new Date(minute * 60_000).toISOString());
    expect(moments.filter((_, k) => k % 2 === 0).map((moment) => moment.slice(0, 10))).toEqual([
      ...Array.from({ length: 14 }, (_, k) => `2026-09-${17 + k}`),
      '2027-05-01',
      '2027-05-02',
    ]);
    expect(moments.slice(0, 2)).toEqual(['2026-09-17T13:00:00.000Z', '2026-09-17T21:00:00.000Z']);
    expect(statements.length).toBeLessThanOrEqual(6);
  });

  it('each weather year keeps its windows and its first snow together', async () => {
    const years = await shop.within((context) => paintWeatherYears(context, '2026-09-15', '2026-12-31'));
    expect(years.map((one) => one.sourceYear)).toEqual([2019, 2020, 2021, 2022, 2023, 2024, 2025]);
    for (const year of years) {
      expect(year.firstSnowDate).toBe('2026-11-20');
      expect(year.windows).toHaveLength(2 * 14);
    }
  });

  it('not knowing the weather does not stop it', async () => {
    const other = await startTestShop();
    const windows = await other.within((context) => paintWindows(context, '2026-09-15', '2026-09-16'));
    expect(windows).toEqual(
      ['15', '16'].flatMap((day) => [13, 21].map((hour) => Date.parse(`2026-09-${day}T${hour}:00:00Z`) / 60_000)),
    );
    expect(await other.within((context) => paintWeatherYears(context, '2026-09-15', '2026-12-31'))).toEqual([]);
    await other.close();
  });
});
