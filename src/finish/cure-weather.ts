/**
 * The temperatures that coats have seen and may see: readings at the place, then the station, then the forecast,
 * then every year on record as one that could come. Computed once for any number of coats. Pure.
 */
import {
  constantCourse,
  courseFromReadings,
  joinCourses,
  type Reading,
  type TemperatureCourse,
} from '../engine/cure/index.js';
import { at } from '../engine/look-up.js';
import {
  type Place,
  placeTemperatures,
  type StationDay,
  type StationRecord,
  weatherPath,
  weatherYears,
} from '../engine/weather/index.js';
import { numberOfDay } from '../platform/days.js';
import { LocalTime } from '../season/local-time.js';
import { type PackedWeather, unpacked } from '../season/stations/station-record.js';

/** How far ahead a coat is followed; one that has not cured by then is told as unknown. */
const horizonDays = 180;
/** Years laid over the days ahead, the latest first: enough to tell four in five. */
const maxYears = 20;

export interface PlaceCourses {
  /** Each as likely as the others; minutes count from 1970. None when nothing is known. */
  scenarios: readonly TemperatureCourse[];
  /** What is known ends with the readings: no station and no heating tells what comes after. */
  recordedOnly: boolean;
  reasons: string[];
}

/** Where a coat stood and stands, and what its own thermometer said when it went on. */
export interface CoatStay {
  /** Where it went on; null is outdoors. */
  placeId: string | null;
  appliedMinute: number;
  airCelsius: number | null;
  /** In order. */
  moves: readonly { atMinute: number; placeId: string | null }[];
}

export const minuteOf = (moment: Date): number => moment.getTime() / 60_000;
export const momentAt = (minute: number): Date => new Date(Math.round(minute) * 60_000);

export interface CureRecords {
  places: Map<string, { name: string; place: Place }>;
  readings: Map<string, Reading[]>;
  /** Null where no station has records. */
  weather: PackedWeather | null;
  forecast: StationDay[];
  /** The first day looked at, on which the oldest coat went on. */
  startDate: string;
  today: string;
  timeZone: string;
}

export class CureWeather {
  private readonly courses = new Map<string, PlaceCourses>();
  private readonly likely = new Map<string, readonly TemperatureCourse[]>();
  /** From `startDate`: the days gone by as they were, the coming ones as one year had them. */
  private readonly paths: StationRecord[];
  private readonly source: string;
  private readonly days: number;
  private readonly startMinute: number;

  constructor(private readonly records: CureRecords) {
    const { weather, forecast, startDate, today, timeZone } = records;
    this.days = numberOfDay(today) - numberOfDay(startDate) + horizonDays;
    this.startMinute = minuteOf(new LocalTime(timeZone).moment(startDate, 0));
    const found = weather && unpacked(weather);
    this.paths = found ? pathsOver(found.record, forecast, { startDate, days: this.days }, today) : [];
    this.source = found ? `${found.station.name}, ${this.paths.length} years of its records` : '';
  }

  /** The end of the days looked at. */
  get endMinute(): number {
    return this.startMinute + this.days * 1440;
  }

  /** What a coat has seen and may see, from place to place as it was moved. */
  of({ placeId, appliedMinute, airCelsius, moves }: CoatStay): PlaceCourses {
    const own = airCelsius === null ? [] : [{ atMinute: appliedMinute, celsius: airCelsius }];
    const stays = [{ atMinute: -Infinity, placeId }, ...moves];
    const parts = stays.map((stay, k) => (k === 0 && own.length > 0 ? this.make(placeId, own) : this.at(stay.placeId)));
    const [only] = parts;
    if (parts.length === 1 && only) return only;
    const count = Math.max(...parts.map((part) => part.scenarios.length));
    return {
      scenarios: Array.from({ length: count }, (_, k) =>
        parts.flatMap(({ scenarios }, p) =>
          // A place of one course, such as a heated one, has it whatever the year.
          during(
            scenarios[Math.min(k, scenarios.length - 1)] ?? [],
            at(stays, p).atMinute,
            stays[p + 1]?.atMinute ?? Infinity,
          ),
        ),
      ),
      recordedOnly: parts.some((part) => part.recordedOnly || part.scenarios.length === 0),
      reasons: [...new Set(parts.flatMap((part) => part.reasons))],
    };
  }

  /** @param placeId null is outdoors */
  at(placeId: string | null): PlaceCourses {
    const key = placeId ?? 'outdoors';
    const made = this.courses.get(key) ?? this.make(placeId);
    this.courses.set(key, made);
    return made;
  }

  /** @param own what was measured beside a coat there */
  private make(placeId: string | null, own: readonly Reading[] = []): PlaceCourses {
    const { paths, source, days, startMinute } = this;
    const { places, readings } = this.records;
    const stored = placeId ? places.get(placeId) : undefined;
    const place: Place = stored?.place ?? { shelter: 'outdoors' };
    const name = stored?.name ?? 'outdoors';
    const measured = (placeId && readings.get(placeId)) || [];
    const recorded = courseFromReadings([...own, ...measured]);
    let likely = this.likelyAt(placeId, place);
    const reasons =
      paths.length > 0 ? [`Temperatures ${stored ? `at ${name}` : name} are computed from ${source}.`] : [];
    if (paths.length === 0 && place.shelter === 'heated') {
      likely = [constantCourse(place.heatedToCelsius, startMinute, startMinute + days * 1440)];
      reasons.push(`${name} is taken to keep its ${place.heatedToCelsius} °C, as no weather station has records.`);
    }
    if (measured.length > 0)
      reasons.push(`${measured.length} readings of a thermometer at ${name} come before all else.`);
    if (own.length > 0) reasons.push('The temperature noted with the coat counts for the hours around it.');
    const recordedOnly = likely.length === 0;
    if (recordedOnly && recorded.length > 0) likely = [[]];
    return { scenarios: likely.map((course) => joinCourses([recorded, course])), recordedOnly, reasons };
  }

  /** A place's temperatures in each year that could be, readings apart. */
  private likelyAt(placeId: string | null, place: Place): readonly TemperatureCourse[] {
    const key = placeId ?? 'outdoors';
    const { days, startMinute } = this;
    // An hour's change of the clock in between moves a day's curve by that hour, which no coat will notice.
    const made =
      this.likely.get(key) ??
      this.paths.map((path): TemperatureCourse =>
        placeTemperatures(path, {
          fromDayNumber: numberOfDay(this.records.startDate),
          days,
          place,
          originMinute: startMinute,
        }),
      );
    this.likely.set(key, made);
    return made;
  }
}

/** The part of a course from one minute to another. */
const during = (course: TemperatureCourse, fromMinute: number, toMinute: number): TemperatureCourse =>
  course
    .filter((span) => span.toMinute > fromMinute && span.fromMinute < toMinute)
    .map((span) => ({
      ...span,
      fromMinute: Math.max(span.fromMinute, fromMinute),
      toMinute: Math.min(span.toMinute, toMinute),
    }));

/** The days gone by as they were observed, a lost day as the year in hand had it; then the forecast, then that year. */
function pathsOver(
  record: StationRecord,
  forecast: readonly StationDay[],
  horizon: { startDate: string; days: number },
  today: string,
): StationRecord[] {
  const told: StationDay[] = [];
  for (let number = numberOfDay(horizon.startDate); number < numberOfDay(today); number += 1) {
    const one = record.byDate.get(number);
    if (one && one.highCelsius !== null && one.lowCelsius !== null) told.push(one);
  }
  const { usable } = weatherYears(record, horizon);
  return usable
    .slice(-maxYears)
    .map(({ sourceYear }) => weatherPath(record, horizon, sourceYear, [...told, ...forecast]));
}
