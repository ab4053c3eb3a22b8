/** What findings suggest: read, tried out, decided on, and decided anew. */
import { z } from 'zod';
import { openProposals } from '../../diagnosis/proposals/open-proposals.js';
import { command, computed, type OperationContext, query, workers } from '../../platform/operation/operation.js';
import { id } from '../../platform/shapes.js';
import { taskInclude, withTaskStatus } from '../../work/tasks.js';
import { Job } from '../../work/work.shapes.js';
import { decide, reopenDecisions } from './decide.js';
import { withWorkEffects } from './effects.js';
import { openProposalsOf, presentProposals } from './present.js';
import { DecisionsGiven, JobProposals, ProposalsDecided, ReopenGiven } from './proposals.shapes.js';

const remaining = async (context: OperationContext, jobId: string) =>
  presentProposals(context, await openProposalsOf(context, jobId));

const tasksById = async (context: OperationContext, ids: readonly string[]) =>
  (
    await context.tx.task.findMany({
      where: { id: { in: [...ids] } },
      include: taskInclude,
      orderBy: [{ position: 'asc' }, { id: 'asc' }],
    })
  ).map(withTaskStatus);

async function decideProposals(context: OperationContext, { id: jobId, decisions }: z.output<typeof DecisionsGiven>) {
  const { result, effects } = await withWorkEffects(context, jobId, () => decide(context, jobId, decisions));
  return {
    jobId,
    tasks: await tasksById(context, result.taskIds),
    skippedTasks: await tasksById(context, result.skippedTaskIds),
    partsNeeded: result.partsNeeded,
    remaining: await remaining(context, jobId),
    effects,
  };
}

export const proposalOperations = [
  query({
    name: 'jobProposals',
    summary: "What a job's findings suggest: work, parts and coats that nobody has decided on yet",
    rest: { method: 'GET', path: '/jobs/:id/proposals' },
    input: z.strictObject({ id }),
    output: JobProposals,
    run: (context, { id: jobId }) => remaining(context, jobId),
  }),
  query({
    name: 'previewProposals',
    slow: true,
    trial: true,
    summary: 'What deciding so would lead to, with its effect on date, cost and margin; nothing is recorded',
    roles: workers,
    rest: { method: 'POST', path: '/jobs/:id/proposals/preview' },
    input: DecisionsGiven,
    output: ProposalsDecided,
    run: decideProposals,
  }),
  command({
    name: 'decideProposals',
    summary: 'Accept, change or refuse what findings suggest, all in one call: tasks, parts and coats come of it',
    roles: workers,
    rest: { method: 'POST', path: '/jobs/:id/proposals/decide', status: 200 },
    creates: false,
    input: DecisionsGiven,
    output: ProposalsDecided,
    run: decideProposals,
  }),
  command({
    name: 'reopenProposals',
    summary: 'Take decisions about findings back, with the tasks that came of them and were not begun',
    roles: workers,
    rest: { method: 'POST', path: '/jobs/:id/proposals/reopen', status: 200 },
    creates: false,
    input: ReopenGiven,
    output: ProposalsDecided,
    async run(context, { id: jobId, findingIds }) {
      const { effects } = await withWorkEffects(context, jobId, () => reopenDecisions(context, jobId, findingIds));
      return {
        jobId,
        tasks: [],
        skippedTasks: [],
        partsNeeded: [],
        remaining: await remaining(context, jobId),
        effects,
      };
    },
  }),
];

export const proposalRelations = [
  computed({
    on: Job,
    field: 'proposals',
    to: JobProposals,
    description: 'What its findings suggest; null once it is closed.',
    async compute(context, jobs) {
      const found = await openProposals(
        context,
        jobs.map((job) => job.id),
      );
      const byJob = new Map(found.map((one) => [one.row.id, one]));
      const presented: (Awaited<ReturnType<typeof presentProposals>> | null)[] = [];
      for (const job of jobs) {
        const one = byJob.get(job.id);
        presented.push(one ? await presentProposals(context, one) : null);
      }
      return presented;
    },
  }),
];
