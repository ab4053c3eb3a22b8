/** Where applied coats stand: stored rows in, the cure engine's answer out, in the shapes' words. */
import { coatStanding, constantCourse, minuteOfAge, type CoatStanding as Standing, type DryingSheet, type FinishWarning, type LikelyMinute, type TemperatureCourse } from '../engine/cure/index.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { coatsOfJobs, warningsFor } from './coat-warnings.js';
import { CureWeather, minuteOf, momentAt, type PlaceCourses } from './cure-weather.js';

/** As likely as not, and four times in five. */
export const LIKELY = 0.5;
const SAFE = 0.8;
const minutesPerDay = 1440;

/** A stored product as the engine takes it. */
export const sheetOf = (product: Presentable): DryingSheet => ({
  name: product.name,
  referenceCelsius: Number(product.referenceCelsius),
  leastCelsius: Number(product.leastCelsius),
  mostCelsius: Number(product.mostCelsius),
  touchMinutes: product.touchMinutes,
  handleMinutes: product.handleMinutes,
  assembleMinutes: product.assembleMinutes,
  fullMinutes: product.fullMinutes,
  recoatMinutes: product.recoatMinutes,
  sensitivity: { doublingCelsius: Number(product.doublingCelsius) },
  dryFilmMicrometres: Number(product.dryFilmMicrometres),
});

const assumed = (sheet: DryingSheet): FinishWarning => ({
  code: 'temperature-assumed',
  detail: `Nothing is known of the temperature there; ${sheet.referenceCelsius} °C is assumed, as on the sheet. Record a thermometer's readings, or import a weather station's days.`,
});

/** What the coat's place may have been and be like; the sheet's own conditions where nothing is known. */
export function scenariosFor(sheet: DryingSheet, known: PlaceCourses, appliedMinute: number, nowMinute: number): { scenarios: readonly TemperatureCourse[]; warnings: FinishWarning[] } {
  if (known.scenarios.length > 0) return { scenarios: known.scenarios, warnings: [] };
  return { scenarios: [constantCourse(sheet.referenceCelsius, appliedMinute, Math.max(nowMinute, appliedMinute) + 365 * minutesPerDay)], warnings: [assumed(sheet)] };
}

/** The shop's own wait, in minutes. */
export const assemblyWaitOf = async (call: Call): Promise<number> =>
  (await call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id }, select: { assemblyWaitDays: true } })).assemblyWaitDays * minutesPerDay;

/**
 * The standing of some coats, in their order, in a constant number of statements.
 * @param rows stored coats, with or without their product
 */
export async function standingsOf(call: Call, rows: readonly Presentable[]): Promise<Presentable[]> {
  const shopAssemblyWaitMinutes = await assemblyWaitOf(call);
  const all = await coatsOfJobs(call, rows.map((row) => row.jobId as string));
  const weather = await CureWeather.read(call, rows);
  // A retired coat is not among its job's; its product is still known.
  const missing = rows.filter((row) => !all.some((one) => one.id === row.id));
  const products = missing.length > 0 ? await call.tx.coatingProduct.findMany({ where: { id: { in: missing.map((row) => row.productId as string) } } }) : [];
  return rows.map((row) => {
    const coat = all.find((one) => one.id === row.id) ?? { ...row, product: products.find((one) => one.id === row.productId) };
    return standingOf(call, coat, all, weather.at(coat.placeId), shopAssemblyWaitMinutes);
  });
}

function standingOf(call: Call, coat: Presentable, all: readonly Presentable[], known: PlaceCourses, shopAssemblyWaitMinutes: number): Presentable {
  const sheet = sheetOf(coat.product);
  const appliedMinute = minuteOf(coat.appliedAt);
  const nowMinute = minuteOf(call.now);
  const { scenarios, warnings } = scenariosFor(sheet, known, appliedMinute, nowMinute);
  const followed = scenarios.map((course) => whileItCures(sheet, course, appliedMinute, nowMinute));
  const standing = coatStanding({
    sheet,
    appliedMinute,
    nowMinute,
    dryFilmMicrometres: coat.dryFilmMicrometres === null ? null : Number(coat.dryFilmMicrometres),
    recorded: [],
    scenarios: followed,
    probabilities: [LIKELY, SAFE],
    shopAssemblyWaitMinutes,
  });
  return { ...present(standing), id: coat.id, coatId: coat.id, warnings: [...warnings, ...standing.warnings, ...warningsFor(coat, all)], why: [...standing.why, ...known.why] };
}

/** The part of a course in which anything still happens to the coat: a cured one need not be followed for half a year. */
function whileItCures(sheet: DryingSheet, course: TemperatureCourse, appliedMinute: number, nowMinute: number): TemperatureCourse {
  const last = Math.max(sheet.fullMinutes, ...sheet.recoatMinutes.flatMap(({ fromMinutes, toMinutes }) => [fromMinutes, toMinutes ?? 0]));
  const endMinute = Math.max(nowMinute, minuteOfAge(sheet, course, appliedMinute, last) ?? Infinity);
  return course.filter((span) => span.toMinute > appliedMinute && span.fromMinute <= endMinute);
}

const at = (likely: readonly LikelyMinute[], probability: number): Date | null => {
  const minute = likely.find((one) => one.probability === probability)?.minute;
  return minute === null || minute === undefined ? null : momentAt(minute);
};

function present(standing: Standing) {
  return {
    stage: standing.stage,
    equivalentMinutes: Math.round(standing.age.equivalentMinutes),
    stages: standing.stages.map((one) => ({ stage: one.stage, reachedAt: one.reachedMinute === null ? null : momentAt(one.reachedMinute), likelyAt: at(one.likely, LIKELY), safeAt: at(one.likely, SAFE) })),
    recoat: {
      allowedNow: standing.recoat.allowedNow,
      reason: standing.recoat.reason,
      // Four times in five the window is open at both: it opens late and closes early.
      periods: standing.recoat.periods.map((one) => ({ opensAt: at(one.opens, SAFE), closesAt: at(one.closes, SAFE) })),
    },
    assemblyFrom: at(standing.assembly.likely, SAFE),
  };
}
