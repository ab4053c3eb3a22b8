import { z } from 'zod';
import { MachineKind } from '../intake/intake.shapes.js';
import { day, id, instant, shape } from '../platform/shapes.js';
import { PlaceKind } from '../shop/shop.shapes.js';

const wholeNumber = z.number().int().meta({ scalar: 'Int' });
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
    why: z.string().meta({ description: 'Why it starts when it does.' }),
    waitsForParts: z.array(z.string()).meta({ description: 'The parts it needs and that are not on hand.' }),
    cautions: z.array(z.string()),
  },
  'One task in the plan.',
);

export const JobWait = shape(
  'JobWait',
  { taskId: id, taskName: z.string(), until: day, what: z.string(), kind: z.enum(['part', 'cure', 'recoat', 'weather', 'resource', 'other']).meta({ id: 'WaitKind' }) },
  'What one task of a job waits for, and until when.',
);

export const JobForecast = shape(
  'JobForecast',
  {
    jobId: id,
    jobNumber: wholeNumber,
    jobTitle: z.string(),
    expectedDay: day.nullable().meta({ description: 'Expected completion: median arrivals and hours, one task after another as people and places allow.' }),
    dueDay: day.nullable().meta({ description: 'The day it is promised for, or should be ready for the season.' }),
    daysLate: wholeNumber.nullable().meta({ scalar: 'Int', description: 'Expected day less due day; negative is early.' }),
    chanceBeforeSnow: share.nullable().meta({ scalar: 'Float', description: 'The chance that the first snow comes no earlier than the expected day and the shop\'s margin.' }),
    nextTask: z.string().nullable(),
    remainingHandsOnMinutes: wholeNumber,
    why: z.string().meta({ description: 'What decides the expected day.' }),
    chain: z.array(z.string()).meta({ description: 'The tasks and waits that lead to the end, in words.' }),
    waits: z.array(JobWait),
  },
  'When a job is expected to be finished, and why.',
);

export const Plan = shape(
  'Plan',
  {
    computedAt: instant,
    fingerprint: z.string().meta({ description: 'Of all that the plan was made from: the same records give the same plan.' }),
    engineVersion: z.string(),
    jobs: z.array(JobForecast),
    tasks: z.array(PlannedTask),
  },
  'The shop\'s schedule as its records have it now.',
);

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
    placeKind: PlaceKind.nullable(),
    why: z.string().meta({ description: 'Why this is the time for it.' }),
    prepare: z.array(z.string()).meta({ description: 'What to have ready: parts to pick, coats to bring to temperature.' }),
    cautions: z.array(z.string()),
  },
  'One piece of work on a day.',
);
export const BenchList = shape('BenchList', { day, tasks: z.array(BenchTask), note: z.string().nullable().meta({ description: 'Why there is nothing to do, where there is nothing.' }) }, 'What to work on, on one day.');

export const ResourceLoad = shape(
  'ResourceLoad',
  { resource: z.string(), usedMinutes: wholeNumber, openMinutes: wholeNumber, usedShare: share, waitedMinutes: wholeNumber },
  'How far something the shop has is used until the season, and how long tasks wait for it.',
);
export const CapacityByKind = shape(
  'CapacityByKind',
  { kind: MachineKind, routeName: z.string(), moreThatFit: wholeNumber, lastFinishedOn: day.nullable(), nextWouldFinishOn: day.nullable() },
  'How many more machines of a kind, begun today behind all that is open, would be finished in time.',
);
export const Lever = shape('Lever', { change: z.string(), moreThatFit: wholeNumber, gained: wholeNumber }, 'What a change would do to the number that fit.');

export const JobReadiness = shape(
  'JobReadiness',
  { jobId: id, jobNumber: wholeNumber, jobTitle: z.string(), expectedDay: day.nullable(), ready: z.boolean(), chance: share.nullable(), daysToSpare: wholeNumber.nullable(), why: z.string() },
  'One job against the season.',
);
export const Readiness = shape(
  'Readiness',
  {
    asOf: day,
    season: z.string().nullable(),
    thresholdMillimetres: share,
    marginDays: wholeNumber,
    firstSnowMedian: day.nullable(),
    firstSnowEarly: day.nullable().meta({ description: 'Snow has come by this day in one season of ten.' }),
    firstSnowLate: day.nullable().meta({ description: 'Snow has come by this day in nine seasons of ten.' }),
    readyBy: day.nullable().meta({ description: 'The median first snow less the margin.' }),
    jobs: z.array(JobReadiness),
    readyCount: wholeNumber,
    expectedReady: share.meta({ scalar: 'Float', description: 'The sum of the jobs\' chances.' }),
    binds: z.string().meta({ description: 'What stands most in the way.' }),
    loads: z.array(ResourceLoad),
    capacity: z.array(CapacityByKind),
    levers: z.array(Lever),
    why: z.array(z.string()),
  },
  'All jobs against the first snow.',
);

export const planDay = day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' });
