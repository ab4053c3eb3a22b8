import { z } from 'zod';
import { at } from '../engine/look-up.js';
import { Conflict, Outdated } from '../platform/errors.js';
import { asDate } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import {
  command,
  everyone,
  type Operation,
  type OperationContext,
  query,
  workers,
} from '../platform/operation/operation.js';
import { pageFields, pageOf, sortOf, sortShape } from '../platform/operation/page.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { choice, day, id, int, text } from '../platform/shapes.js';
import {
  closeJobRow,
  lockJob,
  lockOpenJob,
  releaseParts,
  reopenJobRow,
  whereStatus,
  withJobStatus,
  withOneJobStatus,
} from './jobs.js';
import { openJob } from './open-job.js';
import { applyRouteTo } from './routes.js';
import { Job, JobChange, JobCreate, JobPurpose, JobStatus } from './work.shapes.js';

const version = int(1, 2_000_000_000);
/** A sale closes a job by itself. */
const ClosingOutcome = choice(
  'ClosingOutcome',
  ['kept', 'partedOut', 'scrapped', 'handedBack'],
  "HandedBack for a warranty job, whose machine is its buyer's; the others for the shop's own.",
);

/** The list of jobs, which unlike other lists can be asked for by a state that no column holds. */
const jobs = query({
  name: 'jobs',
  summary: 'List jobs',
  roles: everyone,
  rest: { method: 'GET', path: '/jobs' },
  paged: true,
  input: z.strictObject({
    number: int(1, 2_000_000_000).nullish().meta({ scalar: 'Int', description: "The shop's own running number." }),
    status: JobStatus.nullish(),
    purpose: JobPurpose.nullish(),
    machineId: id.nullish(),
    open: z.boolean().nullish().meta({ description: 'True for the open ones, false for the closed ones.' }),
    promisedBefore: day.nullish(),
    includeArchived: z.boolean().nullish().meta({ description: 'Also those that were archived.' }),
    sort: sortShape('jobs', ['number', 'openedDate']),
    ...pageFields,
  }),
  output: Job,
  async run(context, input) {
    const where = [
      input.status ? await whereStatus(context, input.status) : {},
      input.includeArchived || input.status === 'archived' ? {} : { archivedAt: null },
      typeof input.number === 'number' ? { number: input.number } : {},
      input.machineId ? { machineId: input.machineId } : {},
      input.purpose ? { purpose: input.purpose } : {},
      input.open === true ? { closedDate: null } : input.open === false ? { closedDate: { not: null } } : {},
      input.promisedBefore ? { promisedDate: { lt: asDate(input.promisedBefore) } } : {},
    ];
    const page = await pageOf(input, sortOf(input.sort, 'number'), (bound, orderBy, take) =>
      context.tx.job.findMany({ where: { AND: [...where, bound ?? {}] }, orderBy, take }),
    );
    const jobs = await withJobStatus(
      context,
      page.rows.map(({ node }) => node),
    );
    return { ...page, rows: page.rows.map(({ cursor }, index) => ({ cursor, node: at(jobs, index) })) };
  },
});

/** @throws Outdated when somebody changed the job since the caller read it */
async function refuseOutdated(context: OperationContext, jobId: string, read: number): Promise<Stored<'job'>> {
  const job = await lockJob(context, jobId);
  if (job.version !== read) throw new Outdated(job.version);
  return job;
}

async function prepareRetirement(context: OperationContext, jobId: string): Promise<void> {
  await lockOpenJob(context, jobId);
  const worked = await context.tx.labourEntry.count({ where: { archivedAt: null, task: { jobId } } });
  const used = await context.tx.partNeed.count({
    where: { usedDate: { not: null }, archivedAt: null, task: { jobId } },
  });
  const offered = await context.tx.offer.count({ where: { jobId, withdrawnDate: null } });
  // What the machine was bought for goes over to its next job.
  const booked = await context.tx.ledgerEntry.count({ where: { jobId, kind: { not: 'purchase' } } });
  if (worked + used + offered + booked > 0) {
    throw new Conflict(
      'job-has-history',
      'Labour, parts, money or an offer stand on this job. Only a job opened by mistake is archived; close this one instead.',
    );
  }
  await releaseParts(context, jobId);
}

const jobRecords = crudOperations({
  name: 'job',
  plural: 'jobs',
  table: 'job',
  shape: Job,
  create: JobCreate,
  change: JobChange,
  onCreate: openJob,
  onArchive: (context, before) => prepareRetirement(context, before.id),
  complete: withJobStatus,
}).filter(({ name }) => name !== 'jobs');

const further: Operation[] = [
  command({
    name: 'applyRoute',
    summary: "Lay out a route's tasks on a job, behind those it has",
    roles: workers,
    rest: { method: 'POST', path: '/jobs/:id/apply-route', status: 201 },
    input: z.strictObject({
      id,
      routeId: id,
      codePrefix: text(20)
        .regex(/^[A-Za-z0-9][A-Za-z0-9_.-]*$/, 'must be made of letters, digits, dots and dashes')
        .nullish()
        .meta({ description: "Put before each task's code, so that the same route can be laid out again." }),
    }),
    output: Job,
    async run(context, input) {
      const job = await lockOpenJob(context, input.id);
      await applyRouteTo(context, job, input.routeId, input.codePrefix ?? '');
      return withOneJobStatus(context, await findOne(context.tx.job, 'job', job.id));
    },
  }),
  command({
    name: 'closeJob',
    summary:
      'Close a job whose machine is kept, parted out, scrapped or handed back after warranty work; a ' +
      'sale closes its job by itself. Parts held for it and not used are free again',
    rest: { method: 'POST', path: '/jobs/:id/close', status: 200 },
    creates: false,
    input: z.strictObject({
      id,
      version,
      outcome: ClosingOutcome,
      closedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
    }),
    output: Job,
    async run(context, input) {
      await refuseOutdated(context, input.id, input.version);
      const offered = await context.tx.offer.findFirst({ where: { jobId: input.id, withdrawnDate: null } });
      if (offered) throw new Conflict('offered', 'This machine is offered for sale; withdraw the offer first.');
      const closed = await closeJobRow(context, input.id, input.outcome, input.closedDate ?? context.today);
      return withOneJobStatus(context, closed);
    },
  }),
  command({
    name: 'reopenJob',
    summary: 'Open a closed job again; one that ended in a sale is opened by reversing the sale',
    rest: { method: 'POST', path: '/jobs/:id/reopen', status: 200 },
    creates: false,
    input: z.strictObject({ id, version }),
    output: Job,
    async run(context, input) {
      const job = await refuseOutdated(context, input.id, input.version);
      if (job.outcome === 'sold')
        throw new Conflict('sold', 'This job ended in a sale; reverse the sale, which opens it again.');
      if (job.outcome === 'returned')
        throw new Conflict(
          'returned',
          'This job ended in a sale whose buyer brought the machine back; open a new job on it.',
        );
      return withOneJobStatus(context, await reopenJobRow(context, job.id));
    },
  }),
];

export const jobOperations: Operation[] = [jobs, ...jobRecords, ...further];
