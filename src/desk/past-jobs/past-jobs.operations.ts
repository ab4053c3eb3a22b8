/** What happened before it was entered: past jobs taken whole, and own earlier machines from a table. */
import { Decimal } from 'decimal.js';
import { lookUp } from '../../engine/look-up.js';
import { Invalid } from '../../platform/errors.js';
import { command, type OperationContext, ownerOnly, query } from '../../platform/operation/operation.js';
import { jobsById } from '../../work/work.queries.js';
import {
  type PastJob,
  PastJobsGiven,
  PastJobsRecorded,
  PastMachinesPreview,
  PastMachinesTable,
} from './past-jobs.shapes.js';
import { type PastJobWritten, recordPastJob } from './record-past-job.js';
import { understandTable, type UnderstoodTable } from './understand-table.js';

const openedOf = (job: PastJob): string => job.openedDate ?? job.acquiredDate;

/** @param pointerTo where each job stands in what was sent */
async function recordAll(context: OperationContext, jobs: readonly PastJob[], pointerTo: (index: number) => string) {
  const written = new Map<number, PastJobWritten>();
  // Numbers follow the days, whatever the order of the list.
  const ordered = jobs
    .map((job, index) => ({ job, index }))
    .sort((a, b) =>
      openedOf(a.job) < openedOf(b.job) ? -1 : openedOf(a.job) > openedOf(b.job) ? 1 : a.index - b.index,
    );
  for (const { job, index } of ordered) written.set(index, await recordPastJob(context, job, pointerTo(index)));
  const all = jobs.map((_, index) => lookUp(written, index));
  const rows = new Map(
    (
      await jobsById(
        context,
        all.map((one) => one.job.id),
      )
    ).map((job) => [job.id, job]),
  );
  return {
    jobs: all.map(({ machine, job }) => ({ machine, job: lookUp(rows, job.id) })),
    jobCount: all.length,
    ...totals(all),
  };
}

const totals = (all: readonly Pick<PastJobWritten, 'paid' | 'received'>[]) => ({
  paid: Decimal.sum(0, ...all.map((one) => one.paid)),
  received: Decimal.sum(0, ...all.map((one) => one.received)),
});

function previewOf({ columns, rows }: UnderstoodTable) {
  const jobs = rows.flatMap((row) => row.job ?? []);
  const faultCount = rows.reduce((sum, row) => sum + row.faults.length, 0);
  return {
    columns,
    rows: rows.map(({ job: _, ...row }) => row),
    ready: faultCount === 0 && jobs.length > 0,
    jobCount: jobs.length,
    faultCount,
    ...totals(
      jobs.map((job) => ({
        paid: Decimal.sum(job.price, job.fees, job.haulCost ?? 0),
        received: new Decimal(job.sale?.price ?? 0),
      })),
    ),
  };
}

export const pastJobOperations = [
  command({
    name: 'recordPastJobs',
    summary:
      'Record jobs of the past whole: purchase, work, coats, money, offers and sale, each on its day; all or none',
    rest: { method: 'POST', path: '/past-jobs', status: 201 },
    input: PastJobsGiven,
    output: PastJobsRecorded,
    run: (context, { jobs }) => recordAll(context, jobs, (index) => `/jobs/${index}`),
  }),
  query({
    name: 'previewPastMachines',
    summary: 'What would be understood of a table of your own earlier machines, and what not; nothing is recorded',
    roles: ownerOnly,
    rest: { method: 'POST', path: '/past-machines/preview', status: 200 },
    input: PastMachinesTable,
    output: PastMachinesPreview,
    run: async (context, { csv }) => previewOf(await understandTable(context, csv)),
  }),
  command({
    name: 'importPastMachines',
    summary: 'Record the machines of a table with their jobs, as the preview shows them; all or none',
    rest: { method: 'POST', path: '/past-machines/import', status: 201 },
    input: PastMachinesTable,
    output: PastJobsRecorded,
    async run(context, { csv }) {
      const { rows } = await understandTable(context, csv);
      const faults = rows.flatMap(({ line, faults: found }) =>
        found.map((fault) => ({ detail: `line ${line}: ${fault}`, pointer: '/csv' })),
      );
      if (rows.length === 0) faults.push({ detail: 'has no line below its headings', pointer: '/csv' });
      if (faults.length > 0) throw new Invalid(faults);
      return recordAll(
        context,
        rows.flatMap((row) => row.job ?? []),
        (index) => `/csv/${rows[index]?.line}`,
      );
    },
  }),
];
