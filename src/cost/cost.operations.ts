/** The first estimate of a job, kept so that what it comes to in the end can be held against it. */
import { z } from 'zod';
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import { asDate } from '../platform/operation/columns.js';
import { command, type OperationContext } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { computeCosts, costByCause, type JobCostFacts, presentCost } from './cost.queries.js';
import { JobCost } from './cost.shapes.js';

/** Keeps what jobs are estimated to cost as their first estimates; those that have one keep theirs. */
export async function keepFirstEstimates(context: OperationContext, facts: readonly JobCostFacts[]): Promise<void> {
  await context.tx.firstEstimate.createMany({
    data: facts
      .filter((one) => one.firstEstimate === null)
      .map((one) => ({
        shopId: context.shop.id,
        jobId: one.jobId,
        estimatedDate: asDate(context.today),
        ...costByCause(one),
        low: one.estimate.p10,
        likely: one.estimate.p50,
        high: one.estimate.p90,
      })),
    skipDuplicates: true,
  });
}

export const costOperations = [
  command({
    name: 'keepFirstEstimate',
    summary: 'Keep what a job is estimated to cost now as its first estimate; one taken in by intake has it already',
    rest: { method: 'POST', path: '/jobs/:jobId/first-estimate', status: 201 },
    input: z.strictObject({ jobId: id }),
    output: JobCost,
    async run(context, { jobId }) {
      const facts = (await computeCosts(context, [jobId])).get(jobId);
      if (!facts) throw new NotFound('job', jobId);
      if (facts instanceof Refused) throw facts;
      if (facts.firstEstimate)
        throw new Conflict('estimate-kept', 'Its first estimate is on record already and stays as it was.');
      await keepFirstEstimates(context, [facts]);
      const kept = (await computeCosts(context, [jobId])).get(jobId) as JobCostFacts;
      return presentCost(kept);
    },
  }),
];
