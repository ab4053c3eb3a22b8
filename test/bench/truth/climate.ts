/** The weather of a simulated shop: a record it knows, and fresh years of the same climate that it does not. */
import { climate, makeStationDays, type StationDayRow } from '../../../seed/weather.js';
import { type StationRecord, stationRecord } from '../../../src/engine/weather/index.js';

/** The mean falls by this for each degree away from the climate's own latitude, 46°. From memory: about 0.6 °C. */
const CELSIUS_A_DEGREE = 0.6;

export interface ClimateQuestion {
  seed: number;
  latitude: number;
  endDate: string;
  years: number;
  warmerCelsius?: number;
}

/** Rows up to and with a day; another seed is another run of years of the same climate. */
export function climateDays({ seed, latitude, endDate, years, warmerCelsius = 0 }: ClimateQuestion): StationDayRow[] {
  const shift = warmerCelsius - (Math.abs(latitude) - 46) * CELSIUS_A_DEGREE;
  const turned = latitude < 0 ? { coldestDayOfYear: (climate.coldestDayOfYear + 182) % 365 } : {};
  return makeStationDays({ seed, endDate: endDate, years, ...turned }).map((row) => ({
    ...row,
    highCelsius: row.highCelsius + shift,
    lowCelsius: row.lowCelsius + shift,
  }));
}

export const climateRecord = (question: ClimateQuestion): StationRecord => stationRecord(climateDays(question));
