import { z } from 'zod';
import { CostRange, JobCost } from '../../cost/cost.shapes.js';
import { Finding, findingFields } from '../../diagnosis/diagnosis.shapes.js';
import { Acquisition, AcquisitionCreate, Machine, MachineInLot } from '../../machines/machines.shapes.js';
import { JobSchedule } from '../../plan/answers/plan.shapes.js';
import { day, id, priced, shape, text } from '../../platform/shapes.js';
import { PriceAdvice } from '../../resale/price.shapes.js';
import { Caution } from '../../work/cautions.js';
import { Job } from '../../work/work.shapes.js';

/** A finding made while the machine is still on the trailer. */
const FirstFinding = shape('FirstFinding', findingFields);

const MachineTakenIn = shape('MachineTakenIn', {
  ...MachineInLot.shape,
  findings: z.array(FirstFinding).max(60).default([]),
  openJob: z
    .boolean()
    .nullish()
    .meta({ description: 'Whether to open a job on it; yes unless it is a donor or scrap.' }),
  routeId: id.nullish().meta({
    scalar: 'ID',
    description: "The route its job starts with; when not given, the shop's route for its kind, if there is one.",
  }),
  promisedDate: day.nullish(),
  jobTitle: text(160).nullish(),
});

export const IntakeRecord = z.strictObject({
  ...AcquisitionCreate.shape,
  machines: z.array(MachineTakenIn).min(1).max(50),
});

export const IntakeResult = shape(
  'IntakeResult',
  {
    acquisition: Acquisition,
    totalCost: priced.meta({ priced: true, description: 'Price, haul and fees together.' }),
    machines: z.array(
      shape('TakenInMachine', {
        machine: Machine,
        findings: z.array(Finding),
        job: Job.nullable(),
        cost: JobCost.nullable().meta({ description: 'What it has cost so far.' }),
        forecast: JobSchedule.nullable().meta({ description: 'When it is expected to be finished.' }),
        expectedPrice: PriceAdvice.nullable().meta({
          description:
            'What it should bring when it is finished; null when it is not for sale, or when nothing speaks for a price.',
        }),
        expectedMargin: CostRange.nullable().meta({
          description:
            'What the advised ask leaves beyond the full cost at completion, as marginRange ' +
            'of expectedPrice: one in ten below low, one in ten above high.',
        }),
        cautions: z.array(Caution),
      }),
    ),
  },
  'What came in with one acquisition, and what is to be expected of it.',
);
