/** When the weather lets a coat be applied, answered to a person. Pure. */
import { at } from '../engine/look-up.js';
import {
  type PaintDayRefusal,
  paintDays,
  type PaintDaysLeft,
  paintDaysLeft,
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
  /** Up to which day paint days are counted; null: the median first snow. */
  beforeDate: string | null;
  snow: SnowQuestion | null;
}

export function paintWeatherOf({
  weather,
  forecast,
  settings,
  timeZone,
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
  return {
    stationId: station.id,
    stationName: station.name,
    distanceKilometres: station.distanceKilometres,
    fortnights: probabilityByFortnight(
      paintDays(record, dayAt(record.firstDayNumber), dayAt(record.lastDayNumber), settings),
    ),
    daysLeft: daysLeftOf(paintDaysLeft({ ...question, beforeDate }), beforeDate),
    wait: waitOf(
      waitForPaintWindow({ ...question, windowMinutes, fromMinute: Math.floor((now.getTime() - midnight) / 60_000) }),
      windowMinutes,
      now,
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

const waitOf = ({ quantiles, ...wait }: PaintWait, windowMinutes: number, now: Date) => ({
  ...wait,
  windowMinutes,
  quantiles: quantiles.map(({ probability, waitMinutes }) => ({
    probability,
    startsAt: waitMinutes === null ? null : new Date(now.getTime() + Math.round(waitMinutes) * 60_000),
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
