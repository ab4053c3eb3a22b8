/** What the service makes of a simulated shop: its records as the plan takes them, and the plan's order and chances. */
import {
  type ArrivalLine,
  forecastArrival,
  learnArrivals,
  sampleArrivalOffset,
} from '../../../src/engine/arrival/index.js';
import { dayNumber } from '../../../src/engine/days.js';
import { computePlan } from '../../../src/plan/compute.js';
import type { PlanRecords, PlanTask } from '../../../src/plan/problem.js';
import { snowOutlookOf } from '../../../src/season/first-snow.js';
import { type PaintQuestion, paintWindowsOf, paintYearsOf } from '../../../src/season/paint-windows.js';
import { addDays } from '../../../src/platform/days.js';
import { climateDays } from './climate.js';
import { nearKey, type Instructions } from './executor.js';
import type { PastOrder, PastSeasons } from './history.js';
import { LEAST_WINDOW, PAINTING, SNOW_MILLIMETRES } from './luck.js';
import { NOW_MINUTE, type SimShop, type SimTask } from './shop.js';
import type { WorldFile } from './world.js';

const MARGIN_DAYS = 7;
const PLAN_DAYS = 500;
const TIME_ZONE = 'UTC';
const SAMPLES = 40;

export interface Promise {
  jobId: string;
  /** Days after today by whose end it is finished with that chance; Infinity beyond the horizon. */
  p50: number;
  p80: number;
  p95: number;
  /** Chance to be finished before the first snow less the margin. */
  ready: number | null;
}

export interface ShopPlan {
  promises: Promise[];
  instructions: Instructions;
}

export interface Budget {
  schedules: number;
  scenarios: number;
}

/** The shop's own weather record, its paint weather and its winters: the same whatever its history of work. */
export function weatherOf(shop: SimShop, file: WorldFile, seed: number) {
  const endDate = addDays(shop.today, -1);
  const rows = climateDays({ seed, latitude: shop.latitude, endDate, years: file.shop.weatherYears });
  const station = {
    id: 'station',
    name: 'Station',
    latitude: shop.latitude,
    longitude: 0,
    distanceKilometres: 5,
    whyChosen: [],
  };
  const air = {
    station,
    kind: 'air' as const,
    days: JSON.stringify(
      rows.map((row) => [row.day, row.highCelsius, row.lowCelsius, row.humidityPercent, row.precipitationMillimetres]),
    ),
  };
  const snow = {
    station,
    kind: 'snow' as const,
    days: JSON.stringify(rows.map((row) => [row.day, row.snowfallMillimetres, row.snowTrace])),
  };
  const question: PaintQuestion = {
    weather: air,
    forecast: [],
    fromDay: shop.today,
    toDay: addDays(shop.today, PLAN_DAYS),
    settings: { ...PAINTING, leastWindowMinutes: LEAST_WINDOW },
    timeZone: TIME_ZONE,
  };
  const snowQuestion = {
    weather: snow,
    thresholdMillimetres: SNOW_MILLIMETRES,
    today: shop.today,
    seasonEndsOn: '03-31',
  };
  return {
    windows: paintWindowsOf(question),
    years: paintYearsOf({ ...question, snow: snowQuestion }),
    outlook: snowOutlookOf(snowQuestion),
  };
}

export type ShopWeather = ReturnType<typeof weatherOf>;

export function recordsOf(
  shop: SimShop,
  { orders, past, weather }: { orders: PastOrder[]; past: PastSeasons; weather: ShopWeather },
): PlanRecords {
  const now = new Date(`${shop.today}T${String(NOW_MINUTE / 60).padStart(2, '0')}:00:00Z`);
  const { outlook } = weather;
  const readyBy = outlook.medianDay === null ? null : addDays(outlook.medianDay, -MARGIN_DAYS);
  const arrivals = arrivalsOf(shop, orders);
  const clock = (minute: number): string => `${String(Math.floor(minute / 60)).padStart(2, '0')}:00`;
  const hours = shop.people.map((person) =>
    person.weekdays.map((weekday) => ({ weekday, opens: clock(person.opens), closes: clock(person.closes) })),
  );
  return {
    now,
    today: shop.today,
    timeZone: TIME_ZONE,
    openingHours: hours[0]!,
    people: shop.people.map((person, k) => ({ id: person.name, name: person.name, weeklyHours: hours[k]! })),
    daysOff: [],
    places: Object.entries(shop.capacity).map(([kind, capacity]) => ({
      kind: kind as 'bench' | 'sprayArea' | 'cureRack',
      capacity,
    })),
    jobs: shop.machines.map(({ jobId, kind }, k) => ({
      id: jobId,
      number: k + 1,
      title: kind,
      priority: 0,
      dueDay: readyBy,
      forSnow: true,
    })),
    tasks: shop.tasks.map((task, position) => planTask(task, position, shop.today, arrivals)),
    paintWindows: weather.windows,
    season:
      outlook.sample.length > 0
        ? { marginDays: MARGIN_DAYS, firstSnowDays: outlook.sample.map((one) => one.firstSnowDay) }
        : null,
    weatherYears: weather.years,
    paces: pacesOf(past),
  };
}

function pacesOf(past: PastSeasons): PlanRecords['paces'] {
  const byKind = new Map<string, number[]>();
  for (const one of past.hours)
    byKind.set(one.taskKind, [...(byKind.get(one.taskKind) ?? []), one.minutes / one.routeMinutes]);
  return [...byKind].map(([kind, ratios]) => ({ kind, ratios }));
}

function planTask(task: SimTask, position: number, today: string, arrivals: number[][]): PlanTask {
  return {
    id: task.id,
    jobId: task.jobId,
    position,
    name: task.name,
    kind: task.kind,
    handsOnMinutes: task.likely,
    leastMinutes: task.low,
    mostMinutes: task.high,
    people: task.people,
    placeKind: task.place,
    pausable: task.pausable,
    needsPaintWeather: task.isCoat,
    cureMinutes: task.cureMinutes,
    cautions: task.cautions,
    startedAt: null,
    finishedAt: null,
    workedMinutes: 0,
    links: task.after.map((link) => ({
      predecessorId: link.id,
      leastWaitMinutes: link.waitMinutes,
      forbidden: link.forbidden.map((gap) => ({ fromMinutes: gap.from, toMinutes: gap.to })),
      reason: null,
    })),
    awaited: task.lines.map((line) => {
      const offsets = arrivals[line]!;
      return {
        partName: 'Part',
        quantity: '1',
        supplierName: null,
        expectedDay: addDays(today, offsets[Math.floor(offsets.length / 2)]!),
        ordered: true,
        backOrdered: false,
        orderLineId: `line ${line}`,
        parcel: `line ${line}`,
        arrivalOffsets: offsets,
      };
    }),
    paintReadyAt: null,
  };
}

/** Of each line that is out, equally likely days until it comes, as the arrival engine has them. */
function arrivalsOf(shop: SimShop, orders: PastOrder[]): number[][] {
  const ago = (days: number): string => addDays(shop.today, -days);
  const line = (
    id: string,
    one: Pick<PastOrder, 'supplier' | 'orderedDaysAgo' | 'promises'> & { receivedDaysAgo?: number },
  ): ArrivalLine => ({
    id,
    supplierId: `supplier ${one.supplier}`,
    family: 'part',
    orderedOn: ago(one.orderedDaysAgo),
    ...(one.receivedDaysAgo === undefined ? {} : { receivedOn: ago(one.receivedDaysAgo) }),
    promises: one.promises.map((promise) => ({
      statedOn: ago(promise.statedDaysAgo),
      promisedDay: ago(-promise.promisedInDays),
    })),
  });
  const open = shop.lines.map((one, k) => line(`line ${k}`, one));
  const model = learnArrivals([...orders.map((one, k) => line(`past ${k}`, one)), ...open], shop.today);
  return open.map((one) => {
    const forecast = forecastArrival(model, one, shop.today);
    return Array.from({ length: SAMPLES }, (_, k) => sampleArrivalOffset(forecast, (k + 0.5) / SAMPLES));
  });
}

export function planShop(records: PlanRecords, { schedules, scenarios }: Budget): ShopPlan {
  const plan = computePlan({ records, last: null, seed: 20_260_401, schedules, scenarios });
  const days = (date: string | null): number => (date === null ? Infinity : dayNumber(date) - dayNumber(records.today));
  const planned = new Map(plan.schedule.tasks.map((task) => [task.id, task]));
  return {
    promises: plan.odds.jobs.map((job) => ({
      jobId: job.jobId,
      p50: days(job.p50Day),
      p80: days(job.p80Day),
      p95: days(job.p95Day),
      ready: job.chanceReady,
    })),
    instructions: {
      order: plan.order.taskIds,
      near: new Set(plan.order.near.map(({ taskId, predecessorId }) => nearKey(taskId, predecessorId))),
      plannedMinutes: new Map(
        records.tasks.flatMap((task) => {
          const worked = planned.get(task.id)?.worked.reduce((sum, one) => sum + one.endMinutes - one.startMinutes, 0);
          return worked === undefined ? [] : [[task.id, worked] as const];
        }),
      ),
    },
  };
}
