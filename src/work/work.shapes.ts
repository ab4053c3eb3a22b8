import { z } from 'zod';
import { jobScopes } from '../engine/diagnosis/index.js';
import {
  choice,
  correctionReason,
  day,
  editableFields,
  id,
  instant,
  int,
  longText,
  recordFields,
  shape,
  storedAsJson,
  text,
  wholeNumber,
} from '../platform/shapes.js';
import { PlaceKind } from '../shop/shop.shapes.js';
import { Caution } from './cautions.js';
import { ForbiddenInterval, linkFields, taskCode, taskDefaults, taskFields, TaskKind } from './routes.shapes.js';

export const JobPurpose = choice(
  'JobPurpose',
  ['refurbish', 'warranty'],
  'Refurbish: work on a machine of the shop. Warranty: work on a machine that was sold, which stays ' +
    "its buyer's: it is neither stock nor for sale, and what it costs is a loss of its own.",
);
export const JobOutcome = choice(
  'JobOutcome',
  ['sold', 'kept', 'partedOut', 'scrapped', 'handedBack', 'returned'],
  'HandedBack ends a warranty job; returned is what a sold job becomes when its buyer brings the machine back.',
);
export const JobStatus = choice(
  'JobStatus',
  [
    'intake',
    'diagnosed',
    'inWork',
    'finished',
    'offered',
    'sold',
    'kept',
    'partedOut',
    'scrapped',
    'handedBack',
    'returned',
    'archived',
  ],
  'Told from the records, never set: intake (nothing found or done yet), diagnosed, inWork, finished ' +
    '(every task), offered, then how it was closed; archived if it was opened by mistake.',
);
export type JobStatus = z.output<typeof JobStatus>;
export const TaskStatus = choice(
  'TaskStatus',
  ['toDo', 'started', 'finished', 'skipped'],
  'Skipped: not wanted on this job; it is archived with its reason, and its followers go on without it.',
);
export const JobScope = choice(
  'JobScope',
  jobScopes,
  'How far a job goes: full restoration; mechanical, where paint stays as it is; mend one fault; sell as found, ' +
    'not safe to run; strip for parts.',
);

const jobFields = {
  title: text(160),
  promisedDate: day.nullish(),
  priority: int(-1000, 1000).meta({ scalar: 'Int', description: 'Higher goes first where nothing else decides.' }),
  notes: longText.nullish(),
};
export const Job = shape(
  'Job',
  {
    ...editableFields,
    number: wholeNumber.meta({ scalar: 'Int', description: "The shop's own running number." }),
    machineId: id,
    title: z.string(),
    purpose: JobPurpose,
    scope: JobScope,
    scopeReason: z.string().nullable().meta({ description: 'Why it goes just so far.' }),
    status: JobStatus,
    openedDate: day,
    promisedDate: day.nullable(),
    priority: wholeNumber,
    taskCount: wholeNumber,
    finishedTaskCount: wholeNumber,
    finishedDate: day.nullable().meta({ description: 'The day its last task was finished; null while any is left.' }),
    closedDate: day.nullable(),
    outcome: JobOutcome.nullable(),
    asFoundDate: day.nullable().meta({
      description: 'The day its machine was recorded as found: fuel drained, spark plug wire off, not safe to run.',
    }),
    asFoundBy: z.string().nullable().meta({ description: 'Who recorded it so.' }),
    asFoundNote: z.string().nullable().meta({ description: 'What was looked at, and what is known of it.' }),
    notes: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'One refurbishment of one machine, intake to sale; or, as a warranty job, what is done on it after that.',
);
export const JobCreate = z.strictObject({
  machineId: id,
  title: jobFields.title.nullish().meta({ description: 'Maker and model unless said.' }),
  purpose: JobPurpose.default('refurbish'),
  openedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  promisedDate: jobFields.promisedDate,
  priority: jobFields.priority.default(0),
  notes: jobFields.notes,
  routeId: id.nullish().meta({ scalar: 'ID', description: 'A route whose tasks the job starts with.' }),
});
export const JobChange = z.strictObject(z.object(jobFields).partial().shape);

export const TaskLink = shape(
  'TaskLink',
  {
    ...recordFields,
    taskId: id,
    predecessorId: id,
    minWaitMinutes: wholeNumber,
    forbiddenIntervals: storedAsJson(z.array(ForbiddenInterval)),
    reason: z.string().nullable(),
  },
  'What must be finished before a task may start, and how long before.',
);
export const TaskLinkCreate = z.strictObject({ taskId: id, predecessorId: id, ...linkFields });

export const Task = shape(
  'Task',
  {
    ...editableFields,
    jobId: id,
    position: wholeNumber,
    code: z.string(),
    name: z.string(),
    kind: TaskKind,
    status: TaskStatus,
    handsOnMinutes: wholeNumber,
    minMinutes: wholeNumber,
    maxMinutes: wholeNumber,
    people: wholeNumber,
    placeKind: PlaceKind.nullable(),
    pausable: z.boolean(),
    needsPaintWeather: z.boolean(),
    cureMinutes: wholeNumber,
    cautions: z.array(Caution),
    startedAt: instant.nullable(),
    finishedAt: instant.nullable(),
    predecessors: z.array(TaskLink),
    findingIds: z.array(id).meta({ description: 'The findings it is for; none for a task of a route.' }),
    skippedReason: z.string().nullable().meta({ description: 'Why it is not wanted; null for one that is.' }),
    archivedAt: instant.nullable(),
  },
  'A piece of work of one job.',
);
const position = int(1, 1_000_000);
const TaskAfter = shape('TaskAfter', { predecessorId: id, ...linkFields }, 'What must come before a new task.');
export const TaskCreate = z.strictObject({
  jobId: id,
  code: taskCode,
  ...taskFields,
  ...taskDefaults,
  position: position.nullish().meta({
    scalar: 'Int',
    description: 'Its place in the list; last unless said. It does not bind the order, links do.',
  }),
  after: z.array(TaskAfter).max(40).default([]),
});
export const TaskChange = z.strictObject(z.object({ ...taskFields, position }).partial().shape);

const override = {
  override: z
    .boolean()
    .nullish()
    .meta({ description: 'Do it against the order of the tasks or a wait; only the owner may, and must say why.' }),
  reason: text(400).nullish(),
};
const at = instant.nullish().meta({ scalar: 'Instant', description: 'When it happened; now unless said.' });
export const TaskStart = z.strictObject({ id, at, ...override });
export const TaskFinish = z.strictObject({
  id,
  at,
  startedAt: instant
    .nullish()
    .meta({ scalar: 'Instant', description: 'When it was started, where that was not recorded at the time.' }),
  ...override,
});
export const TaskReopen = z.strictObject({ id, override: override.override, reason: correctionReason });

export const LabourEntry = shape(
  'LabourEntry',
  {
    ...editableFields,
    taskId: id,
    personId: id,
    startedAt: instant,
    endedAt: instant.nullable(),
    minutes: wholeNumber.meta({ scalar: 'Int', description: 'Whole minutes worked; counted up to now while it runs.' }),
    warning: z.string().nullable().meta({ description: 'Said of one that has run longer than a long working day.' }),
    note: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'Who worked on which task, from when to when: at most 16 hours in one entry, and not before the machine came into the shop.',
);
const note = text(400).nullish();
export const LabourEntryCreate = z.strictObject({
  taskId: id,
  personId: id,
  startedAt: instant,
  endedAt: instant,
  note,
});
export const LabourEntryChange = z.strictObject(
  z
    .object({
      taskId: id,
      personId: id,
      startedAt: instant,
      endedAt: instant,
      note,
      reason: correctionReason.meta({ description: 'Why; needed for anything but the note.' }),
    })
    .partial().shape,
);
export const LabourStart = z.strictObject({ id, personId: id, at, note, ...override });
export const LabourEnd = z.strictObject({
  id,
  at,
  reason: correctionReason
    .nullish()
    .meta({ description: 'Why it is ended only now; needed for a timer that has outlasted a long working day.' }),
});
export const LabourUndo = z.strictObject({ id, reason: correctionReason });

export const LabourSum = shape(
  'LabourSum',
  { minutes: wholeNumber, running: z.boolean() },
  'Labour added up, a running entry counted up to now.',
);
