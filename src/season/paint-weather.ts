/** When the weather lets a coat be applied, answered to a person. Pure. */
import { MINUTES_PER_DAY } from '../engine/days.js';
import { at } from '../engine/look-up.js';
import {
  type LastPaintDay,
  lastPaintDay,
  type PaintDayRefusal,
  paintDays,
  type PaintDaysLeft,
  paintDaysLeft,
  type PaintSettings,
  type PaintWait,
  probabilityByFortnight,
  waitForPaintWindow,
} from '../engine/weather/index.js';
import { addDays, dayAt } from '../platform/days.js';
import { snowOutlookOf, type SnowQuestion } from './first-snow.js';
import { LocalTime } from './local-time.js';
import { paintAhead, type PaintQuestion } from './paint-windows.js';
import { type ChosenStation, type PackedWeather, unpacked } from './stations/station-record.js';

const daysShown = 14;

export interface PaintWeatherQuestion extends Omit<PaintQuestion, 'startDate' | 'endDate'> {
  weather: PackedWeather;
  now: Date;
  today: string;
  /** When anybody works, by weekday: what is named to begin at must be one of those times. */
  weekHours: PaintSettings['weekHours'];
  /** Up to which day paint days are counted; null: the median first snow. */
  beforeDate: string | null;
  snow: SnowQuestion | null;
}

export function paintWeatherOf({
  weather,
  forecast,
  settings,
  timeZone,
  weekHours,
  now,
  today,
  beforeDate: asked,
  snow,
}: PaintWeatherQuestion) {
  const found = unpacked(weather);
  const { station, record } = found;
  const local = new LocalTime(timeZone);
  const snowDate = asked || !snow ? null : snowOutlookOf(snow).medianDate;
  // Without a first snow to aim at, a quarter of a year is looked ahead; further than a year nobody plans paint.
  const beforeDate = at(
    [asked ?? (snowDate && snowDate > today ? snowDate : addDays(today, 90)), addDays(today, 400)].sort(),
    0,
  );
  const question = { record, settings, startDate: today, forecast };
  const ahead = paintAhead(found, forecast, today, addDays(today, daysShown - 1), settings);
  const told = new Set(forecast.map((one) => one.day));
  const midnight = local.moment(today, 0).getTime();
  const windowMinutes = settings.minWindowMinutes;
  const fromMinute = Math.floor((now.getTime() - midnight) / 60_000);
  const working = { ...settings, weekHours };
  const midwinter = nextMidwinter(today, station.latitude);
  return {
    stationId: station.id,
    stationName: station.name,
    distanceKilometres: station.distanceKilometres,
    fortnights: probabilityByFortnight(
      paintDays(record, dayAt(record.firstDayNumber), dayAt(record.lastDayNumber), settings),
    ),
    daysLeft: daysLeftOf(paintDaysLeft({ ...question, beforeDate }), beforeDate),
    lastDay: lastDayOf(lastPaintDay({ ...question, settings: working, endDate: midwinter }), midwinter),
    wait: waitOf(
      waitForPaintWindow({ ...question, settings: working, windowMinutes, fromMinute }),
      windowMinutes,
      (waitMinutes) =>
        waitMinutes === 0
          ? now
          : local.moment(
              addDays(today, Math.floor((fromMinute + waitMinutes) / MINUTES_PER_DAY)),
              (fromMinute + waitMinutes) % MINUTES_PER_DAY,
            ),
    ),
    comingDays: ahead.map((one) => ({
      day: one.day,
      forecast: told.has(one.day),
      probability: one.probability,
      refusal: one.refusal && refusalWords[one.refusal],
      windows: one.windows.map((window) => ({
        from: local.moment(one.day, window.fromMinute),
        to: local.moment(one.day, window.toMinute),
      })),
    })),
    reasons: reasonsOf(
      station,
      record.byDate.size,
      dayAt(record.firstDayNumber),
      dayAt(record.lastDayNumber),
      told.size,
      snowDate === beforeDate ? beforeDate : null,
    ),
  };
}

const refusalWords = {
  rain: 'rain',
  cold: 'cold',
  hot: 'hot',
  damp: 'damp',
  'too-short': 'tooShort',
} as const satisfies Record<PaintDayRefusal, string>;

const daysLeftOf = ({ mean, ...left }: PaintDaysLeft, beforeDate: string) => ({ ...left, beforeDate, expected: mean });

/** The coldest time of the year is over by then; what can be painted in later belongs to the next season. */
function nextMidwinter(today: string, latitude: number): string {
  const monthDay = latitude < 0 ? '07-31' : '01-31';
  const year = Number(today.slice(0, 4));
  const own = `${today.slice(0, 4)}-${monthDay}`;
  return own >= today ? own : `${String(year + 1).padStart(4, '0')}-${monthDay}`;
}

const lastDayOf = ({ quantiles, continues, years }: LastPaintDay, untilDate: string) => ({
  untilDate,
  continues,
  years,
  quantiles: continues ? [] : quantiles,
});

const waitOf = (
  { quantiles, ...wait }: PaintWait,
  windowMinutes: number,
  momentAfter: (waitMinutes: number) => Date,
) => ({
  ...wait,
  windowMinutes,
  quantiles: quantiles.map(({ probability, waitMinutes }) => ({
    probability,
    startsAt: waitMinutes === null ? null : momentAfter(waitMinutes),
  })),
});

function reasonsOf(
  { name, choiceReasons }: ChosenStation,
  days: number,
  firstDate: string,
  lastDate: string,
  weatherForecastDays: number,
  snowDate: string | null,
): string[] {
  const reasons = [
    `${name}: ${days} days on record from ${firstDate} to ${lastDate}; each year of them counts as one that could come.`,
    ...choiceReasons,
  ];
  reasons.push(
    weatherForecastDays > 0
      ? `${weatherForecastDays} days ahead are told by the forecast that was entered, believed the less the longer ahead it was told.`
      : 'No forecast is entered for the days ahead.',
  );
  if (snowDate) reasons.push(`The days left are counted up to ${snowDate}, the median first snow.`);
  reasons.push(
    'A daily record is good for planning; whether to spray now is decided by a thermometer and a hygrometer at the work.',
  );
  return reasons;
}
