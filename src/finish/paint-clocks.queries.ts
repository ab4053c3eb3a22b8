/** The shop's paints as the plan needs them: how each ages on the rack, what the coats on the machines have come to. */
import { at } from '../engine/look-up.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { enginePlace } from '../season/paint-settings.js';
import { packedWeather, scheduleRecords } from '../season/stations/weather-record.js';
import type { AgeTablesQuestion, ClockQuestion, PlaceClock } from './age-tables.js';
import { coatsOfJobs } from './coat-warnings.js';
import { coatFacts, readCureRecords, sheetOf } from './cure-records.js';
import { minuteOf } from './cure-weather.js';
import type { CoatRole } from './paint-roles.js';
import { withRecoatWindows } from './recoat-windows.js';
import { workerTasks } from './worker-tasks.js';

export interface PaintProduct {
  id: string;
  name: string;
  role: CoatRole;
  recoatMinutes: { fromMinutes: number; toMinutes: number | null }[];
  handleMinutes: number;
  assembleMinutes: number;
  /** Null where the sheet is silent. */
  vapourMinutes: number | null;
  clock: ClockQuestion;
  /** How it comes to its recoat windows, by the sheet's own table; null where that goes as it dries. */
  recoatClock: ClockQuestion | null;
}

/** Every product of the shop, ageing where coats cure: the coldest cure rack, since which one is used is not known. */
export async function paintProducts(context: OperationContext): Promise<PaintProduct[]> {
  const products = await context.tx.coatingProduct.findMany({
    where: { archivedAt: null },
    orderBy: [{ name: 'asc' }, { id: 'asc' }],
    include: withRecoatWindows,
  });
  if (products.length === 0) return [];
  const places = await context.tx.place.findMany({
    where: { archivedAt: null, kind: { in: ['cureRack', 'sprayArea'] } },
    orderBy: [{ kind: 'desc' }, { id: 'asc' }],
  });
  const racks = places.filter((place) => place.kind === 'cureRack');
  const coldness = ['outdoors', 'unheated', 'heated'];
  const stored = (racks.length > 0 ? racks : places).sort(
    (a, b) => coldness.indexOf(a.shelter) - coldness.indexOf(b.shelter),
  )[0];
  const place = stored ? enginePlace(stored) : ({ shelter: 'outdoors' } as const);
  return products.map((product) => {
    const sheet = sheetOf(product);
    const { name, referenceCelsius, minCelsius, maxCelsius, sensitivity, recoatRates } = sheet;
    // Products that dry alike share a clock, whatever their names and stages.
    const clockOf = (rates?: typeof recoatRates): ClockQuestion => ({
      id: JSON.stringify([referenceCelsius, minCelsius, maxCelsius, sensitivity, place, ...(rates ? [rates] : [])]),
      sheet: { name, referenceCelsius, minCelsius, maxCelsius, sensitivity, ...(rates ? { recoatRates: rates } : {}) },
      place,
    });
    return {
      id: product.id,
      name,
      role: product.role,
      recoatMinutes: sheet.recoatMinutes.map((one) => ({
        fromMinutes: one.fromMinutes,
        toMinutes: one.toMinutes ?? null,
      })),
      handleMinutes: product.handleMinutes,
      assembleMinutes: product.assembleMinutes,
      vapourMinutes: product.vapourMinutes,
      clock: clockOf(),
      recoatClock: recoatRates ? clockOf(recoatRates) : null,
    };
  });
}

/** Tables for clocks, of the years asked for; read and worked through in a thread. */
export async function paintClocks(
  context: OperationContext,
  question: Pick<AgeTablesQuestion, 'clocks' | 'days' | 'sourceYears'>,
): Promise<PlaceClock[]> {
  if (question.clocks.length === 0) return [];
  const weather = await packedWeather(context, 'air');
  return context.compute(workerTasks.ageTables, {
    ...question,
    weather,
    forecast: weather ? await scheduleRecords(context, context.today) : [],
    fromDate: context.today,
    timeZone: context.shop.timeZone,
  });
}

export interface TaskCoat {
  taskId: string;
  productId: string;
  /** Minutes since 1970, and how old the coat is by then; drying and opening as cold, closing as warm as is possible. */
  known: { atMinutes: number; dryingMinutes: number; openingMinutes: number; closingMinutes: number };
  /** Its last window had shut, and it was sanded since. */
  sanded: boolean;
}

/** Of each task of some jobs that has its coat on record, the latest one, as old as it is by now. */
export async function taskCoats(context: OperationContext, jobIds: readonly string[]): Promise<TaskCoat[]> {
  const coats = (jobIds.length === 0 ? [] : await coatsOfJobs(context, jobIds)).flatMap(({ taskId, ...coat }) =>
    taskId === null ? [] : [{ ...coat, taskId }],
  );
  if (coats.length === 0) return [];
  const ages = await context.compute(workerTasks.ages, {
    coats: coats.map(coatFacts),
    records: await readCureRecords(context, coats),
    nowMinute: minuteOf(context.now),
  });
  const byTask = new Map<string, TaskCoat & { appliedAt: Date }>();
  coats.forEach((coat, k) => {
    const before = byTask.get(coat.taskId);
    if (before && before.appliedAt >= coat.appliedAt) return;
    const { equivalentMinutes, openingMinutes, closingMinutes, sanded } = at(ages, k);
    byTask.set(coat.taskId, {
      taskId: coat.taskId,
      productId: coat.productId,
      appliedAt: coat.appliedAt,
      sanded,
      known: {
        atMinutes: minuteOf(context.now),
        dryingMinutes: equivalentMinutes,
        openingMinutes,
        closingMinutes,
      },
    });
  });
  return [...byTask.values()].map(({ appliedAt: _, ...coat }) => coat);
}
