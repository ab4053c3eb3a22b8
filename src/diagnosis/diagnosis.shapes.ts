import { z } from 'zod';
import {
  choice,
  day,
  decimal,
  editableFields,
  id,
  instant,
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

const measured = decimal(-1_000_000_000, 1_000_000_000);
const findingFields = {
  component: text(120),
  observation: longText,
  measuredValue: measured.nullish(),
  limitLow: measured.nullish().meta({ scalar: 'Float', description: 'The least that serves on.' }),
  limitHigh: measured.nullish().meta({ scalar: 'Float', description: 'The most that serves on.' }),
  unit: text(40)
    .nullish()
    .meta({ description: 'What value and limits are in, such as mm; needed when there is a value.' }),
  verdict: Verdict,
  reason: longText.nullish(),
};

export const Finding = shape(
  'Finding',
  {
    ...editableFields,
    machineId: id,
    jobId: id.nullable(),
    partNeedId: id.nullable().meta({ scalar: 'ID', description: 'The part need that meets it.' }),
    component: z.string(),
    observation: z.string(),
    measuredValue: z.number().nullable(),
    limitLow: z.number().nullable(),
    limitHigh: z.number().nullable(),
    unit: z.string().nullable(),
    withinLimits: z
      .boolean()
      .nullable()
      .meta({ description: 'Whether the value lies within its limits; null without a value or without limits.' }),
    verdict: Verdict,
    reason: z.string().nullable(),
    foundDate: day,
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
