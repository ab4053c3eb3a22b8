import { z } from 'zod';
import { Finding, SafetyCheck, SafetyRequirement } from '../../diagnosis/diagnosis.shapes.js';
import { EngineType, Equipment, MachineKind } from '../../machines/machines.shapes.js';
import { day, id, priced, shape, wholeNumber } from '../../platform/shapes.js';
import { TaskKind } from '../../work/routes.shapes.js';
import { JobStatus } from '../../work/work.shapes.js';

const MachineIdentity = shape('MachineIdentity', {
  kind: MachineKind,
  maker: z.string().nullable(),
  model: z.string().nullable(),
  description: z.string().nullable(),
  serial: z.string().nullable(),
  yearEstimate: wholeNumber.nullable(),
  engine: z.string().nullable(),
  engineType: EngineType.nullable(),
  engineDisplacementCubicCentimetres: wholeNumber.nullable(),
  clearingWidthMillimetres: wholeNumber.nullable(),
});
const WorkDone = shape('WorkDone', { code: z.string(), name: z.string(), kind: TaskKind, finishedDate: day });
const PartFitted = shape('PartFitted', {
  name: z.string(),
  quantity: z.number(),
  fastener: z.string().nullable(),
  inPlaceOf: z
    .string()
    .nullable()
    .meta({ description: 'The part that was needed, where a substitute was fitted for it.' }),
  fittedOn: day,
});
const CoatApplied = shape('CoatApplied', {
  surface: z.string(),
  coatNumber: wholeNumber,
  product: z.string(),
  appliedOn: day,
  dryFilmMicrometres: z.number().nullable(),
});
const Maintenance = shape('Maintenance', {
  title: z.string(),
  dueAfterHours: wholeNumber
    .nullable()
    .meta({ scalar: 'Int', description: 'Hours of running after the hand-over; null where the season decides alone.' }),
  nextDue: z.string(),
  dueDate: day.nullable().meta({
    description: 'The first day on which the season makes it due; null where running or use alone decides.',
  }),
  text: z.string(),
  fitted: z
    .array(z.string())
    .meta({ description: 'The parts that were fitted to what it is about, as they were fitted.' }),
});

export const StartingPoint = shape(
  'StartingPoint',
  {
    jobId: id,
    jobNumber: wholeNumber,
    title: z.string(),
    status: JobStatus,
    writtenOn: day,
    machine: MachineIdentity,
    asFound: shape(
      'SoldAsFound',
      {
        text: z.string().meta({ description: 'What must be said of a machine that is sold as it was found.' }),
        record: z.string(),
        recordedDate: day,
        recordedBy: z.string(),
        note: z.string().nullable(),
      },
      'A machine that is sold as found, not safe to run: fuel drained, spark plug wire off.',
    ).nullable(),
    findings: z.array(Finding),
    workDone: z.array(WorkDone),
    workLeft: z
      .array(z.string())
      .meta({ description: 'Tasks that are not finished: none on a machine that only needs maintenance.' }),
    notDoneFindingIds: z
      .array(id)
      .meta({ description: 'Findings whose work was not done: it was decided against, or the machine goes as found.' }),
    workSkipped: z
      .array(shape('WorkSkipped', { name: z.string(), reason: z.string() }, 'A task that was left out, and why.'))
      .meta({ description: 'What such a job usually has and this one leaves out.' }),
    labourMinutes: wholeNumber,
    labourValue: priced,
    equipment: z.array(Equipment),
    partsFitted: z.array(PartFitted),
    coats: z.array(CoatApplied),
    safetyChecks: z.array(SafetyCheck).meta({ description: 'The latest record of each check.' }),
    safetyMissing: z
      .array(SafetyRequirement)
      .meta({ description: 'Required, and not passed when last checked or never checked.' }),
    maintenance: z.array(Maintenance),
    text: z.string().meta({ description: 'All of it to be read and printed, in Markdown; without any price.' }),
  },
  'The written starting point: what the machine is, what was found and done, and what maintenance remains.',
);
export type StartingPoint = z.output<typeof StartingPoint>;
