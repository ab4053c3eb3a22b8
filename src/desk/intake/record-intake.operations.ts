/** A purchase at intake in one call: what came in, what was found, what will be done, and what to expect of it. */
import type { z } from 'zod';
import { keepFirstEstimates } from '../../cost/cost.operations.js';
import { jobCosts, presentCost } from '../../cost/cost.queries.js';
import { addFinding } from '../../diagnosis/diagnosis.operations.js';
import { findingsBy } from '../../diagnosis/diagnosis.queries.js';
import { at, lookUp } from '../../engine/look-up.js';
import { splitCost, totalCostOf } from '../../machines/acquisitions.js';
import { engineTypeOf } from '../../machines/engine-type.js';
import { addAcquisition, addMachine } from '../../machines/machines.operations.js';
import { jobScheduleAnswers } from '../../plan/answers/plan.queries.js';
import { forecast } from '../../plan/background/schedule-now.js';
import { settlePlan } from '../../plan/background/settle-plan.js';
import { Invalid } from '../../platform/errors.js';
import { command, type OperationContext } from '../../platform/operation/operation.js';
import { findOne, type Stored } from '../../platform/operation/stored.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { cautionsFor } from '../../work/cautions.js';
import { firstSteps } from '../../work/first-steps.js';
import { openJob } from '../../work/open-job.js';
import { jobsById, tasksOfJobs } from '../../work/work.queries.js';
import { equipmentOf, type MissingNoted, noteMissing } from './missing.js';
import { IntakeRecord, IntakeResult } from './record-intake.shapes.js';
import { claimsIn } from './seller-claims.js';

type Given = z.output<typeof IntakeRecord>;

/** The shop's own route for a kind of machine, oldest first. */
async function routeFor(context: OperationContext, kind: Given['machines'][number]['kind']): Promise<string | null> {
  const route = await context.tx.route.findFirst({
    where: { machineKind: kind, archivedAt: null },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  return route?.id ?? null;
}

interface Taken {
  machine: Stored<'machine'>;
  jobId: string | null;
  missing: MissingNoted[];
  /** What was said and seen of it. */
  words: string[];
}

async function recordIntake(context: OperationContext, input: Given) {
  const { machines: given, ...rest } = input;
  const acquiredDate = rest.acquiredDate ?? context.today;
  const acquisition = await addAcquisition(context, { ...rest, acquiredDate });
  const total = totalCostOf(acquisition);
  const shares = splitCost(
    total,
    acquisition.splitMethod,
    given,
    context.shop.currency,
    (index) => `/machines/${index}`,
  );
  const taken: Taken[] = [];
  for (const [index, one] of given.entries()) {
    const {
      findings: found,
      missing,
      sellerClaims,
      openJob: wanted,
      routeId,
      promisedDate,
      openedDate,
      jobTitle,
      ...machineFields
    } = one;
    const added = await addMachine(context, machineFields, acquisition.id, `/machines/${index}`);
    const machine = await context.tx.machine.update({
      where: { id: added.id },
      data: { acquisitionShare: at(shares, index).toString() },
    });
    for (const [place, finding] of found.entries())
      await addFinding(
        context,
        { ...finding, machineId: machine.id, foundDate: acquiredDate },
        `/machines/${index}/findings/${place}`,
      );
    const claims = [...claimsIn(rest.sellerClaims), ...claimsIn(sellerClaims)];
    for (const { component, words } of claims)
      await addFinding(context, {
        component,
        observation: `The seller says: "${words}"`,
        verdict: 'verify',
        machineId: machine.id,
        foundDate: acquiredDate,
      });
    const opens = wanted ?? (machine.disposition === 'sell' || machine.disposition === 'keep');
    if (!opens && (routeId || promisedDate || openedDate))
      throw new Invalid([
        {
          detail: 'belongs to a job, and no job is opened on this machine',
          pointer: `/machines/${index}/${routeId ? 'routeId' : promisedDate ? 'promisedDate' : 'openedDate'}`,
        },
      ]);
    const job = opens
      ? await openJob(context, {
          machineId: machine.id,
          title: jobTitle,
          openedDate: openedDate ?? acquiredDate,
          promisedDate,
          routeId: routeId ?? (await routeFor(context, machine.kind)),
        })
      : null;
    const noted = await noteMissing(context, machine.id, missing, acquiredDate, `/machines/${index}/missing`);
    taken.push({
      machine: missing.length > 0 ? await findOne(context.tx.machine, 'machine', machine.id) : machine,
      jobId: job?.id ?? null,
      missing: noted,
      words: [...claims.map((claim) => claim.words), ...found.map((finding) => finding.observation)],
    });
  }
  return { id: acquisition.id, acquisition, totalCost: total, machines: await expectations(context, taken) };
}

/** What each machine has cost, when it should be done, what it should bring: set-wise, after everything has been written. */
async function expectations(context: OperationContext, taken: Taken[]) {
  const jobIds = taken.map((one) => one.jobId).filter((one) => one !== null);
  const jobs = new Map((await jobsById(context, jobIds)).map((job) => [job.id, job]));
  // What is quoted here is what the plan says from then on. A shop being filled is planned when it is full, and without a
  // job there is nothing to quote.
  const { made, simulation } =
    context.unattended || jobIds.length === 0
      ? { made: await forecast(context), simulation: undefined }
      : await settlePlan(context);
  const forecasts = new Map((await jobScheduleAnswers(context, made, simulation)).map((one) => [one.jobId, one]));
  const days = new Map([...forecasts].map(([jobId, one]) => [jobId, one.p50Date]));
  await keepFirstEstimates(context, await jobCosts(context, jobIds, days));
  const costs = new Map((await jobCosts(context, jobIds, days)).map((cost) => [cost.jobId, cost]));
  const prices = await priceAdviceFor(context, jobIds, days);
  const tasks = await tasksOfJobs(context, jobIds);
  // Opening a job has put those of its machine on it.
  const findings = await findingsBy(
    context,
    'machineId',
    taken.map((one) => one.machine.id),
  );
  return taken.map(({ machine, jobId, missing, words }) => {
    const cost = jobId ? costs.get(jobId) : undefined;
    const advice = jobId ? prices.get(jobId) : undefined;
    const steps = firstSteps({
      kind: machine.kind,
      engineType: engineTypeOf(machine),
      words,
      equipment: equipmentOf(machine)
        .filter((had) => had.status === 'fitted')
        .map((had) => had.name),
    });
    const first = tasks.filter((task) => task.jobId === jobId && task.predecessors.length === 0);
    const codes = [
      ...steps.map((step) => step.caution),
      ...first.flatMap((task) => task.cautions.map(({ code }) => code)),
    ];
    return {
      machine,
      findings: findings.filter((one) => one.machineId === machine.id),
      job: jobId ? lookUp(jobs, jobId) : null,
      cost: cost ? presentCost(cost) : null,
      forecast: jobId ? (forecasts.get(jobId) ?? null) : null,
      expectedPrice: advice ?? null,
      expectedMargin: advice?.marginRange ?? null,
      missing,
      firstSteps: steps,
      cautions: cautionsFor(codes),
    };
  });
}

export const intakeOperations = [
  command({
    name: 'recordIntake',
    summary: 'Take in a purchase: the acquisition, its machines, what was found, and a job with a route on each',
    rest: { method: 'POST', path: '/intake', status: 201 },
    input: IntakeRecord,
    output: IntakeResult,
    run: recordIntake,
  }),
];
