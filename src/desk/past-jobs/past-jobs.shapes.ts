import { z } from 'zod';
import { Verdict } from '../../diagnosis/diagnosis.shapes.js';
import { CoatCreate } from '../../finish/finish.shapes.js';
import { WrittenKind } from '../../ledger/ledger.shapes.js';
import { AcquisitionCreate, AcquisitionSource, Machine, MachineCreate } from '../../machines/machines.shapes.js';
import { amount, choice, day, id, instant, longText, priced, shape, text, wholeNumber } from '../../platform/shapes.js';
import { OfferCreate, SaleCreate } from '../../resale/resale.shapes.js';
import { minutes, taskCode, taskFields, TaskKind } from '../../work/routes.shapes.js';
import { Job } from '../../work/work.shapes.js';

const { acquisitionId: _acquired, ...machineShape } = MachineCreate.shape;
const PastMachine = shape('PastMachine', machineShape, 'A machine as it came in.');

const PastLabour = shape(
  'PastLabour',
  { personId: id, startedAt: instant, endedAt: instant, note: text(400).nullish() },
  'Who worked when.',
);
const PastTask = shape(
  'PastTask',
  {
    code: taskCode.nullish().meta({ description: 'Made from its place unless said.' }),
    name: text(160),
    kind: TaskKind,
    handsOnMinutes: minutes.default(0).meta({
      scalar: 'Int',
      description: 'What was planned for it; where it is 0, nothing is learnt from how long it took.',
    }),
    people: taskFields.people.default(1),
    startedAt: instant.nullish().meta({ scalar: 'Instant', description: 'When its first work began unless said.' }),
    finishedAt: instant.nullish().meta({ scalar: 'Instant', description: 'When its last work ended unless said.' }),
    labour: z.array(PastLabour).max(200).default([]),
  },
  'A piece of work that was done.',
);
const PastFinding = shape('PastFinding', {
  component: text(120),
  observation: longText,
  verdict: Verdict,
  reason: longText.nullish(),
  foundDate: day.nullish().meta({ scalar: 'Day', description: 'The day the job was opened unless said.' }),
});
const PastExpense = shape(
  'PastExpense',
  {
    kind: WrittenKind,
    amount,
    occurredDate: day.nullish().meta({ scalar: 'Day', description: 'The day the job was opened unless said.' }),
    description: text(300),
  },
  'Money that was paid for a job.',
);
const { jobId: _coated, taskId: _task, ...coatShape } = CoatCreate.shape;
const PastCoat = shape('PastCoat', { ...coatShape, appliedAt: instant }, 'A coat that was put on.');
const PastChecks = shape(
  'PastChecks',
  { checkedBy: text(80), checkedDate: day },
  'That every safety check of its kind was made and passed, by whom and when.',
);
const { jobId: _offered, ...offerShape } = OfferCreate.shape;
const PastOffer = shape(
  'PastOffer',
  {
    ...offerShape,
    offeredDate: day,
    withdrawnDate: day.nullish().meta({ scalar: 'Day', description: 'Null where it stood until the sale.' }),
  },
  'What was asked, and from when to when.',
);
const { jobId: _sold, buyerOfferId: _buyer, ...saleShape } = SaleCreate.shape;
const PastSale = shape('PastSale', { ...saleShape, soldDate: day }, 'How it was sold.');
const PastEnd = shape(
  'PastEnd',
  { outcome: choice('PastOutcome', ['kept', 'partedOut', 'scrapped']), closedDate: day },
  'How a job ended without a sale.',
);

const { splitMethod: _split, ...acquisitionShape } = AcquisitionCreate.shape;
export const PastJob = shape(
  'PastJob',
  {
    ...acquisitionShape,
    source: AcquisitionSource.default('other'),
    machine: PastMachine,
    title: text(160).nullish(),
    openedDate: day.nullish().meta({ scalar: 'Day', description: 'The day the machine came in unless said.' }),
    tasks: z.array(PastTask).max(200).default([]),
    findings: z.array(PastFinding).max(100).default([]),
    expenses: z.array(PastExpense).max(200).default([]),
    coats: z.array(PastCoat).max(100).default([]),
    safetyChecks: PastChecks.nullish(),
    offers: z.array(PastOffer).max(20).default([]),
    sale: PastSale.nullish(),
    ended: PastEnd.nullish(),
  },
  'A machine and its job as they were: bought, worked on, offered and sold on days that are past.',
);
export type PastJob = z.output<typeof PastJob>;

export const PastJobsGiven = z.strictObject({
  jobs: z
    .array(PastJob)
    .min(1)
    .max(500)
    .meta({ description: 'All are recorded or none; numbered in the order of their days.' }),
});

const PastJobRecorded = shape('PastJobRecorded', { machine: Machine, job: Job }, 'A past job as it stands on record.');
export const PastJobsRecorded = shape(
  'PastJobsRecorded',
  {
    jobs: z.array(PastJobRecorded).meta({ description: 'In the order in which they were sent.' }),
    jobCount: wholeNumber,
    paid: priced.meta({ priced: true, description: 'What the machines were bought for, haul and fees included.' }),
    received: priced.meta({ priced: true, description: 'What they were sold for.' }),
  },
  'What was recorded of past jobs.',
);

const csv = z
  .string()
  .min(1, 'must not be empty')
  .max(900_000, 'is longer than 900,000 characters; send it in parts')
  .meta({ description: 'A table with a line of headings, as text/csv or in this field.' });
export const PastMachinesTable = z.strictObject({ csv });

const UnderstoodColumn = shape('UnderstoodColumn', {
  header: z.string(),
  understoodAs: z
    .string()
    .nullable()
    .meta({ description: 'What it is taken for; null where it is not understood and left out.' }),
});
const UnderstoodRow = shape('UnderstoodRow', {
  line: wholeNumber.meta({ scalar: 'Int', description: 'Of the file, headings being line 1.' }),
  understood: z
    .string()
    .nullable()
    .meta({ description: 'The machine in a sentence; null where too little was understood.' }),
  faults: z.array(z.string()).meta({ description: 'What keeps the file from being imported.' }),
  notes: z.array(z.string()).meta({ description: 'What was taken for granted.' }),
});
export const PastMachinesPreview = shape(
  'PastMachinesPreview',
  {
    columns: z.array(UnderstoodColumn),
    rows: z.array(UnderstoodRow),
    ready: z.boolean().meta({ description: 'Whether it can be imported as it is.' }),
    jobCount: wholeNumber,
    faultCount: wholeNumber,
    paid: priced,
    received: priced,
  },
  'What was understood of a table of past machines, and what was not. Nothing is recorded.',
);
