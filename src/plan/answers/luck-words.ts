/** What the plan has learnt of the shop's luck, and which rules of the trade it could not keep, in words. Pure. */
import { minutesInWords } from '../../engine/durations.js';
import { expectedAbsentShare, typicalHoursFactor } from '../../engine/learning/index.js';
import type { PlanRecords } from '../inputs/records.js';
import type { ScheduledRecords } from '../model/scheduled-records.js';
import { sharedLuckOf } from '../model/task-lengths.js';

const percent = (share: number): string => `${Math.round(share * 1000) / 10} %`;
const count = (n: number, what: string): string => `${n} ${what}${n === 1 ? '' : 's'}`;

/** One sentence each for hours, sickness and found work. */
export function luckWords(records: Pick<PlanRecords, 'learning' | 'jobs'>): string[] {
  const { hours, found, season } = sharedLuckOf(records);
  const { absence, foundWork } = records.learning;
  const factor = typicalHoursFactor(hours, null, season).toFixed(2);
  const probability = found.draws.reduce((sum, draw) => sum + draw.probability, 0) / found.draws.length;
  return [
    hours.entries === 0
      ? `hours are taken to be ${factor} times the route's until tasks with labour are finished: a judgement`
      : `hours as learnt: ${factor} times the route's as it was then, from ${count(hours.entries, 'finished task')}`,
    ...(absence
      ? [
          `sickness is expected on ${percent(expectedAbsentShare(absence))} of days: ${
            absence.personDays === 0
              ? 'a judgement, no day of work is on record'
              : `${count(absence.spellDays.length, 'spell')} on record in ` +
                `${count(absence.personDays, 'day')} of work`
          }`,
        ]
      : []),
    ...(foundWork
      ? [
          `taking a machine apart is expected to turn up work in ${percent(probability)} of cases: ` +
            `${found.entries === 0 ? 'a judgement, none is on record' : `it did in ${found.found} of ${found.entries}`}`,
        ]
      : []),
  ];
}

/** Waits that should be short and are not, however the work is ordered. */
export function longWaitWords({ built, schedule, naming }: ScheduledRecords): string[] {
  const placed = new Map(schedule.tasks.map((task) => [task.id, task]));
  return built.problem.tasks.flatMap((task) =>
    task.predecessors.flatMap(({ taskId, maxWaitMinutes }) => {
      const before = placed.get(taskId);
      const own = placed.get(task.id);
      if (maxWaitMinutes === undefined || !before || !own || own.fixed) return [];
      const wait = own.startMinutes - before.finishMinutes;
      if (wait <= maxWaitMinutes) return [];
      const names = [naming.tasks.get(taskId), naming.tasks.get(task.id)];
      return [
        `job ${names[1]?.jobNumber ?? ''}: "${names[1]?.name ?? ''}" follows "${names[0]?.name ?? ''}" ` +
          `after ${minutesInWords(wait)}, where ${minutesInWords(maxWaitMinutes)} is the longest it should wait`,
      ];
    }),
  );
}
