/**
 * A station's days on their way from the database to the weather engine: packed as text, so that a thread can unpack
 * them. Pure.
 */
import { type StationDay, type StationRecord, stationRecord } from '../../engine/weather/index.js';
import type { Coordinates } from './great-circle.js';

/** `snow`: snowfall alone, all there is of it. `air`: temperatures, humidity and precipitation of the latest years. */
export type WeatherKind = 'snow' | 'air';

export interface ChosenStation extends Coordinates {
  id: string;
  name: string;
  distanceKilometres: number;
  /** Why this one and not a nearer one; empty where nothing is to be said. */
  choiceReasons: string[];
}

export interface PackedWeather {
  station: ChosenStation;
  kind: WeatherKind;
  /** JSON: one array a day, the day first, then the columns of the kind. */
  days: string;
}

export interface StationWeather {
  station: ChosenStation;
  record: StationRecord;
}

type Column = Exclude<keyof StationDay, 'day'>;

/** Only what a question needs, since thirty years are eleven thousand rows. */
export const columns: Record<WeatherKind, readonly Column[]> = {
  snow: ['snowfallMillimetres', 'snowTrace'],
  air: ['highCelsius', 'lowCelsius', 'humidityPercent', 'precipitationMillimetres'],
};

export const unread = {
  highCelsius: null,
  lowCelsius: null,
  precipitationMillimetres: null,
  snowfallMillimetres: null,
  snowTrace: false,
  humidityPercent: null,
};

export function unpacked({ station, kind, days }: PackedWeather): StationWeather {
  const rows = JSON.parse(days) as [string, ...(number | boolean | null)[]][];
  const record = stationRecord(
    rows.map(([day, ...values]) => {
      const one: Record<string, unknown> = { day, ...unread };
      columns[kind].forEach((name, index) => (one[name] = values[index]));
      // Each kind of record names the columns that it reads; the rest are the unread ones.
      return one as unknown as StationDay;
    }),
  );
  return { station, record };
}
