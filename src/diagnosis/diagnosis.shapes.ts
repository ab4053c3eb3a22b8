import { z } from 'zod';
import { componentPositions } from '../engine/diagnosis/index.js';
import {
  choice,
  day,
  decimal,
  editableFields,
  id,
  instant,
  int,
  longText,
  recordFields,
  shape,
  text,
} from '../platform/shapes.js';
import { safetyCheckCodes } from './safety-checks.js';

export const Verdict = choice(
  'Verdict',
  ['verify', 'serveOn', 'repair', 'replace', 'remove'],
  'Verify: somebody says so, such as the seller; it is to be looked at before anything is decided.',
);

export const ComponentPosition = choice('ComponentPosition', componentPositions);
export const ProposalDecision = choice('ProposalDecision', ['accepted', 'refused']);

const measured = decimal(-1_000_000_000, 1_000_000_000);
const rustGrade = int(0, 5).meta({ scalar: 'Int', description: 'How far rust has gone, in the steps of rustScale.' });
export const findingFields = {
  component: text(120),
  componentCode: text(40).nullish().meta({
    description: "Its code in the list of components for the machine's kind; found from the words when not given.",
  }),
  position: ComponentPosition.nullish(),
  observation: longText,
  measuredValue: measured.nullish(),
  newSize: measured.nullish().meta({ scalar: 'Float', description: 'What it measures when new.' }),
  limitLow: measured.nullish().meta({ scalar: 'Float', description: 'The least that serves on.' }),
  limitHigh: measured.nullish().meta({ scalar: 'Float', description: 'The most that serves on.' }),
  unit: text(40)
    .nullish()
    .meta({ description: 'What value and limits are in, such as mm; needed when there is a value.' }),
  rustGrade: rustGrade.nullish(),
  verdict: Verdict,
  reason: longText.nullish().meta({ description: 'Why so; to serve on with a reading outside its limits needs one.' }),
  foundBy: text(80).nullish(),
};

export const Finding = shape(
  'Finding',
  {
    ...editableFields,
    machineId: id,
    jobId: id.nullable(),
    partNeedId: id.nullable().meta({ scalar: 'ID', description: 'The part need that meets it.' }),
    component: z.string(),
    componentCode: z.string().nullable(),
    position: ComponentPosition.nullable(),
    observation: z.string(),
    measuredValue: z.number().nullable(),
    newSize: z.number().nullable(),
    limitLow: z.number().nullable(),
    limitHigh: z.number().nullable(),
    unit: z.string().nullable(),
    withinLimits: z
      .boolean()
      .nullable()
      .meta({ description: 'Whether the value lies within its limits; null without a value or without limits.' }),
    rustGrade: rustGrade.nullable(),
    verdict: Verdict,
    reason: z.string().nullable(),
    foundBy: z.string().nullable(),
    foundDate: day,
    decision: ProposalDecision.nullable().meta({
      description:
        'What was decided about the work that it suggests; null while nothing was, and where it suggests none.',
    }),
    decisionReason: z.string().nullable(),
    decidedDate: day.nullable(),
    taskIds: z.array(id).meta({ description: 'The tasks that are for it.' }),
    sameAsIds: z
      .array(id)
      .meta({ description: 'Findings that say the same of the same component: noted twice, it still adds work once.' }),
    nextStep: z.string().nullable().meta({
      description:
        'What is still to be recorded, so that plan and cost take into account it: of a replacement on an unfinished job, its part.',
    }),
    archivedAt: instant.nullable(),
  },
  'A diagnosis of one component: what was seen or measured, and what is to become of it.',
);
export const FindingCreate = z.strictObject({
  machineId: id,
  jobId: id.nullish().meta({ scalar: 'ID', description: "When not given, the machine's open job, if it has one." }),
  ...findingFields,
  foundDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
});
export const FindingChange = z.strictObject({
  ...z.object(findingFields).partial().shape,
  foundDate: day.optional(),
  partNeedId: id.nullish().meta({ scalar: 'ID', description: 'The part need, of the same job, that meets it.' }),
});

export const SafetyCheckCode = choice('SafetyCheckCode', safetyCheckCodes);

export const SafetyCheck = shape(
  'SafetyCheck',
  {
    ...recordFields,
    jobId: id,
    check: z.string(),
    title: z.string(),
    passed: z.boolean(),
    checkedDate: day,
    checkedBy: z.string(),
    note: z.string().nullable(),
  },
  'One safety check as it was made. It is never changed: a check made again is recorded again, and the latest counts.',
);
export const SafetyCheckCreate = z.strictObject({
  jobId: id,
  check: SafetyCheckCode,
  passed: z.boolean(),
  checkedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  checkedBy: text(80),
  note: text(1000).nullish(),
});

export const SafetyRequirement = shape(
  'SafetyRequirement',
  { code: z.string(), title: z.string(), text: z.string() },
  'A check that a kind of machine needs before it may be offered.',
);
export const SafetyStatus = shape(
  'SafetyStatus',
  {
    jobId: id,
    safe: z.boolean().meta({ description: 'Every required check was made and its latest record passed.' }),
    required: z.array(SafetyRequirement),
    passed: z.array(SafetyRequirement),
    failed: z.array(SafetyRequirement).meta({ description: 'Required, and failed when last checked.' }),
    missing: z.array(SafetyRequirement).meta({ description: 'Required and never checked.' }),
  },
  'Which safety checks a job needs, and which of them stand.',
);
