/**
 * Rules of the trade in a shop of a dozen machines: nothing sparks beside vapour, in the plan and in futures of it, and bare
 * steel is primed in time, both judged by a checker that knows nothing of the engine; and what the rules cost.
 */
import { describe, expect, it } from '@jest/globals';
import { listFromIds } from '../src/engine/schedule/generation/priority-list.js';
import { firstWindowLinks } from '../src/engine/schedule/generation/schedule.js';
import { ScheduleGenerator } from '../src/engine/schedule/generation/schedule-generator.js';
import { searchSchedule } from '../src/engine/schedule/index.js';
import { compile } from '../src/engine/schedule/problem/compile.js';
import type { PlanRecords } from '../src/plan/inputs/records.js';
import { buildProblem } from '../src/plan/model/problem.js';
import { simulatePlan } from '../src/plan/simulation/simulate-plan.js';
import { airOf } from '../src/work/room-air.js';
import { madeUpShop } from './plan-shop.js';
import { type DoneTask, overlapsOf, steelWaits } from './rules/shop-rules.js';

const records = madeUpShop(12);
const byId = new Map(records.tasks.map((task) => [task.id, task]));
const SCHEDULES = 150;

const searched = (of: PlanRecords) =>
  searchSchedule(buildProblem(of).problem, { seed: 1, schedules: SCHEDULES, partial: true }).schedule;

/** Tasks with their times, as the checker takes them. */
function doneTasks(times: Iterable<readonly [string, number, number]>): DoneTask[] {
  return [...times].flatMap(([id, startMinutes, finishMinutes]): DoneTask[] => {
    const task = byId.get(id);
    if (!task?.placeKind) return [];
    return [{ id, room: 'workshop', startMinutes, finishMinutes, gives: airOf(task), vapourMinutes: 60 }];
  });
}

describe('a dozen machines', () => {
  const schedule = searched(records);
  const plan = schedule.tasks.map((task) => [task.id, task.startMinutes, task.finishMinutes] as const);

  it('have no sparks beside vapour in the plan, where without the rule there are', () => {
    expect(overlapsOf(doneTasks(plan))).toEqual([]);
    const loose = searched({ ...records, places: records.places.map((place) => ({ ...place, room: null })) });
    const times = loose.tasks.map((task) => [task.id, task.startMinutes, task.finishMinutes] as const);
    expect(overlapsOf(doneTasks(times)).length).toBeGreaterThan(0);
  });

  it('have none in a hundred futures of other hours', () => {
    const compiled = compile(buildProblem(records).problem);
    const generator = new ScheduleGenerator(compiled);
    const list = listFromIds(compiled, schedule.order.taskIds);
    const near = firstWindowLinks(compiled, schedule.order.firstWindow);
    let state = 7;
    const uniform = (): number => (state = (Math.imul(state, 48_271) >>> 0) % 2_147_483_647) / 2_147_483_647;
    for (let future = 0; future < 100; future += 1) {
      const duration = compiled.conditions.duration.map((minutes) => Math.round(minutes * (0.5 + 1.5 * uniform())));
      generator.serial(list, { ...compiled.conditions, duration }, near);
      const times = compiled.tasks.map((task, i) => [task.id, generator.start[i]!, generator.finish[i]!] as const);
      expect(overlapsOf(doneTasks(times))).toEqual([]);
    }
  });

  it('are primed within the day of being laid bare', () => {
    const done = new Map(doneTasks(plan).map((task) => [task.id, task]));
    const pairs = records.tasks
      .filter((task) => task.kind === 'prime' && task.name === 'Prime')
      .flatMap((task) => {
        const bare = done.get(task.links[0]!.predecessorId);
        const primed = done.get(task.id);
        return bare && primed ? [{ bare, primed, maxMinutes: 1440 }] : [];
      });
    const { waits, tooLong } = steelWaits(pairs);
    expect(waits).toHaveLength(12);
    expect(tooLong).toEqual([]);
  });

  it('lose no more than one in fifty of those ready for the snow to both rules', () => {
    const ready = (of: PlanRecords): number =>
      simulatePlan(of, searched(of).order, { scenarios: 300, seed: 1 }).jobs.reduce(
        (sum, job) => sum + job.probabilityReady!,
        0,
      );
    const loose = { ...records, maxWaits: [], places: records.places.map((place) => ({ ...place, room: null })) };
    expect(ready(records)).toBeGreaterThan(0.98 * ready(loose));
  });
});
