/** The second executor: the same people, who have the plan made anew each Monday morning from what is on record by then. */
import type { PlanRecords, PlanTask } from '../../../src/plan/inputs/records.js';
import { addDays } from '../../../src/platform/days.js';
import { Executor } from './executor.js';
import type { PastOrder, PastSeasons } from './history.js';
import { type Future, FUTURE_DAYS, weekdayOf } from './luck.js';
import { arrivalsOf, planShop, planTask, recordsOf, type ShopPlan, type ShopWeather } from './service.js';
import { DAY, NOW_MINUTE, type SimShop } from './shop.js';
import type { World } from './world.js';

export interface Known {
  orders: PastOrder[];
  past: PastSeasons;
  weather: ShopWeather;
}

/** Schedules tried each week: the order goes on from the week before. */
const SCHEDULES = 40;

/** Plays a future with the plan made anew every week. @returns as `execute` */
export function executeWeekly(
  shop: SimShop,
  world: World,
  future: Future,
  { plan, known }: { plan: ShopPlan; known: Known },
): Map<string, number | null> {
  const executor = new Executor(shop, world, future);
  executor.instruct(plan.instructions);
  let { order } = plan;
  for (let day = 1; day < FUTURE_DAYS && !executor.isDone; day += 1) {
    if (weekdayOf(shop.today, day) !== 1) continue;
    executor.playUntil(day);
    if (executor.isDone) break;
    const records = recordsAt(executor, { shop, world, future, known }, day);
    const again = planShop(records, { schedules: SCHEDULES, scenarios: 1 }, order);
    order = again.order;
    executor.instruct(again.instructions);
  }
  executor.playUntil(FUTURE_DAYS);
  return executor.finishes();
}

/** What the shop has on record on a morning: what is done, what is under way, what has come, what has turned up. */
function recordsAt(
  executor: Executor,
  { shop, world, future, known }: { shop: SimShop; world: World; future: Future; known: Known },
  day: number,
): PlanRecords {
  const now = day * DAY + NOW_MINUTE;
  const instant = (minute: number): Date => new Date(Date.parse(`${shop.today}T00:00:00Z`) + minute * 60_000);
  const later: SimShop = {
    ...shop,
    today: addDays(shop.today, day),
    lines: shop.lines.map((line) => ({
      ...line,
      orderedDaysAgo: line.orderedDaysAgo + day,
      promises: line.promises.map((one) => ({
        statedDaysAgo: one.statedDaysAgo + day,
        promisedInDays: one.promisedInDays - day,
      })),
    })),
    tasks: executor.allTasks.map((task) => ({
      ...task,
      lines: task.lines.filter((line) => future.arrivals[line]! > now),
    })),
  };
  const arrivals = arrivalsOf(later, known.orders);
  const tasks = later.tasks.map((task, position): PlanTask => {
    const planned = planTask(task, position, { today: later.today, arrivals: arrivals.open, world });
    const finished = executor.finished.get(task.id);
    const started = executor.startedAt.get(task.id);
    const worked = Math.round(executor.minutesWorked(task.id));
    if (finished !== undefined && finished <= now)
      return { ...planned, startedAt: instant(Math.min(started ?? finished, finished)), finishedAt: instant(finished) };
    // A coat that hangs on the rack: it went there when the coat was done.
    if (finished !== undefined) {
      const coat = Math.max(...task.after.map((link) => executor.finished.get(link.id) ?? 0));
      return { ...planned, startedAt: instant(coat) };
    }
    const comes = executor.partOfFound(task.id);
    return {
      ...planned,
      ...(started === undefined ? {} : { startedAt: instant(started), workedMinutes: worked }),
      awaited:
        comes !== undefined && comes > now
          ? [
              {
                ...awaitedPart,
                needId: task.id,
                parcel: task.id,
                orderLineId: task.id,
                arrivalOffsets: arrivals.ifOrdered,
                expectedDate: addDays(later.today, arrivals.ifOrdered[Math.floor(arrivals.ifOrdered.length / 2)]!),
              },
            ]
          : planned.awaited,
    };
  });
  return { ...recordsOf({ ...later, tasks: [] }, world, known), tasks };
}

const awaitedPart = { partName: 'Part', quantity: '1', supplierName: null, ordered: true, backOrdered: false };
