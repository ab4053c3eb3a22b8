/** Where applied coats stand: the cure engine's answer in the shapes' words. Pure. */
import {
  type CoatStatus as Standing,
  coatStatus,
  constantCourse,
  type DryingSheet,
  type FinishWarning,
  joinCourses,
  type LikelyMinute,
  minuteOfAge,
  type TemperatureCourse,
} from '../engine/cure/index.js';
import { MINUTES_PER_DAY } from '../engine/days.js';
import { last } from '../engine/look-up.js';
import { type CoatStay, type CureRecords, CureWeather, momentAt, type PlaceCourses } from './cure-weather.js';

/** As likely as not, and four times in five. */
export const LIKELY = 0.5;
const SAFE = 0.8;

export interface CoatFacts extends CoatStay {
  id: string;
  jobId: string;
  sandedMinutes: readonly number[];
  dryFilmMicrometres: number | null;
  sheet: DryingSheet;
}

const assumed = ({ minCelsius, maxCelsius }: DryingSheet): FinishWarning => ({
  code: 'temperature-assumed',
  detail:
    `The temperature there is not known all along. Where it is not, ${minCelsius} °C is taken for what must have dried and ` +
    `${maxCelsius} °C for what must not have shut, the coldest and the warmest of the sheet. Record a thermometer's ` +
    `readings, or import a weather station's days.`,
});

/**
 * What the coat's place may have been and be like. An unknown temperature is taken both as the coldest and as the warmest that
 * the sheet allows: what must have dried is told by the one, what must not have shut by the other.
 */
export function scenariosFor(
  { sheet, appliedMinute }: CoatFacts,
  known: PlaceCourses,
  nowMinute: number,
): { scenarios: readonly TemperatureCourse[]; warnings: FinishWarning[] } {
  if (known.scenarios.length > 0 && !known.recordedOnly) return { scenarios: known.scenarios, warnings: [] };
  const end = Math.max(nowMinute, appliedMinute) + 365 * MINUTES_PER_DAY;
  const recorded = known.scenarios.length > 0 ? known.scenarios : [[]];
  return {
    scenarios: [sheet.minCelsius, sheet.maxCelsius].flatMap((celsius) =>
      recorded.map((course) => joinCourses([course, constantCourse(celsius, appliedMinute, end)])),
    ),
    warnings: recorded.every((course) => minutesWithin(course, appliedMinute, nowMinute) >= nowMinute - appliedMinute)
      ? []
      : [assumed(sheet)],
  };
}

const minutesWithin = (course: TemperatureCourse, from: number, to: number): number =>
  course.reduce((sum, span) => sum + Math.max(0, Math.min(span.toMinute, to) - Math.max(span.fromMinute, from)), 0);

export interface StatusQuestion {
  coats: readonly CoatFacts[];
  records: CureRecords;
  nowMinute: number;
  assemblyWaitMinutes: number;
}

/** The standing of each coat, in their order. */
export function coatStatuses({ coats, records, nowMinute, assemblyWaitMinutes }: StatusQuestion) {
  const weather = new CureWeather(records);
  return coats.map((coat) => statusOf(coat, weather.of(coat), nowMinute, assemblyWaitMinutes));
}

function statusOf(coat: CoatFacts, known: PlaceCourses, nowMinute: number, shopAssemblyWaitMinutes: number) {
  const { sheet, appliedMinute, dryFilmMicrometres } = coat;
  const { scenarios, warnings } = scenariosFor(coat, known, nowMinute);
  const followed = scenarios.map((course) => whileItCures(sheet, course, appliedMinute, nowMinute));
  const status = coatStatus({
    sheet,
    appliedMinute,
    nowMinute,
    dryFilmMicrometres,
    recorded: [],
    scenarios: followed,
    probabilities: [LIKELY, SAFE],
    shopAssemblyWaitMinutes,
    sandedMinutes: coat.sandedMinutes.filter((minute) => minute <= nowMinute),
  });
  return {
    ...serialize(status),
    id: coat.id,
    coatId: coat.id,
    placeId: last([coat, ...coat.moves.filter((move) => move.atMinute <= nowMinute)]).placeId,
    warnings: [...warnings, ...status.warnings],
    reasons: [...status.reasons, ...known.reasons],
  };
}

/** The part of a course in which anything still happens to the coat: a cured one need not be followed for half a year. */
function whileItCures(
  sheet: DryingSheet,
  course: TemperatureCourse,
  appliedMinute: number,
  nowMinute: number,
): TemperatureCourse {
  const latest = Math.max(
    sheet.fullMinutes,
    ...sheet.recoatMinutes.flatMap(({ fromMinutes, toMinutes }) => [fromMinutes, toMinutes ?? 0]),
  );
  const endMinute = Math.max(nowMinute, minuteOfAge(sheet, course, appliedMinute, latest) ?? Infinity);
  return course.filter((span) => span.toMinute > appliedMinute && span.fromMinute <= endMinute);
}

const at = (likely: readonly LikelyMinute[], probability: number): Date | null => {
  const minute = likely.find((one) => one.probability === probability)?.minute;
  return minute === null || minute === undefined ? null : momentAt(minute);
};

function serialize(status: Standing) {
  return {
    stage: status.stage,
    equivalentMinutes: Math.round(status.age.equivalentMinutes),
    stages: status.stages.map((one) => {
      // What has been reached under every course that the past may have taken is told by one moment, the last of them.
      const reachedAt = one.reachedMinute === null ? null : momentAt(one.reachedMinute);
      return {
        stage: one.stage,
        reachedAt,
        likelyAt: reachedAt ?? at(one.likely, LIKELY),
        safeAt: reachedAt ?? at(one.likely, SAFE),
      };
    }),
    recoat: {
      allowedNow: status.recoat.allowedNow,
      reason: status.recoat.reason,
      needsSanding: status.recoat.code === 'closed',
      // Four times in five the window is open at both: it opens late and closes early. One that has shut by then is none.
      periods: status.recoat.periods
        .map((one) => ({ opensAt: at(one.opens, SAFE), closesAt: at(one.closes, SAFE) }))
        .filter(({ opensAt, closesAt }) => opensAt === null || closesAt === null || opensAt < closesAt),
    },
    assemblyFrom: at(status.assembly.likely, SAFE),
  };
}
