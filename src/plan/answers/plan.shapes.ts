import { z } from 'zod';
import { MachineKind } from '../../machines/machines.shapes.js';
import { day, id, instant, priced, shape, wholeNumber } from '../../platform/shapes.js';
import { PlaceKind } from '../../shop/shop.shapes.js';

const share = z.number().meta({ scalar: 'Float' });

export const PlannedTask = shape(
  'PlannedTask',
  {
    taskId: id,
    jobId: id,
    jobNumber: wholeNumber,
    name: z.string(),
    kind: z.string(),
    startsAt: instant,
    finishesAt: instant,
    begun: z.boolean(),
    finished: z.boolean(),
    handsOnMinutes: wholeNumber,
    people: wholeNumber,
    placeKind: PlaceKind.nullable(),
    reasons: z.array(z.string()).meta({ description: 'Why it starts when it does.' }),
    waitsForParts: z.array(z.string()).meta({ description: 'The parts it needs and that are not on hand.' }),
    cautions: z.array(z.string()),
  },
  'One task in the plan.',
);

export const JobWait = shape(
  'JobWait',
  {
    taskId: id
      .nullable()
      .meta({ scalar: 'ID', description: 'The task that waits; null where the machine as a whole does.' }),
    taskName: z.string().nullable(),
    until: day.nullable().meta({ scalar: 'Day', description: 'Null where nobody can know: it is for somebody to do.' }),
    what: z.string(),
    kind: z.enum(['part', 'cure', 'recoat', 'weather', 'resource', 'safetyChecks', 'other']).meta({ id: 'WaitKind' }),
  },
  'What a job, or one task of it, waits for, and until when.',
);

export const DecidingTask = shape(
  'DecidingTask',
  { taskId: id, name: z.string(), share },
  "A task that decides a job's end, and in what share of the scenarios.",
);

export const JobLever = shape(
  'JobLever',
  {
    change: z.string(),
    daysSooner: wholeNumber.meta({ scalar: 'Int', description: 'By expectedDate, with everything else as it is.' }),
    cautions: z.array(z.string()),
  },
  'A change that would have one job finished sooner.',
);

const quantileDate = (words: string) =>
  day.nullable().meta({
    scalar: 'Day',
    description: `Finished by this day with ${words}; null when not within the plan's horizon.`,
  });

export const JobSchedule = shape(
  'JobSchedule',
  {
    jobId: id,
    jobNumber: wholeNumber,
    jobTitle: z.string(),
    expectedDate: day.nullable().meta({
      description:
        'The day on which one run through the plan ends, with mean hours, median arrivals and the weather of ' +
        'most years. It is usually sooner than p50Date, since what goes wrong adds up and what goes ' +
        'well seldom does: steps are compared by it, promises are made by p80Date.',
    }),
    earliestDate: day
      .nullable()
      .meta({ description: 'No order of work could have it finished sooner, though nothing else stood in its way.' }),
    dueDate: day.nullable().meta({ description: 'The day it is promised for, or should be ready for the season.' }),
    daysLate: wholeNumber
      .nullable()
      .meta({ scalar: 'Int', description: 'Expected day less due day; negative is early.' }),
    p10Date: quantileDate('one chance in ten'),
    p50Date: quantileDate('one chance in two'),
    p80Date: quantileDate('four chances in five'),
    p95Date: quantileDate('nineteen chances in twenty'),
    probabilityByDue: share
      .nullable()
      .meta({ scalar: 'Float', description: 'The chance that it is finished by the end of its due day.' }),
    probabilityBeforeSnow: share.nullable().meta({
      scalar: 'Float',
      description:
        "The chance that it is finished before the first snow, less the shop's margin, or in a winter without by the end of " +
        'the season: work, parts, paint weather and snow drawn together.',
    }),
    readinessGainPerWeek: share
      .nullable()
      .meta({ scalar: 'Float', description: 'How much that chance would rise if it were finished a week sooner.' }),
    deciding: z
      .array(DecidingTask)
      .meta({ description: 'The up to eight tasks that most often decide its end, its own first.' }),
    levers: z
      .array(JobLever)
      .meta({ description: 'What the shop could do to have it finished sooner, and by how much.' }),
    nextTask: z.string().nullable(),
    remainingHandsOnMinutes: wholeNumber,
    reasons: z.array(z.string()).meta({ description: 'What decides the expected day.' }),
    chain: z.array(z.string()).meta({ description: 'The tasks and waits that lead to the end, in words.' }),
    waits: z.array(JobWait),
  },
  'When a job is expected to be finished, and why.',
);

export const ResourceInPlan = shape(
  'ResourceInPlan',
  {
    resource: z.string(),
    load: share.meta({ scalar: 'Float', description: 'Mean share of what is open in use until the last task ends.' }),
    bindingShare: share.meta({ scalar: 'Float', description: 'How often it decided when a task could start.' }),
  },
  'How far something the shop has holds the plan up.',
);

export const PlanQuality = shape(
  'PlanQuality',
  {
    daysLate: share.meta({ scalar: 'Float', description: 'Days that jobs end after their due days, in all.' }),
    daysLateAtLeast: share.meta({ scalar: 'Float', description: 'No order of work could bring that below this.' }),
    reasons: z.array(z.string()),
  },
  'How good the plan is, as far as that can be proven.',
);

export const Plan = shape(
  'Plan',
  {
    computedAt: instant,
    ageSeconds: wholeNumber,
    stale: z.boolean().meta({ description: 'Records, or the day, have changed since it was made.' }),
    fingerprint: z
      .string()
      .meta({ description: 'Of all that the plan was made from: the same records give the same plan.' }),
    engineVersion: z.string(),
    seed: wholeNumber,
    scenarios: wholeNumber.meta({
      scalar: 'Int',
      description: 'How many times it was played through for the chances.',
    }),
    schedulesTried: wholeNumber,
    provenOptimal: z
      .boolean()
      .meta({ description: 'No schedule can be better than this one by likely hours and arrivals.' }),
    quality: PlanQuality,
    jobs: z.array(JobSchedule),
    tasks: z.array(PlannedTask),
    resources: z.array(ResourceInPlan),
  },
  "The shop's schedule as its records have it now.",
);

export const Assignee = shape('Assignee', { personId: id, name: z.string() }, 'Somebody who is to do a task.');
export const BenchTask = shape(
  'BenchTask',
  {
    taskId: id,
    jobId: id,
    jobNumber: wholeNumber,
    machine: z.string(),
    name: z.string(),
    startsAt: instant,
    finishesAt: instant,
    minutes: wholeNumber.meta({ scalar: 'Int', description: 'Hands-on minutes on this day.' }),
    people: wholeNumber,
    assignees: z
      .array(Assignee)
      .meta({ description: 'Who is to do it, from those who may do that kind of task and are in.' }),
    placeKind: PlaceKind.nullable(),
    reasons: z.array(z.string()).meta({ description: 'Why this is the time for it.' }),
    prepare: z
      .array(z.string())
      .meta({ description: 'What to have ready: parts to pick, coats to bring to temperature.' }),
    cautions: z.array(z.string()),
  },
  'One piece of work on a day.',
);
export const BenchList = shape(
  'BenchList',
  {
    day,
    tasks: z.array(BenchTask),
    note: z.string().nullable().meta({ description: 'Why there is nothing to do, where there is nothing.' }),
  },
  'What to work on, on one day.',
);

export const ResourceLoad = shape(
  'ResourceLoad',
  {
    resource: z.string(),
    usedMinutes: wholeNumber,
    openMinutes: wholeNumber,
    usedShare: share,
    waitedMinutes: wholeNumber,
    bindingShare: share.meta({
      scalar: 'Float',
      description: 'How often it decided when a task could start, over all scenarios.',
    }),
  },
  'How far something the shop has is used until the season, and how long tasks wait for it.',
);
export const CapacityByKind = shape(
  'CapacityByKind',
  {
    kind: MachineKind,
    routeName: z.string(),
    moreThatFit: wholeNumber.nullable().meta({
      scalar: 'Int',
      description: 'With four chances in five, all of them. Null while the season is unknown.',
    }),
    probabilities: z
      .array(share)
      .meta({ description: 'The chance that one more, two more, … are all in time without making an open one late.' }),
    lastFinishedDate: day
      .nullable()
      .meta({ scalar: 'Day', description: 'When the last of those that fit would be finished.' }),
    nextFinishDate: day
      .nullable()
      .meta({ scalar: 'Day', description: 'When the first that does not fit would be finished.' }),
  },
  'How many more machines of a kind, taken in today and planned among the open jobs, would be finished in time.',
);
export const Lever = shape(
  'Lever',
  {
    change: z.string(),
    bottleneck: z.string().meta({ description: 'What it would loosen.' }),
    moreThatFit: wholeNumber,
    additionalMachines: wholeNumber,
  },
  'What a change would do to the number that fit.',
);

export const JobReadiness = shape(
  'JobReadiness',
  {
    jobId: id,
    jobNumber: wholeNumber,
    jobTitle: z.string(),
    expectedDate: day.nullable(),
    p50Date: day.nullable(),
    p80Date: day.nullable(),
    ready: z
      .boolean()
      .nullable()
      .meta({ description: 'Its p50Date is in time; null while that day, or the season, is unknown.' }),
    probability: share.nullable().meta({
      scalar: 'Float',
      description:
        'Finished before the first snow less the margin, drawn together with the weather of the same winter.',
    }),
    readinessGainPerWeek: share.nullable(),
    daysToSpare: wholeNumber.nullable().meta({ scalar: 'Int', description: 'From its p50Date to readyBy.' }),
    marginAtRisk: priced.meta({
      scalar: 'Money',
      description: 'Its expected margin times the chance that it misses the season.',
    }),
    reasons: z.array(z.string()),
  },
  'One job against the season.',
);
export const JobThatMatters = shape(
  'JobThatMatters',
  { jobId: id, jobNumber: wholeNumber, jobTitle: z.string(), readinessGainPerWeek: share, what: z.string() },
  'A job on which days count now.',
);
export const ReadinessPoint = shape(
  'ReadinessPoint',
  { day, probabilityOfSnow: share.nullable(), expectedFinished: share },
  'By the end of a day: whether it has snowed, and how many are finished.',
);
export const Readiness = shape(
  'Readiness',
  {
    asOf: day,
    season: z.string().nullable(),
    thresholdMillimetres: share,
    marginDays: wholeNumber,
    firstSnowMedian: day.nullable(),
    probabilityNoSnow: share.nullable().meta({
      scalar: 'Float',
      description:
        'Share of the winters on record that could be this one in which no such snow fell. In those, what is finished by the ' +
        'end of the season is ready.',
    }),
    firstSnowEarly: day.nullable().meta({ description: 'Snow has come by this day in one season of ten.' }),
    firstSnowLate: day.nullable().meta({ description: 'Snow has come by this day in nine seasons of ten.' }),
    readyBy: day.nullable().meta({ description: 'The median first snow less the margin.' }),
    jobs: z.array(JobReadiness),
    readyCount: wholeNumber
      .nullable()
      .meta({ scalar: 'Int', description: 'How many are ready; null while the season is unknown.' }),
    topPriorities: z.array(JobThatMatters).meta({ description: 'Up to three jobs where a day matters most.' }),
    curve: z.array(ReadinessPoint),
    marginAtRisk: priced.meta({
      scalar: 'Money',
      description: 'The sum over the jobs whose chance is known; null while none is.',
    }),
    expectedReady: share.nullable().meta({
      scalar: 'Float',
      description: "The sum of the jobs' chances, as far as they are known; null while none is.",
    }),
    bottleneck: z.string().meta({ description: 'What stands most in the way.' }),
    loads: z.array(ResourceLoad),
    capacity: z.array(CapacityByKind),
    scenarios: z.array(Lever),
    reasons: z.array(z.string()),
  },
  'All jobs against the first snow.',
);

export const planDate = day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' });
