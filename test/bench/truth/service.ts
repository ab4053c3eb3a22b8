/** What the service makes of a simulated shop: its records as the plan takes them, and the plan's order and chances. */
import {
  type ArrivalLine,
  forecastArrival,
  learnArrivals,
  sampleArrivalOffset,
} from '../../../src/engine/arrival/index.js';
import { dayNumber } from '../../../src/engine/days.js';
import type { Order } from '../../../src/engine/schedule/index.js';
import { ageTablesOf } from '../../../src/finish/age-tables.js';
import type { PlanRecords, PlanTask } from '../../../src/plan/inputs/records.js';
import { computePlan } from '../../../src/plan/simulation/compute-plan.js';
import { addDays } from '../../../src/platform/days.js';
import { snowOutlookOf } from '../../../src/season/first-snow.js';
import { type PaintQuestion, paintWindowsOf, paintYearsOf } from '../../../src/season/paint-windows.js';
import { climateDays } from './climate.js';
import { type Instructions, nearKey } from './executor.js';
import type { PastOrder, PastSeasons } from './history.js';
import { LEAST_WINDOW, PAINTING, SNOW_MILLIMETRES } from './luck.js';
import { SHEET } from './paint-truth.js';
import { NOW_MINUTE, type SimShop, type SimTask } from './shop.js';
import type { World, WorldFile } from './world.js';

const MARGIN_DAYS = 7;
const SEASON_END_MONTH_DAY = '03-31';
/** The end of the season that a day lies before; a winter without snow is held to it. */
export const seasonEndOf = (today: string): string => {
  const end = `${today.slice(0, 4)}-${SEASON_END_MONTH_DAY}`;
  return end >= today ? end : `${Number(today.slice(0, 4)) + 1}-${SEASON_END_MONTH_DAY}`;
};
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
  order: Order;
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
    choiceReasons: [],
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
    startDate: shop.today,
    endDate: addDays(shop.today, PLAN_DAYS),
    settings: { ...PAINTING, minWindowMinutes: LEAST_WINDOW },
    timeZone: TIME_ZONE,
  };
  const snowQuestion = {
    weather: snow,
    thresholdMillimetres: SNOW_MILLIMETRES,
    today: shop.today,
    seasonEndMonthDay: SEASON_END_MONTH_DAY,
  };
  const years = paintYearsOf({ ...question, snow: snowQuestion });
  const clocks = new Map<string, PlanRecords['clocks']>();
  return {
    windows: paintWindowsOf(question),
    years,
    outlook: snowOutlookOf(snowQuestion),
    /** How the shop's product ages on its rack, as a world has it. */
    clocks: (world: World): PlanRecords['clocks'] => {
      const { cureClock, rateDoublingCelsius } = world;
      const key = `${cureClock} ${rateDoublingCelsius}`;
      let made = clocks.get(key);
      if (!made) {
        made = ageTablesOf({
          weather: air,
          forecast: [],
          fromDate: shop.today,
          days: PLAN_DAYS,
          timeZone: TIME_ZONE,
          sourceYears: years.map((one) => one.sourceYear),
          clocks: [
            {
              id: CLOCK,
              place: cureClock ? PAINTING.place : { shelter: 'heated', heatedToCelsius: SHEET.referenceCelsius },
              sheet: {
                name: 'Enamel',
                referenceCelsius: SHEET.referenceCelsius,
                minCelsius: SHEET.coldestCelsius,
                maxCelsius: SHEET.hottestCelsius,
                sensitivity: { rateDoublingCelsius },
              },
            },
          ],
        });
        clocks.set(key, made);
      }
      return made;
    },
  };
}

const CLOCK = 'enamel';

/** Where windows do not go by age in the world, the can names none and the route's minutes hold alone. */
const paintOf = (world: World): PlanTask['paint'] => ({
  productName: 'Enamel',
  clockId: CLOCK,
  recoatMinutes: world.recoatByAge
    ? SHEET.recoat.map(({ from, to }) => ({ fromMinutes: from, toMinutes: to === Infinity ? null : to }))
    : [{ fromMinutes: 0 }],
  assembleMinutes: SHEET.assembleMinutes,
  vapourMinutes: 60,
  known: null,
});

export type ShopWeather = ReturnType<typeof weatherOf>;

export function recordsOf(
  shop: SimShop,
  world: World,
  { orders, past, weather }: { orders: PastOrder[]; past: PastSeasons; weather: ShopWeather },
): PlanRecords {
  const now = new Date(`${shop.today}T${String(NOW_MINUTE / 60).padStart(2, '0')}:00:00Z`);
  const { outlook } = weather;
  const readyBy = outlook.medianDate === null ? null : addDays(outlook.medianDate, -MARGIN_DAYS);
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
      room: 'workshop',
    })),
    jobs: shop.machines.map(({ jobId, kind }, k) => ({
      id: jobId,
      number: k + 1,
      title: kind,
      priority: 0,
      dueDate: readyBy,
      forSnow: true,
    })),
    tasks: shop.tasks.map((task, position) =>
      planTask(task, position, { today: shop.today, arrivals: arrivals.open, world }),
    ),
    paintWindows: weather.windows,
    season:
      outlook.sample.length > 0
        ? {
            marginDays: MARGIN_DAYS,
            firstSnowDates: outlook.sample.map((one) => one.firstSnowDate),
            endDate: seasonEndOf(shop.today),
          }
        : null,
    weatherYears: weather.years,
    clocks: weather.clocks(world),
    paints: {},
    maxWaits: [],
    likelyWork: [],
    learning: {
      hours: past.hours,
      season: shop.today.slice(0, 4),
      absence: past.absence,
      foundWork: past.strips,
      partDays: arrivals.ifOrdered,
    },
  };
}

export function planTask(
  task: SimTask,
  position: number,
  { today, arrivals, world }: { today: string; arrivals: number[][]; world: World },
): PlanTask {
  return {
    id: task.id,
    jobId: task.jobId,
    position,
    name: task.name,
    kind: task.kind,
    handsOnMinutes: task.likely,
    minMinutes: task.low,
    maxMinutes: task.high,
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
      minWaitMinutes: link.waitMinutes,
      forbidden: link.forbidden.map((gap) => ({ fromMinutes: gap.from, toMinutes: gap.to })),
      reason: null,
    })),
    awaited: task.lines.map((line) => {
      const offsets = arrivals[line]!;
      return {
        needId: `need ${line}`,
        partName: 'Part',
        quantity: '1',
        supplierName: null,
        expectedDate: addDays(today, offsets[Math.floor(offsets.length / 2)]!),
        ordered: true,
        backOrdered: false,
        orderLineId: `line ${line}`,
        parcel: `line ${line}`,
        arrivalOffsets: offsets,
      };
    }),
    paint: task.isCoat ? paintOf(world) : null,
    paintReadyAt: null,
  };
}

/** Of each line that is out, equally likely days until it comes, as the arrival engine has them. */
export function arrivalsOf(shop: SimShop, orders: PastOrder[]): { open: number[][]; ifOrdered: number[] } {
  const ago = (days: number): string => addDays(shop.today, -days);
  const line = (
    id: string,
    one: Pick<PastOrder, 'supplier' | 'orderedDaysAgo' | 'promises'> & { receivedDaysAgo?: number },
  ): ArrivalLine => ({
    id,
    supplierId: `supplier ${one.supplier}`,
    family: 'part',
    orderedDate: ago(one.orderedDaysAgo),
    ...(one.receivedDaysAgo === undefined ? {} : { receivedDate: ago(one.receivedDaysAgo) }),
    promises: one.promises.map((promise) => ({
      statedDate: ago(promise.statedDaysAgo),
      promisedDate: ago(-promise.promisedInDays),
    })),
  });
  const open = shop.lines.map((one, k) => line(`line ${k}`, one));
  const model = learnArrivals([...orders.map((one, k) => line(`past ${k}`, one)), ...open], shop.today);
  const daysOf = (one: ArrivalLine): number[] => {
    const forecast = forecastArrival(model, one, shop.today);
    return Array.from({ length: SAMPLES }, (_, k) => sampleArrivalOffset(forecast, (k + 0.5) / SAMPLES));
  };
  const suppliers = [...new Set(orders.map((one) => one.supplier))].sort();
  return {
    open: open.map(daysOf),
    // A part that is found to be needed may come from any of them.
    ifOrdered: suppliers.flatMap((supplier) =>
      daysOf(line('not ordered', { supplier, orderedDaysAgo: 0, promises: [] })),
    ),
  };
}

/** @param last the order people have, to go on from */
export function planShop(records: PlanRecords, { schedules, scenarios }: Budget, last: Order | null = null): ShopPlan {
  const plan = computePlan({
    records,
    last: last && { order: last, starts: {} },
    seed: 20_260_401,
    schedules,
    scenarios,
  });
  const days = (date: string | null): number => (date === null ? Infinity : dayNumber(date) - dayNumber(records.today));
  const planned = new Map(plan.schedule.tasks.map((task) => [task.id, task]));
  return {
    order: plan.order,
    promises: plan.simulation.jobs.map((job) => ({
      jobId: job.jobId,
      p50: days(job.p50Date),
      p80: days(job.p80Date),
      p95: days(job.p95Date),
      ready: job.probabilityReady,
    })),
    instructions: {
      order: plan.order.taskIds,
      near: new Set(plan.order.firstWindow.map(({ taskId, predecessorId }) => nearKey(taskId, predecessorId))),
      plannedMinutes: new Map(
        records.tasks.flatMap((task) => {
          const worked = planned.get(task.id)?.worked.reduce((sum, one) => sum + one.endMinutes - one.startMinutes, 0);
          return worked === undefined ? [] : [[task.id, worked] as const];
        }),
      ),
    },
  };
}
