/** First snow at four stations against records worked out elsewhere, and against what newspapers published. */
import { describe, expect } from '@jest/globals';
import {
  eventDistribution,
  eventOutlook,
  eventQuantile,
  findSeasons,
  firstSnowRule,
  quantile,
  type QuantileType,
  type Season,
  type StationRecord,
  stationRecord,
} from '../src/engine/weather/index.js';
import { checkReference, readClimate, referenceDays } from './weather-reference.js';

const stations = ['CA006105976_ottawa_cda', 'USW00014739_boston_logan', 'USW00014839_milwaukee', 'mspthr_twin_cities'];
const thresholds = { first_0p1in: 2.54, first_1p0in: 25, first_1p0in_strict_25p4mm: 25.4, first_3p0in: 76 };
const types: [string, QuantileType][] = [
  ['type5', 'hazen'],
  ['type6', 'weibull'],
  ['type8', 'medianUnbiased'],
];
const levels = { p10: 0.1, p25: 0.25, p50: 0.5, p75: 0.75, p90: 0.9 };

const records = new Map<string, StationRecord>();
const recordOf = (station: string): StationRecord => {
  const known = records.get(station) ?? stationRecord(referenceDays(station));
  records.set(station, known);
  return known;
};
// The source: first_snow_reference.json, worked out from the same records by other code, its definitions inside.
// eslint-disable-next-line @typescript-eslint/no-explicit-any
const reference = (): any => JSON.parse(readClimate('first_snow_reference.json')).stations;
const usable = (seasons: Season[]): Season[] => seasons.filter((one) => one.status !== 'excluded');

describe.each(stations)('%s', (station) => {
  for (const [name, threshold] of Object.entries(thresholds)) {
    checkReference(`${name}: every season's date, and which seasons say nothing`, () => {
      const seasons = findSeasons(recordOf(station), firstSnowRule(threshold));
      const byYear = new Map(seasons.map((one) => [one.startYear, one]));
      const expected = reference()[station].seasons;
      expect(expected.length).toBeGreaterThan(80);
      for (const season of expected) {
        const found = byYear.get(season.start_year)!;
        expect(found.label).toBe(season.season);
        const event = season[name];
        // A season the record ends in before its event is "running" here; there it lacks most of its days.
        if (found.status === 'running')
          expect({ none: event.date, truncated: season.record_truncated }).toEqual({ none: null, truncated: true });
        else
          expect({ label: found.label, excluded: found.status === 'excluded' }).toEqual({
            label: season.season,
            excluded: season.excluded_missing,
          });
        expect({ label: found.label, day: found.eventDate, dayOfSeason: found.dayOfSeason }).toEqual({
          label: season.season,
          day: event.date,
          dayOfSeason: event.dos,
        });
        if (event.date) expect(found.amount).toBe(event.snow_mm);
      }
    });

    checkReference(`${name}: quantiles of every type, earliest and latest, seasons without`, () => {
      const expected = reference()[station].full_record[name];
      const seasons = findSeasons(recordOf(station), firstSnowRule(threshold));
      const events = usable(seasons).filter((one) => one.status === 'event');
      expect(events.length).toBe(expected.n_events);
      expect(seasons.filter((one) => one.status === 'none').map((one) => one.label)).toEqual(expected.seasons_none);
      const days = events.map((one) => one.dayOfSeason!);
      const distribution = eventDistribution(seasons);
      for (const [level, p] of Object.entries(levels)) {
        for (const [label, type] of types)
          expect(quantile(days, p, type)).toBeCloseTo(expected.quantiles_dos_other_types_events_only[label][level], 3);
        expect(quantile(days, p, 'linear')).toBeCloseTo(expected.quantiles_type7_events_only[level].dos, 3);
        const withNone = expected.quantiles_type7_none_as_infinity[level]?.dos ?? null;
        const found = eventQuantile(distribution, p, 'linear') ?? null;
        if (withNone === null) expect(found).toBeNull();
        else expect(found).toBeCloseTo(withNone, 6);
      }
      const outlook = eventOutlook({
        rule: firstSnowRule(threshold),
        seasons,
        startYear: 2030,
        quantileType: 'linear',
        probabilities: [0.5],
      });
      expect(outlook.earliest?.day).toBe(expected.earliest.date);
      expect(outlook.latest?.day).toBe(expected.latest_event.date);
      const median = expected.quantiles_type7_none_as_infinity.p50;
      expect(outlook.quantiles[0]!.day!.slice(5)).toBe(median.date_round ?? null);
    });
  }

  checkReference('thirty winters from 1991 on', () => {
    const expected = reference()[station].seasons_1991_2020;
    for (const [name, threshold] of Object.entries(thresholds)) {
      const seasons = findSeasons(recordOf(station), firstSnowRule(threshold)).filter(
        (one) => one.startYear >= 1991 && one.startYear <= 2020,
      );
      expect(usable(seasons).length).toBe(expected[name].n_seasons_used);
      const found = eventQuantile(eventDistribution(seasons), 0.5, 'linear');
      expect(found).toBeCloseTo(expected[name].quantiles_type7_none_as_infinity.p50.dos, 6);
    }
  });
});
