/** What heat would do for each job: its coats on a heated rack. */
import { daysBetween } from '../../platform/days.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { PlanRecords } from '../inputs/records.js';
import { withHeatedCure } from '../model/alternatives.js';
import { completionsOf, type ScheduledRecords, withSchedule } from '../model/scheduled-records.js';
import { workerTasks } from '../simulation/worker-tasks.js';

export const HEATING_CAUTION = [
  'Solvent vapour and a heater with a flame or a glowing element do not go together:',
  'heat before spraying or with a heater made for such rooms, and draw the air off.',
  "The safety data sheet, the heater's manual and local codes go first.",
].join(' ');

/** A warm room: common practice, no source. */
const RACK_CELSIUS = 20;

export interface JobLever {
  change: string;
  daysSooner: number;
  cautions: string[];
}

/** By job, those that it would bring on by a day or more. In the plan's order, one pass over the schedule for all of them. */
export async function heatLevers(context: OperationContext, plan: ScheduledRecords): Promise<Map<string, JobLever[]>> {
  let made = atHand.get(plan.records);
  if (!made) {
    made = computeLevers(context, plan);
    atHand.set(plan.records, made);
    made.catch(() => atHand.delete(plan.records));
  }
  return made;
}

const atHand = new WeakMap<PlanRecords, Promise<Map<string, JobLever[]>>>();

async function computeLevers(context: OperationContext, plan: ScheduledRecords): Promise<Map<string, JobLever[]>> {
  const { records, schedule } = plan;
  const isCold = records.clocks.some(({ place }) => place.shelter !== 'heated' || place.heatedToCelsius < RACK_CELSIUS);
  if (!isCold || !records.tasks.some((task) => task.paint && !task.finishedAt)) return new Map();
  const heated = withHeatedCure(records, RACK_CELSIUS);
  const other = withSchedule(
    heated,
    await context.compute(workerTasks.schedule, { records: heated, order: schedule.order }),
  );
  const now = completionsOf(plan);
  return new Map(
    [...completionsOf(other)].flatMap(([jobId, after]): [string, JobLever[]][] => {
      const before = now.get(jobId);
      // What has no day within the horizon has no days to tell.
      const daysSooner = before?.day && after.day ? daysBetween(after.day, before.day) : 0;
      return daysSooner < 1
        ? []
        : [
            [
              jobId,
              [{ change: `coats cure on a rack at ${RACK_CELSIUS} °C`, daysSooner, cautions: [HEATING_CAUTION] }],
            ],
          ];
    }),
  );
}
