import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { planJob, planRecords, planTask, weekdayHours } from '../model/plan-fixtures.js';
import { scheduleRecords } from '../model/scheduled-records.js';
import { benchList } from './bench-list.js';

const mira = { id: 'mira', name: 'Mira', weeklyHours: weekdayHours, taskKinds: [] as string[] };
const odran = { id: 'odran', name: 'Odran', weeklyHours: weekdayHours, taskKinds: ['strip', 'derust'] };
const day = '2026-09-15';

const listFor = (records: ReturnType<typeof planRecords>) =>
  benchList(scheduleRecords(records), day).tasks.map((task) => ({
    id: task.taskId,
    who: task.assignees.map((one) => one.name).join(' and '),
    from: task.startsAt.getUTCHours() - 4,
  }));

describe("a day's list for two people", () => {
  const places = [{ kind: 'bench' as const, capacity: 4, room: null }];
  const jobs = [planJob({ id: 'a', number: 1 }), planJob({ id: 'b', number: 2 })];

  it('names each task to somebody who may do that kind of it', () => {
    const tasks = [
      planTask({ id: 'engine', jobId: 'a', kind: 'repair', handsOnMinutes: 120 }),
      planTask({ id: 'strip', jobId: 'b', kind: 'strip', handsOnMinutes: 120 }),
    ];
    expect(listFor(planRecords({ people: [mira, odran], places, jobs, tasks }))).toEqual([
      { id: 'engine', who: 'Mira', from: 9 },
      { id: 'strip', who: 'Odran', from: 9 },
    ]);
  });

  it('has one after the other do what only one of them may', () => {
    const tasks = ['a', 'b'].map((jobId) => planTask({ id: jobId, jobId, kind: 'repair', handsOnMinutes: 120 }));
    expect(listFor(planRecords({ people: [mira, odran], places, jobs, tasks }))).toEqual([
      { id: 'a', who: 'Mira', from: 9 },
      { id: 'b', who: 'Mira', from: 11 },
    ]);
  });

  it('does not begin before closing what would not fit and may not pause', () => {
    const tasks = [
      planTask({ id: 'long', jobId: 'a', handsOnMinutes: 300 }),
      planTask({ id: 'whole', jobId: 'b', handsOnMinutes: 240, pausable: false }),
    ];
    const only = [{ ...mira }];
    expect(listFor(planRecords({ people: only, places, jobs, tasks })).map((one) => one.id)).toEqual(['long']);
    const pausable = tasks.map((task) => ({ ...task, pausable: true }));
    expect(listFor(planRecords({ people: only, places, jobs, tasks: pausable })).map((one) => one.id)).toEqual([
      'long',
      'whole',
    ]);
  });

  it('says nothing of a kind that nobody may do but that somebody will have to', () => {
    const tasks = [planTask({ id: 'weld', jobId: 'a', kind: 'straighten' })];
    const helpers = [odran, { ...odran, id: 'tobin', name: 'Tobin' }];
    expect(listFor(planRecords({ people: helpers, places, jobs, tasks }))).toHaveLength(1);
  });

  it('never names anybody twice at one time, nor to what they may not do, nor nobody', () => {
    const kinds = ['strip', 'derust', 'repair', 'test'];
    const person = (id: string) =>
      fc
        .uniqueArray(fc.constantFrom(...kinds), { maxLength: 3 })
        .map((taskKinds) => ({ id, name: id, weeklyHours: weekdayHours, taskKinds }));
    fc.assert(
      fc.property(
        fc.tuple(person('a'), person('b'), person('c')),
        fc.array(fc.record({ kind: fc.constantFrom(...kinds), minutes: fc.integer({ min: 10, max: 300 }) }), {
          minLength: 1,
          maxLength: 12,
        }),
        (people, given) => {
          const tasks = given.map(({ kind, minutes }, k) =>
            planTask({ id: `t${k}`, jobId: `j${k}`, kind, handsOnMinutes: minutes, pausable: false }),
          );
          const made = planRecords({
            people,
            places,
            jobs: tasks.map(({ jobId }, k) => planJob({ id: jobId, number: k + 1 })),
            tasks,
          });
          const list = benchList(scheduleRecords(made), day).tasks;
          for (const one of list) {
            const kind = tasks.find((task) => task.id === one.taskId)!.kind;
            expect(one.assignees.length).toBeGreaterThan(0);
            const able = people.filter((other) => other.taskKinds.length === 0 || other.taskKinds.includes(kind));
            const ids = able.map((other) => other.id);
            if (able.length > 0) for (const who of one.assignees) expect(ids).toContain(who.personId);
            for (const other of list) {
              // What is handed over is somebody's for a part of it only.
              if (other === one || one.assignees.length > 1 || other.assignees.length > 1) continue;
              if (other.assignees[0]!.personId === one.assignees[0]!.personId)
                expect(other.finishesAt <= one.startsAt || other.startsAt >= one.finishesAt).toBe(true);
            }
          }
        },
      ),
      { numRuns: 60 },
    );
  });
});
