/** "What if": an alternative answered beside the plan, in the same run-throughs, without saving anything. */
import type { z } from 'zod';
import { lookUp } from '../../engine/look-up.js';
import { Invalid, NotFound, Refused } from '../../platform/errors.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { currentPlan } from '../background/current-plan.js';
import { PLAN_SEED } from '../background/plan-store.js';
import { withUncertainty } from '../inputs/load-records.js';
import type { PlanRecords } from '../inputs/records.js';
import type { Alternative } from '../model/alternatives.js';
import { workerTasks } from '../simulation/worker-tasks.js';
import { HEATING_CAUTION } from './heating.js';
import { WhatIf, WhatIfInput } from './what-if.shapes.js';

type Asked = z.output<typeof WhatIfInput>;

const placeWords = { bench: 'bench', sprayArea: 'spray area', cureRack: 'place on the cure rack' } as const;

export const whatIfQueries = [
  query({
    name: 'whatIf',
    slow: true,
    summary: 'What a late part, a day off, another place, a job given up or longer days would do, without doing it',
    rest: { method: 'GET', path: '/plan/what-if' },
    input: WhatIfInput,
    output: WhatIf,
    async run(context, input) {
      const plan = await currentPlan(context);
      const { records, naming } = plan.forecast;
      const { change, words } = await changeOf(context, input, records);
      // As often as the plan was, so that what it says of before is what the plan says.
      const answer = await context.compute(
        workerTasks.whatIf,
        {
          records: await withUncertainty(context, records),
          order: plan.answer.order,
          change,
          scenarios: plan.simulation.scenarios,
          seed: PLAN_SEED,
        },
        context.signal,
      );
      const jobs = new Map(records.jobs.map((job) => [job.id, job]));
      const differences = answer.jobs.map(({ jobId, before, after, ...rest }) => ({
        ...rest,
        jobId,
        jobNumber: lookUp(jobs, jobId).number,
        jobTitle: lookUp(jobs, jobId).title,
        p80Before: before.p80Date,
        p80After: after.p80Date,
        probabilityByDueBefore: before.probabilityByDue,
        probabilityByDueAfter: after.probabilityByDue,
        probabilityBeforeSnowBefore: before.probabilityReady,
        probabilityBeforeSnowAfter: after.probabilityReady,
      }));
      const moved = differences.filter((one) => one.probabilitySooner + one.probabilityLater > 0);
      return {
        ...answer,
        change: words.join('; '),
        seed: PLAN_SEED,
        jobs: differences.sort(
          (a, b) => Math.abs(b.meanDays ?? 0) - Math.abs(a.meanDays ?? 0) || a.jobNumber - b.jobNumber,
        ),
        reasons: [
          `both were run through ${answer.scenarios} times in the plan's order, with the same hours, arrivals and winters`,
          moved.length === 0 ? 'no job is moved by it' : `${moved.length} of ${differences.length} jobs would be moved`,
          ...lateTaskWords(change, records, naming.tasks),
        ],
        cautions: change.heatedCure || change.heatedSprayArea ? [HEATING_CAUTION] : [],
      };
    },
  }),
];

async function changeOf(
  context: OperationContext,
  input: Asked,
  records: PlanRecords,
): Promise<{ change: Alternative; words: string[] }> {
  const change: Alternative = {};
  const words: string[] = [];
  if (input.orderLineId) {
    if (!input.daysLate) throw new Invalid([{ detail: 'say by how many days', pointer: '/daysLate' }]);
    const part = records.tasks.flatMap((task) => task.awaited).find((one) => one.orderLineId === input.orderLineId);
    if (!part) {
      if (!(await context.tx.orderLine.findFirst({ where: { id: input.orderLineId } })))
        throw new NotFound('order line', input.orderLineId);
      throw new Refused('nothing-waits', 'No open task waits for this order line, so it could come whenever it likes.');
    }
    change.late = { orderLineId: input.orderLineId, days: input.daysLate };
    words.push(`${part.partName} ${Math.abs(input.daysLate)} days ${input.daysLate > 0 ? 'later' : 'sooner'}`);
  }
  if (input.offFrom) {
    const endDate = input.offTo ?? input.offFrom;
    if (endDate < input.offFrom) throw new Invalid([{ detail: 'must not be before offFrom', pointer: '/offTo' }]);
    const { offPersonId } = input;
    const person = offPersonId ? records.people.find((one) => one.id === offPersonId) : null;
    if (offPersonId && !person) throw new NotFound('person', offPersonId);
    change.dayOff = { personId: person?.id ?? null, startDate: input.offFrom, endDate };
    words.push(
      `${person?.name ?? 'everybody'} off ${endDate === input.offFrom ? `on ${endDate}` : `from ${input.offFrom} to ${endDate}`}`,
    );
  }
  if (input.extraPlace) {
    change.extraPlace = input.extraPlace;
    words.push(`one more ${placeWords[input.extraPlace]}`);
  }
  if (input.withoutJobId) {
    const job = records.jobs.find((one) => one.id === input.withoutJobId);
    if (!job) throw new NotFound('open job', input.withoutJobId);
    change.withoutJobId = job.id;
    words.push(`without job ${job.number} (${job.title})`);
  }
  if (input.heatedCureCelsius) {
    const { heatedCureJobId } = input;
    const job = heatedCureJobId ? records.jobs.find((one) => one.id === heatedCureJobId) : null;
    if (heatedCureJobId && !job) throw new NotFound('open job', heatedCureJobId);
    if (records.clocks.length === 0)
      throw new Refused(
        'nothing-cures',
        'No coat of an open job ages with the temperature, so heat would change nothing.',
      );
    change.heatedCure = { jobId: job?.id ?? null, celsius: input.heatedCureCelsius };
    words.push(`coats${job ? ` of job ${job.number}` : ''} cure at ${input.heatedCureCelsius} °C`);
  }
  if (input.heatedSprayArea) {
    change.heatedSprayArea = true;
    words.push('a heated spray area');
  }
  if (input.extraMinutesADay) {
    change.extraMinutesADay = input.extraMinutesADay;
    words.push(`${input.extraMinutesADay} minutes more a day`);
  }
  if (words.length === 0) throw new Invalid([{ detail: 'name at least one change', pointer: '' }]);
  return { change, words };
}

function lateTaskWords(
  { late }: Alternative,
  records: PlanRecords,
  tasks: Map<string, { name: string; jobNumber: number }>,
): string[] {
  if (!late) return [];
  return records.tasks
    .filter((task) => task.awaited.some((part) => part.orderLineId === late.orderLineId))
    .map((task) => `${lookUp(tasks, task.id).name} on job ${lookUp(tasks, task.id).jobNumber} waits for it`);
}
