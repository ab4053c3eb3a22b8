/**
 * The temperatures that coats have seen and may see: readings at the place, then the station, then the forecast,
 * then every year on record as one that could come. Read once for any number of coats.
 */
import { constantCourse, courseFromReadings, joinCourses, type Reading, type TemperatureCourse } from '../engine/cure/index.js';
import { placeTemperatures, weatherPath, weatherYears, type Place, type StationDay, type StationRecord } from '../engine/weather/index.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { dayIn } from '../platform/operation/perform.js';
import { addDays, numberOfDay } from '../platform/days.js';
import { LocalTime } from '../season/local-time.js';
import { enginePlace } from '../season/paint-settings.js';
import { forecastFrom, stationWeather } from '../season/weather-record.js';

/** How far ahead a coat is followed; one that has not cured by then is told as unknown. */
const horizonDays = 180;
/** A coat older than this is as cured as it will be. */
const mostPastDays = 730;
/** Years laid over the days ahead, the latest first: enough to tell four in five. */
const mostYears = 20;
/** How far a reading reaches, as the engine takes it. */
const reachMilliseconds = 6 * 3_600_000;

export interface PlaceCourses {
  /** Each as likely as the others; minutes count from 1970. None when nothing is known. */
  scenarios: readonly TemperatureCourse[];
  why: string[];
}

export const minuteOf = (moment: Date): number => moment.getTime() / 60_000;
export const momentAt = (minute: number): Date => new Date(Math.round(minute) * 60_000);

interface Known {
  places: Map<string, Presentable>;
  readings: Map<string, Reading[]>;
  /** From `fromDay`: the days gone by as they were, the coming ones as one year had them. */
  paths: StationRecord[];
  source: string;
  fromDay: string;
  days: number;
  local: LocalTime;
}

export class CureWeather {
  private readonly courses = new Map<string, PlaceCourses>();

  private constructor(private readonly known: Known) {}

  /** A constant number of statements. @param coats with `placeId` and `appliedAt` */
  static async read(call: Call, coats: readonly Presentable[]): Promise<CureWeather> {
    const placeIds = [...new Set(coats.map((coat) => coat.placeId as string | null).filter((one): one is string => one !== null))];
    const earliest = coats.reduce((least: Date, coat) => (coat.appliedAt < least ? coat.appliedAt : least), call.now);
    const fromDay = [dayIn(earliest, call.shop.timeZone), addDays(call.today, -mostPastDays)].sort()[1]!;
    const places = await call.tx.place.findMany({ where: { id: { in: placeIds } } });
    const rows = await call.tx.temperatureReading.findMany({
      where: { placeId: { in: placeIds }, readAt: { gte: new Date(Math.max(earliest.getTime(), numberOfDay(fromDay) * 86_400_000) - reachMilliseconds), lte: call.now } },
      select: { placeId: true, readAt: true, celsius: true },
    });
    const readings = new Map<string, Reading[]>(placeIds.map((placeId) => [placeId, []]));
    for (const row of rows) readings.get(row.placeId)!.push({ atMinute: minuteOf(row.readAt), celsius: Number(row.celsius) });
    const weather = await stationWeather(call, 'air');
    const days = numberOfDay(call.today) - numberOfDay(fromDay) + horizonDays;
    const paths = weather ? pathsOver(weather.record, await forecastFrom(call, call.today), { fromDay, days }, call.today) : [];
    return new CureWeather({
      places: new Map(places.map((place) => [place.id, place])),
      readings,
      paths,
      source: weather ? `${weather.station.name}, ${paths.length} years of its records` : '',
      fromDay,
      days,
      local: new LocalTime(call.shop.timeZone),
    });
  }

  /** The end of the days looked at. */
  get endMinute(): number {
    const { fromDay, days, local } = this.known;
    return minuteOf(local.moment(fromDay, 0)) + days * 1440;
  }

  /** @param placeId null is outdoors */
  at(placeId: string | null): PlaceCourses {
    const key = placeId ?? 'outdoors';
    const made = this.courses.get(key) ?? this.make(placeId);
    this.courses.set(key, made);
    return made;
  }

  private make(placeId: string | null): PlaceCourses {
    const { places, readings, paths, source, fromDay, days, local } = this.known;
    const stored = placeId ? places.get(placeId) : undefined;
    const place: Place = stored ? enginePlace(stored as never) : { shelter: 'outdoors' };
    const name = stored?.name ?? 'outdoors';
    const measured = (placeId && readings.get(placeId)) || [];
    const recorded = courseFromReadings(measured);
    const startMinute = minuteOf(local.moment(fromDay, 0));
    // An hour's change of the clock in between moves a day's curve by that hour, which no coat will notice.
    let likely = paths.map((path): TemperatureCourse => placeTemperatures(path, { fromDayNumber: numberOfDay(fromDay), days, place, originMinute: startMinute }));
    const why = paths.length > 0 ? [`Temperatures ${stored ? `at ${name}` : name} are reckoned from ${source}.`] : [];
    if (paths.length === 0 && place.shelter === 'heated') {
      likely = [constantCourse(place.heatedToCelsius, startMinute, startMinute + days * 1440)];
      why.push(`${name} is taken to keep its ${place.heatedToCelsius} °C, as no weather station has records.`);
    }
    if (measured.length > 0) why.push(`${measured.length} readings of a thermometer at ${name} come before all else.`);
    if (likely.length === 0 && recorded.length > 0) likely = [[]];
    return { scenarios: likely.map((course) => joinCourses([recorded, course])), why };
  }
}

/** The days gone by as they were observed, a lost day as the year in hand had it; then the forecast, then that year. */
function pathsOver(record: StationRecord, forecast: readonly StationDay[], horizon: { fromDay: string; days: number }, today: string): StationRecord[] {
  const told: StationDay[] = [];
  for (let number = numberOfDay(horizon.fromDay); number < numberOfDay(today); number += 1) {
    const one = record.byDay.get(number);
    if (one && one.highCelsius !== null && one.lowCelsius !== null) told.push(one);
  }
  const { usable } = weatherYears(record, horizon);
  return usable.slice(-mostYears).map(({ sourceYear }) => weatherPath(record, horizon, sourceYear, [...told, ...forecast]));
}
