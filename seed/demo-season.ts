/**
 * Where the demo's town lies, so that its first snow is always some weeks off on the day the demo is loaded: a
 * briefing in which every machine is too late, or none has anything to fear, would show nothing. The town is invented,
 * and so is its climate; it lies north or south of the equator as the calendar needs it.
 */
import { Temporal } from 'temporal-polyfill';

/** Days from loading to the median first snow: late summer in the shop, all that is open still to be decided. */
const DAYS_TO_SNOW = 77;
/** In the made climate the median first inch lies about so long before the coldest day. */
const SNOW_BEFORE_COLDEST_DAYS = 68;
const SEASON_DAYS = 115;
/** Between these days (month and day) a first snow lies well inside a season that starts on 1 July, or on 1 January. */
const windows = [
  { from: '02-25', to: '07-10', latitude: -46.2 },
  { from: '08-28', to: '12-31', latitude: 46.2 },
] as const;

export interface DemoSeason {
  latitude: number;
  firstSnow: string;
  coldestDayOfYear: number;
  /** Month and day. */
  seasonEndMonthDay: string;
}

/** @param today the local day on which the demo is loaded */
export function demoSeason(today: string): DemoSeason {
  let wanted = Temporal.PlainDate.from(today).add({ days: DAYS_TO_SNOW });
  const windowOf = (date: Temporal.PlainDate) =>
    windows.find(({ from, to }) => from <= date.toString().slice(5) && date.toString().slice(5) <= to);
  let window = windowOf(wanted);
  while (!window) {
    wanted = wanted.add({ days: 1 });
    window = windowOf(wanted);
  }
  const ends = wanted.add({ days: SEASON_DAYS }).toString().slice(5);
  const coldest = wanted.add({ days: SNOW_BEFORE_COLDEST_DAYS });
  return {
    latitude: window.latitude,
    firstSnow: wanted.toString(),
    coldestDayOfYear: coldest.dayOfYear,
    // A day that every year has.
    seasonEndMonthDay: ends === '02-29' ? '02-28' : ends,
  };
}
