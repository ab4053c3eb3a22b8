/** How often days come as a forecast has them: forecasts are made of days held out, with errors that are not the engine's. */
import { describe, expect, it } from '@jest/globals';
import { makeStationDays } from '../../../seed/weather.js';
import { dayNumber, isoDay } from '../days.js';
import { paintDate, type PaintSettings, type StationDay, stationRecord, weatherPath, weatherYears } from './index.js';

const settings: PaintSettings = {
  place: { shelter: 'unheated' },
  hours: { fromMinute: 9 * 60, toMinute: 17 * 60 },
  minWindowMinutes: 240,
};
const known = stationRecord(makeStationDays({ seed: 3, endDate: '2020-12-31', years: 24 }));
const climates = [3, 4, 5].map((seed) => stationRecord(makeStationDays({ seed, endDate: '2026-12-31', years: 6 })));
const coming = climates[0]!;

/** A generator of its own. */
function normals(seed: number): () => number {
  let state = seed;
  const uniform = (): number => ((state = (Math.imul(state, 48_271) >>> 0) % 2_147_483_647) + 0.5) / 2_147_483_648;
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

interface Bin {
  count: number;
  stated: number;
  came: number;
}

/** Chances of a day fit for paint, in five bins, of forecasts as far ahead as is asked. */
function reliability(leads: readonly number[], error: (lead: number) => { celsius: number; humidity: number }): Bin[] {
  const normal = normals(11);
  const bins = Array.from({ length: 5 }, (): Bin => ({ count: 0, stated: 0, came: 0 }));
  const days = climates.flatMap((record) =>
    [2021, 2022, 2023, 2024, 2025].flatMap((year) =>
      Array.from({ length: 71 }, (_, k) => ({ record, at: dayNumber(`${year}-04-05`) + 3 * k })),
    ),
  );
  for (const { record, at } of days)
    for (const lead of leads) {
      const truth = record.byDate.get(at + lead)!;
      const { celsius, humidity } = error(lead);
      // The same wind blows all day: high and low are wrong together.
      const shift = celsius * normal();
      const told: StationDay = {
        ...truth,
        highCelsius: truth.highCelsius! + shift,
        lowCelsius: Math.min(truth.highCelsius! + shift, truth.lowCelsius! + shift + 0.5 * normal()),
        humidityPercent: Math.min(100, Math.max(5, truth.humidityPercent! + humidity * normal())),
        snowfallMillimetres: null,
        leadDays: lead,
      };
      const horizon = { startDate: isoDay(at), days: lead + 1 };
      const votes = weatherYears(known, horizon).usable.map(
        ({ sourceYear }) => paintDate(weatherPath(known, horizon, sourceYear, [told]), at + lead, settings).paintable!,
      );
      const stated = votes.filter(Boolean).length / votes.length;
      const bin = bins[Math.min(4, Math.floor(stated * 5))]!;
      bin.count += 1;
      bin.stated += stated;
      bin.came += Number(paintDate(record, at + lead, settings).paintable);
    }
  return bins;
}

describe('chances of paint weather from an entered forecast', () => {
  // Root mean square errors of forecasts: from memory, between a good and a poor one.
  it.each([
    ['good forecasts', (lead: number) => ({ celsius: 0.9 + 0.3 * lead, humidity: 5 + lead })],
    ['poor forecasts', (lead: number) => ({ celsius: 1.8 + 0.4 * lead, humidity: 8 + 1.5 * lead })],
  ])('are within ten points of what came, in each of five bins: %s', (_, error) => {
    for (const bin of reliability([2, 5, 9], error)) {
      expect(bin.count).toBeGreaterThan(100);
      expect(Math.abs(bin.stated - bin.came) / bin.count).toBeLessThan(0.1);
    }
  });

  it('are believed less the longer ahead, down to what is usual', () => {
    const at = dayNumber('2021-07-10');
    const told = (leadDays: number): StationDay => ({
      ...coming.byDate.get(at)!,
      highCelsius: 45,
      lowCelsius: 40,
      leadDays,
    });
    const highs = (leadDays: number): number => {
      const horizon = { startDate: '2021-07-10', days: 1 };
      const paths = weatherYears(known, horizon).usable.map(({ sourceYear }) =>
        weatherPath(known, horizon, sourceYear, [told(leadDays)]),
      );
      return paths.reduce((sum, path) => sum + path.byDate.get(at)!.highCelsius!, 0) / paths.length;
    };
    expect(highs(0)).toBeGreaterThan(40);
    expect(highs(3)).toBeLessThan(highs(0));
    expect(highs(40)).toBeLessThan(30);
  });

  it('take a day without a lead time as observed', () => {
    const day = { ...coming.byDate.get(dayNumber('2021-07-10'))!, highCelsius: 45, lowCelsius: 40 };
    const path = weatherPath(known, { startDate: '2021-07-10', days: 1 }, 2010, [day]);
    expect(path.byDate.get(dayNumber('2021-07-10'))!.highCelsius).toBe(45);
  });
});
