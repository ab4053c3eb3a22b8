/** Where applied coats stand: the cure engine's answer in the shapes' words. Pure. */
import {
  type CoatStatus as Standing,
  coatStatus,
  constantCourse,
  type DryingSheet,
  type FinishWarning,
  type LikelyMinute,
  minuteOfAge,
  type TemperatureCourse,
} from '../engine/cure/index.js';
import { MINUTES_PER_DAY } from '../engine/days.js';
import { type CureRecords, CureWeather, momentAt, type PlaceCourses } from './cure-weather.js';

/** As likely as not, and four times in five. */
export const LIKELY = 0.5;
const SAFE = 0.8;

export interface CoatFacts {
  id: string;
  jobId: string;
  /** Null: outdoors. */
  placeId: string | null;
  /** Since 1970. */
  appliedMinute: number;
  dryFilmMicrometres: number | null;
  sheet: DryingSheet;
}

const assumed = (sheet: DryingSheet): FinishWarning => ({
  code: 'temperature-assumed',
  detail:
    `Nothing is known of the temperature there; ${sheet.referenceCelsius} °C is assumed, as on ` +
    `the sheet. Record a thermometer's readings, or import a weather station's days.`,
});

/** What the coat's place may have been and be like; the sheet's own conditions where nothing is known. */
export function scenariosFor(
  { sheet, appliedMinute }: CoatFacts,
  known: PlaceCourses,
  nowMinute: number,
): { scenarios: readonly TemperatureCourse[]; warnings: FinishWarning[] } {
  if (known.scenarios.length > 0) return { scenarios: known.scenarios, warnings: [] };
  return {
    scenarios: [
      constantCourse(sheet.referenceCelsius, appliedMinute, Math.max(nowMinute, appliedMinute) + 365 * MINUTES_PER_DAY),
    ],
    warnings: [assumed(sheet)],
  };
}

export interface StatusQuestion {
  coats: readonly CoatFacts[];
  records: CureRecords;
  nowMinute: number;
  assemblyWaitMinutes: number;
}

/** The standing of each coat, in their order. */
export function coatStatuses({ coats, records, nowMinute, assemblyWaitMinutes }: StatusQuestion) {
  const weather = new CureWeather(records);
  return coats.map((coat) => statusOf(coat, weather.at(coat.placeId), nowMinute, assemblyWaitMinutes));
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
  });
  return {
    ...serialize(status),
    id: coat.id,
    coatId: coat.id,
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
  const last = Math.max(
    sheet.fullMinutes,
    ...sheet.recoatMinutes.flatMap(({ fromMinutes, toMinutes }) => [fromMinutes, toMinutes ?? 0]),
  );
  const endMinute = Math.max(nowMinute, minuteOfAge(sheet, course, appliedMinute, last) ?? Infinity);
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
      // Four times in five the window is open at both: it opens late and closes early.
      periods: status.recoat.periods.map((one) => ({ opensAt: at(one.opens, SAFE), closesAt: at(one.closes, SAFE) })),
    },
    assemblyFrom: at(status.assembly.likely, SAFE),
  };
}
