/** One simulated shop on the day its plan is made: its open jobs, people, places and orders. Its own shapes, no one else's. */
import { standardRoutes } from '../../../seed/routes.js';
import { Dice } from './dice.js';
import type { WorldFile } from './world.js';

export const DAY = 1440;

export interface SimTask {
  id: string;
  jobId: string;
  code: string;
  name: string;
  kind: string;
  /** What the route says, hands on: least, likely, most. */
  low: number;
  likely: number;
  high: number;
  people: number;
  place: 'bench' | 'sprayArea' | 'cureRack' | null;
  pausable: boolean;
  isCoat: boolean;
  cureMinutes: number;
  cautions: string[];
  after: { id: string; waitMinutes: number; forbidden: { from: number; to: number }[] }[];
  /** Minutes since the origin from which its parts are there are drawn; it waits for these lines. */
  lines: number[];
}

export interface SimLine {
  supplier: number;
  /** Days before the day of the plan, at least 0. */
  orderedDaysAgo: number;
  promises: { statedDaysAgo: number; promisedInDays: number }[];
}

export interface SimPerson {
  name: string;
  /** 1 Monday … 7 Sunday. */
  weekdays: number[];
  opens: number;
  closes: number;
}

export interface SimShop {
  number: number;
  /** The day the plan is made, YYYY-MM-DD, at nine in the morning. */
  today: string;
  latitude: number;
  people: SimPerson[];
  capacity: Record<'bench' | 'sprayArea' | 'cureRack', number>;
  machines: { jobId: string; kind: string }[];
  tasks: SimTask[];
  lines: SimLine[];
}

export const NOW_MINUTE = 9 * 60;

/** Years of plans: two where the first falls on a leap day would do no harm. */
const YEAR = 2026;

export function makeShop(file: WorldFile, seed: number, number: number): SimShop {
  const { shop } = file;
  const dice = new Dice(seed, 11, number);
  const head = shop.people[number % shop.people.length]!;
  const people = Array.from({ length: head }, (_, k): SimPerson => ({
    name: `person ${k + 1}`,
    weekdays: k === 0 ? [1, 2, 3, 4, 5] : [2, 4, 6],
    opens: 9 * 60,
    closes: 17 * 60,
  }));
  const count = dice.whole(...shop.openMachines);
  const kinds = Object.entries(shop.kinds);
  const machines = Array.from({ length: count }, (_, k) => {
    let draw = dice.uniform() * kinds.reduce((sum, [, weight]) => sum + weight, 0);
    const kind = kinds.find(([, weight]) => (draw -= weight) < 0)?.[0] ?? kinds[0]![0];
    return { jobId: `job ${String(k + 1).padStart(2, '0')}`, kind };
  });
  const lines: SimLine[] = [];
  const tasks = machines.flatMap(({ jobId, kind }) => {
    const own = routeTasks(kind, jobId);
    if (dice.happens(shop.waitsForAPart)) {
      const waiting = dice.pick(own.filter((task) => ['service', 'parts', 'assemble'].includes(task.kind)));
      waiting.lines.push(lines.length);
      lines.push(makeLine(file, dice));
    }
    return own;
  });
  const today = `${YEAR}-${shop.startDates[number % shop.startDates.length]!}`;
  return {
    number,
    today,
    latitude: shop.latitude,
    people,
    capacity: { bench: 2, sprayArea: 1, cureRack: 8 },
    machines,
    tasks,
    lines,
  };
}

/** A route's tasks for one job. */
export function routeTasks(machineKind: string, jobId: string): SimTask[] {
  const route = standardRoutes.find((one) => one.machineKind === machineKind);
  if (!route) throw new Error(`There is no standard route for ${machineKind}`);
  return route.tasks.map((task) => ({
    id: `${jobId}/${task.code}`,
    jobId,
    code: task.code,
    name: task.name,
    kind: task.kind,
    low: task.minMinutes,
    likely: task.handsOnMinutes,
    high: task.maxMinutes,
    people: task.people ?? 1,
    place: task.placeKind ?? null,
    pausable: task.pausable ?? true,
    isCoat: task.needsPaintWeather ?? false,
    cureMinutes: task.cureMinutes ?? 0,
    cautions: task.cautions ?? [],
    after: (task.after ?? []).map((link) => ({
      id: `${jobId}/${link.code}`,
      waitMinutes: link.minWaitMinutes ?? 0,
      forbidden: (link.forbiddenIntervals ?? []).map((gap) => ({ from: gap.fromMinutes, to: gap.toMinutes })),
    })),
    lines: [],
  }));
}

/** A line that is still out: ordered some days ago, with the promise that such a supplier makes. */
function makeLine({ suppliers }: WorldFile, dice: Dice): SimLine {
  const supplier = dice.whole(0, suppliers.length - 1);
  const orderedDaysAgo = dice.whole(0, 6);
  return { supplier, orderedDaysAgo, promises: [firstPromise(suppliers[supplier]!, orderedDaysAgo, dice)] };
}

export function firstPromise(
  { medianDays }: WorldFile['suppliers'][number],
  orderedDaysAgo: number,
  dice: Dice,
): SimLine['promises'][number] {
  const days = Math.max(1, Math.round(0.9 * medianDays * Math.exp(0.15 * dice.normal())));
  return { statedDaysAgo: orderedDaysAgo, promisedInDays: days - orderedDaysAgo };
}

export function deliveryDays(
  { medianDays, logSd, tailProbability }: WorldFile['suppliers'][number],
  dice: Dice,
): number {
  const days = medianDays * Math.exp(logSd * dice.normal());
  return Math.max(1, Math.round(dice.happens(tailProbability) ? days * dice.between(3, 9) : days));
}
