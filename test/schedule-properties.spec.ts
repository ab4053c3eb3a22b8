import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { PlainGenerator } from '../src/engine/schedule/generation/plain-generator.js';
import { Usage } from '../src/engine/schedule/generation/usage.js';
import {
  Calendar,
  compareCost,
  type Cost,
  intersect,
  type Interval,
  lowerBound,
  makeSchedule,
  type Problem,
  type Schedule,
  searchSchedule,
} from '../src/engine/schedule/index.js';
import { compile } from '../src/engine/schedule/problem/compile.js';
import { checkSchedule } from './psplib/minute-model.js';
import { dice, randomProblem } from './psplib/random-problem.js';

// Fixed seed: the runs are the same every time, so that a failure is a change in the code.
const settings = (numRuns: number): fc.Parameters<unknown> => ({ seed: 20240101, numRuns });
const problemOf = (most: number) =>
  fc.tuple(fc.nat(100000), fc.integer({ min: 1, max: most })).map(([seed, count]) => randomProblem(seed, count));

/** The schedule, or null when the problem has none. */
function attempt(make: () => Schedule): Schedule | null {
  try {
    return make();
  } catch (error) {
    if ((error as { code?: string }).code === 'infeasible') return null;
    throw error;
  }
}

function shuffled<T>(items: readonly T[], roll: (limit: number) => number): T[] {
  const out = [...items];
  for (let k = out.length - 1; k > 0; k--) {
    const other = roll(k + 1);
    [out[k], out[other]] = [out[other]!, out[k]!];
  }
  return out;
}

describe('every schedule', () => {
  it('keeps every rule at every minute, whichever way it is made', () => {
    let made = 0;
    fc.assert(
      fc.property(problemOf(18), fc.nat(1000), (problem, seed) => {
        const order = {
          taskIds: shuffled(problem.tasks, dice(seed)).map((task) => task.id),
          firstWindow: problem.tasks.flatMap((task) =>
            task.predecessors.map((link) => ({ taskId: task.id, predecessorId: link.taskId })),
          ),
        };
        for (const options of [{}, { order }, { order: { taskIds: order.taskIds } }, { scheme: 'parallel' as const }]) {
          const schedule = attempt(() => makeSchedule(problem, options));
          if (!schedule) continue;
          made++;
          checkSchedule(problem, schedule);
        }
      }),
      settings(150),
    );
    expect(made).toBeGreaterThan(400);
  });

  it('names for every planned task a reason that holds until its very start', () => {
    fc.assert(
      fc.property(problemOf(14), (problem) => {
        const schedule = attempt(() => makeSchedule(problem));
        fc.pre(schedule !== null);
        const placed = new Map(schedule!.tasks.map((task) => [task.id, task]));
        for (const task of schedule!.tasks) {
          if (task.fixed) {
            expect(task.reasons).toEqual([]);
            continue;
          }
          const last = task.reasons.at(-1)!;
          expect(last.untilMinutes).toBe(task.startMinutes);
          if (last.kind === 'predecessor')
            expect(placed.get(last.taskId)!.finishMinutes + last.waitMinutes).toBe(task.startMinutes);
          if (last.kind === 'resource') {
            // Someone holds it, or part of it is away, up to that minute.
            const away = problem.resources
              .find((r) => r.id === last.resourceId)!
              .reductions?.some((r) => r.startMinutes < task.startMinutes && r.endMinutes >= task.startMinutes);
            expect(last.heldBy.length > 0 || away).toBe(true);
            for (const id of last.heldBy)
              expect(
                problem.tasks.find((t) => t.id === id)!.demands.some((d) => d.resourceId === last.resourceId),
              ).toBe(true);
          }
        }
      }),
      settings(100),
    );
  });
});

describe('the search', () => {
  const search = (problem: Problem, schedules = 240): Schedule | null =>
    attempt(() => searchSchedule(problem, { seed: 3, schedules }).schedule);

  it('keeps every rule, is never worse than the first schedule and never better than the bounds', () => {
    fc.assert(
      fc.property(problemOf(10), (problem) => {
        const first = attempt(() => makeSchedule(problem));
        const best = search(problem);
        fc.pre(first !== null);
        checkSchedule(problem, best!);
        expect(compareCost(best!.cost, first!.cost)).toBeLessThanOrEqual(0);
        const bound = lowerBound(compile(problem));
        expect(best!.cost.makespanMinutes).toBeGreaterThanOrEqual(bound.makespanMinutes);
        expect(best!.cost.weightedTardiness).toBeGreaterThanOrEqual(bound.weightedTardiness);
      }),
      settings(40),
    );
  });

  it('returns the very schedule it took for the best', () => {
    fc.assert(
      fc.property(problemOf(14), (problem) => {
        let best: readonly number[] = [];
        let calls = 0;
        const { schedule, stopped } = searchSchedule(problem, {
          seed: 3,
          schedules: 900,
          partial: true,
          onProgress: (progress) => {
            best = progress.best;
            return ++calls < 2;
          },
        });
        fc.pre(stopped === 'cancelled');
        const { unplaced, weightedTardiness, valueLost, makespanMinutes } = schedule.cost;
        expect([unplaced, weightedTardiness, valueLost, makespanMinutes]).toEqual(best);
      }),
      settings(60),
    );
  });

  it('gives the same answer for the same seed, whatever the order of the input', () => {
    fc.assert(
      fc.property(problemOf(10), fc.nat(1000), (problem, seed) => {
        const roll = dice(seed);
        const mixed: Problem = {
          ...problem,
          resources: shuffled(problem.resources, roll),
          jobs: shuffled(problem.jobs!, roll),
          tasks: shuffled(problem.tasks, roll).map((task) => ({
            ...task,
            demands: shuffled(task.demands, roll),
            predecessors: shuffled(task.predecessors, roll),
          })),
        };
        const one = search(problem);
        expect(search(problem)).toEqual(one);
        const other = search(mixed);
        expect(other?.tasks.map((task) => [task.id, task.startMinutes])).toEqual(
          one?.tasks.map((task) => [task.id, task.startMinutes]),
        );
        expect(other?.cost).toEqual(one?.cost);
        expect(other?.order).toEqual(one?.order);
      }),
      settings(25),
    );
  });

  it('one more task, or a part that comes later, never makes the optimum better', () => {
    // Five tasks at most: there the search finds the optimum (see the exact cross-check).
    const optimum = (problem: Problem): Cost | null => search(problem, 900)?.cost ?? null;
    fc.assert(
      fc.property(
        fc.nat(100000),
        fc.integer({ min: 2, max: 5 }),
        fc.integer({ min: 1, max: 15 }),
        (seed, count, delay) => {
          const more = randomProblem(seed, count);
          const fewer = { ...more, tasks: more.tasks.slice(0, -1) };
          const later = {
            ...more,
            tasks: more.tasks.map((task, i) =>
              i === 1 && !task.fixed ? { ...task, releaseMinutes: (task.releaseMinutes ?? 0) + delay } : task,
            ),
          };
          const base = optimum(more);
          const without = optimum(fewer);
          const delayed = optimum(later);
          if (base === null) expect(delayed).toBeNull();
          else {
            expect(compareCost(without!, base)).toBeLessThanOrEqual(0);
            if (delayed) expect(compareCost(base, delayed)).toBeLessThanOrEqual(0);
          }
        },
      ),
      settings(40),
    );
  });

  it('started again from its own order it is no worse, and with a stability term it stays put', () => {
    fc.assert(
      fc.property(problemOf(9), (problem) => {
        const before = attempt(() => makeSchedule(problem));
        fc.pre(before !== null);
        const found = searchSchedule(problem, { seed: 3, schedules: 120 }).schedule;
        const again = searchSchedule(problem, { seed: 4, schedules: 120, order: found.order }).schedule;
        expect(compareCost(again.cost, found.cost)).toBeLessThanOrEqual(0);
        const startMinutes = Object.fromEntries(before!.tasks.map((task) => [task.id, task.startMinutes]));
        // Nothing can be gained by moving when lateness counts as none and a minute moved as more than all there is to lose.
        const still = searchSchedule(problem, {
          seed: 5,
          schedules: 120,
          order: before!.order,
          stability: { startMinutes, tardinessTolerance: 1e9, lossPerMovedMinute: 1e9 },
        }).schedule;
        expect(still.tasks.map((task) => [task.id, task.startMinutes])).toEqual(
          before!.tasks.map((task) => [task.id, task.startMinutes]),
        );
      }),
      settings(30),
    );
  });
});

describe('parts of the engine against plain counting', () => {
  const intervals = fc
    .array(fc.tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 1, max: 300 })), { maxLength: 12 })
    .map((pairs) => {
      let t = -100;
      return pairs.map(([gap, length]): Interval => {
        const startMinutes = t + gap;
        t = startMinutes + length;
        return { startMinutes, endMinutes: t };
      });
    });
  const open = (list: Interval[], t: number): boolean => list.some((i) => i.startMinutes <= t && t < i.endMinutes);

  it('calendars', () => {
    fc.assert(
      fc.property(
        intervals,
        intervals,
        fc.integer({ min: -150, max: 2500 }),
        fc.integer({ min: 1, max: 400 }),
        (list, other, minute, length) => {
          const calendar = new Calendar(list);
          let before = 0;
          for (let t = -200; t < minute; t++) if (open(list, t)) before++;
          expect(calendar.openBefore(minute)).toBe(before);
          const next = Array.from({ length: 7000 }, (_, k) => minute + k).find((t) => open(list, t)) ?? -1;
          // -1 also is a minute; there the two meanings cannot be told apart, nor need they be.
          expect(calendar.next(minute)).toBe(next);
          if (next !== -1) {
            expect(calendar.minuteOf(calendar.openBefore(next))).toBe(next);
            let left = length;
            let t = next;
            for (; left > 0 && t < 7000; t++) if (open(list, t)) left--;
            expect(calendar.finish(next, length)).toBe(left > 0 ? -1 : t);
          }
          const both = intersect(list, other);
          for (let t = -150; t < 400; t += 7) expect(open(both, t)).toBe(open(list, t) && open(other, t));
        },
      ),
      settings(150),
    );
  });

  it('the use of a resource', () => {
    const booking = fc.tuple(
      fc.integer({ min: 0, max: 80 }),
      fc.integer({ min: 0, max: 30 }),
      fc.integer({ min: 1, max: 3 }),
    );
    fc.assert(
      fc.property(
        fc.array(booking, { maxLength: 25 }),
        fc.array(fc.nat(100)),
        fc.integer({ min: 0, max: 90 }),
        fc.integer({ min: 1, max: 20 }),
        fc.integer({ min: 0, max: 4 }),
        fc.integer({ min: 0, max: 25 }),
        (bookings, dropped, from, length, limit, kept) => {
          // Shorter than what is booked: what comes later is in the last bucket.
          const usage = new Usage(70);
          const counts = new Int32Array(400);
          const book = ([start, minutes, amount]: [number, number, number], sign: number): void => {
            usage.add(start, start + minutes, sign * amount);
            for (let t = start; t < start + minutes; t++) counts[t] = counts[t]! + sign * amount;
          };
          const first = bookings.slice(0, kept);
          for (const b of first) book(b, 1);
          usage.keep();
          // What comes after is forgotten once.
          for (const [start, minutes, amount] of bookings.slice(kept)) usage.add(start, start + minutes, amount);
          usage.restore();
          for (const b of bookings.slice(kept)) book(b, 1);
          // Some are taken out again, as the search does.
          for (const k of new Set(dropped)) if (bookings[k]) book(bookings[k], -1);
          const roomAt = (s: number): boolean => counts.subarray(s, s + length).every((used) => used <= limit);
          let expected = from;
          while (!roomAt(expected)) expected++;
          expect(usage.nextRoom(from, from + length, limit, length)).toBe(expected === from ? -1 : expected);
        },
      ),
      settings(300),
    );
  });

  it('the fast path for plain projects gives the schedules of the general one', () => {
    fc.assert(
      fc.property(fc.nat(100000), fc.integer({ min: 1, max: 25 }), (seed, count) => {
        const roll = dice(seed);
        const durations = Array.from({ length: count }, () => roll(9));
        const predecessors = durations.map((_, i) =>
          Array.from({ length: i }, (_, p) => p).filter(() => roll(count) < 2),
        );
        const capacities = [4, 9, 1];
        const demands = durations.map(() => capacities.map((capacity) => roll(capacity + 1)));
        const name = (i: number): string => `t${String(i).padStart(2, '0')}`;
        const problem: Problem = {
          horizonMinutes: 1000,
          resources: capacities.map((capacity, r) => ({ id: `r${r}`, capacity })),
          tasks: durations.map((durationMinutes, i) => ({
            id: name(i),
            durationMinutes,
            pausable: false,
            demands: demands[i]!.map((amount, r) => ({ resourceId: `r${r}`, amount })),
            predecessors: predecessors[i]!.map((p) => ({ taskId: name(p), minWaitMinutes: 0 })),
          })),
        };
        const general = makeSchedule(problem);
        const list = Int32Array.from(general.order.taskIds, (id) => Number(id.slice(1)));
        const fast = new PlainGenerator({ durations, predecessors, demands, capacities });
        expect(fast.pass(list, 0)).toBe(general.makespanMinutes);
        expect(Object.fromEntries(general.tasks.map((task) => [task.id, task.startMinutes]))).toEqual(
          Object.fromEntries(Array.from(fast.start, (s, i) => [name(i), s])),
        );
      }),
      settings(100),
    );
  });
});
