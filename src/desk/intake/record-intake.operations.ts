/** A purchase at intake in one call: what came in, what was found, what will be done, and what to expect of it. */
import type { z } from 'zod';
import { jobCosts, presentCost } from '../../cost/cost.queries.js';
import { addFinding } from '../../diagnosis/diagnosis.operations.js';
import { findingsBy } from '../../diagnosis/diagnosis.queries.js';
import { forecast } from '../../plan/background/schedule-now.js';
import { presentJobForecasts } from '../../plan/answers/plan.queries.js';
import { Invalid } from '../../platform/errors.js';
import { type Call, command, type Presentable } from '../../platform/operation/operation.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { cautionsFor } from '../../work/cautions.js';
import { openJob } from '../../work/open-job.js';
import { jobsById, tasksOfJobs } from '../../work/work.queries.js';
import { splitCost, totalCostOf } from '../../machines/acquisitions.js';
import { addAcquisition, addMachine } from '../../machines/machines.operations.js';
import { TakeIn, TakenIn } from './record-intake.shapes.js';

type Given = z.output<typeof TakeIn>;

/** The shop's own route for a kind of machine, oldest first. */
async function routeFor(call: Call, kind: Given['machines'][number]['kind']): Promise<string | null> {
  const route = await call.tx.route.findFirst({
    where: { machineKind: kind, retiredAt: null },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  return route?.id ?? null;
}

async function takeIn(call: Call, input: Given): Promise<Presentable> {
  const { machines: given, ...rest } = input;
  const acquisition = await addAcquisition(call, rest);
  const total = totalCostOf(acquisition);
  const shares = splitCost(total, acquisition.splitMethod, given, call.shop.currency, (index) => `/machines/${index}`);
  const taken: { machine: Presentable; jobId: string | null }[] = [];
  for (const [index, one] of given.entries()) {
    const { findings: found, openJob: wanted, routeId, promisedOn, jobTitle, ...machineFields } = one;
    const added = await addMachine(call, machineFields, acquisition.id, `/machines/${index}`);
    const machine = await call.tx.machine.update({
      where: { id: added.id },
      data: { acquisitionShare: shares[index]!.toString() },
    });
    for (const [at, finding] of found.entries())
      await addFinding(
        call,
        { ...finding, machineId: machine.id, foundOn: call.today },
        `/machines/${index}/findings/${at}`,
      );
    const opens = wanted ?? (machine.disposition === 'sell' || machine.disposition === 'keep');
    if (!opens && (routeId || promisedOn))
      throw new Invalid([
        {
          detail: 'belongs to a job, and no job is opened on this machine',
          pointer: `/machines/${index}/${routeId ? 'routeId' : 'promisedOn'}`,
        },
      ]);
    const job = opens
      ? await openJob(call, {
          machineId: machine.id,
          title: jobTitle,
          promisedOn,
          routeId: routeId ?? (await routeFor(call, machine.kind)),
        })
      : null;
    taken.push({ machine, jobId: job?.id ?? null });
  }
  return { id: acquisition.id, acquisition, totalCost: total, machines: await expectations(call, taken) };
}

/** What each machine has cost, when it should be done, what it should bring: set-wise, after everything has been written. */
async function expectations(
  call: Call,
  taken: { machine: Presentable; jobId: string | null }[],
): Promise<Presentable[]> {
  const jobIds = taken.map((one) => one.jobId).filter((one): one is string => one !== null);
  const jobs = new Map((await jobsById(call, jobIds)).map((job) => [job.id as string, job]));
  const forecasts = new Map((await presentJobForecasts(call, await forecast(call))).map((one) => [one.jobId, one]));
  const days = new Map([...forecasts].map(([jobId, one]) => [jobId, one.p50Day]));
  const costs = new Map((await jobCosts(call, jobIds, days)).map((cost) => [cost.jobId, cost]));
  const prices = await priceAdviceFor(call, jobIds, days);
  const tasks = await tasksOfJobs(call, jobIds);
  // Opening a job has put those of its machine on it.
  const findings = await findingsBy(
    call,
    'machineId',
    taken.map((one) => one.machine.id),
  );
  return taken.map(({ machine, jobId }) => {
    const cost = jobId ? costs.get(jobId) : undefined;
    const advice = jobId ? prices.get(jobId) : undefined;
    const codes = [
      ...new Set(
        tasks
          .filter((task) => task.jobId === jobId)
          .flatMap((task) => task.cautions.map((caution: { code: string }) => caution.code) as string[]),
      ),
    ];
    return {
      machine,
      findings: findings.filter((one) => one.machineId === machine.id),
      job: jobId ? jobs.get(jobId) : null,
      cost: cost ? presentCost(cost) : null,
      forecast: jobId ? (forecasts.get(jobId) ?? null) : null,
      expectedPrice: advice ?? null,
      expectedMargin: advice?.marginRange ?? null,
      cautions: cautionsFor(codes),
    };
  });
}

export const takeInOperations = [
  command({
    name: 'takeIn',
    summary: 'Take in a purchase: the acquisition, its machines, what was found, and a job with a route on each',
    rest: { method: 'POST', path: '/intake', status: 201 },
    input: TakeIn,
    output: TakenIn,
    run: takeIn,
  }),
];
