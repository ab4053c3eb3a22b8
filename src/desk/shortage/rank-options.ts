/** The ways out of a shortage, each tried out in memory and ranked; nothing is written. */
import { Decimal } from 'decimal.js';
import { rankShortageOptions } from '../../engine/arrival/index.js';
import { minutesInWords } from '../../engine/durations.js';
import { at, lookUp } from '../../engine/look-up.js';
import { forecast, forecastOf, scheduled } from '../../plan/background/schedule-now.js';
import type { AwaitedPart, PlanRecords } from '../../plan/inputs/records.js';
import { probabilityReady, seasonEndDate } from '../../plan/inputs/what-counts-as-ready.js';
import { completionsOf, type ScheduledRecords } from '../../plan/model/scheduled-records.js';
import type { CompletionEffect } from '../../platform/completion/completion-effects.shapes.js';
import { addDays, daysBetween } from '../../platform/days.js';
import { type ExpectedCompletion } from '../../platform/operation/expected-completion.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { snowOutlook } from '../../season/first-snow.queries.js';
import { readShop } from '../../shop/shop.queries.js';
import { type Candidate, candidatesFor, type Shortage, shortageOf, type Wanted } from './candidates.js';
import { withOption } from './option-records.js';

type Completions = ReadonlyMap<string, ExpectedCompletion>;

export async function shortageOptions(context: OperationContext, orderLineId: string, wanted: Wanted) {
  const shortage = await shortageOf(context, orderLineId);
  const jobId = at(shortage.needs, 0).task.job.id;
  const outlook = await snowOutlook(context);
  const shop = await readShop(context);
  const season = {
    marginDays: shop.readinessMarginDays,
    endDate: seasonEndDate(outlook, context.today, shop.seasonEndMonthDay),
  };
  const now = await forecast(context);
  const before = completionsOf(now);
  const waits = await ifLate(context, now, shortage);
  const probability = (completions: Completions) =>
    probabilityReady(outlook, completions.get(jobId)?.day ?? null, season);
  const candidates = [...(await candidatesFor(context, shortage, wanted))];
  const waiting = at(candidates, candidates.length - 1);
  candidates.splice(-1, 0, resequence(now, shortage, waiting));
  const trial = new Trial(context, now.records, shortage, before, wanted);
  const options = [];
  for (const candidate of candidates) {
    const tried = await trial.outcomeOf(candidate);
    const then = tried?.ifLate ?? waits;
    const alreadyPlanned = candidate.kind === 'resequence' && candidate.allowed;
    const effects =
      alreadyPlanned && waiting.arrivalDate
        ? await againstIdling(context, now, before, waiting.arrivalDate)
        : (tried?.effects ?? []);
    options.push({
      ...candidate,
      arrivalDate: tried?.finishedDate ?? candidate.arrivalDate,
      outlay: inBins.has(candidate.kind) ? new Decimal(0) : candidate.cost,
      alreadyPlanned,
      effects,
      probabilityReadyBefore: probability(waits),
      probabilityReadyAfter: probability(then),
      readiness: probability(then),
      completionDays: effects.reduce((sum, effect) => sum + (effect.days ?? 0), 0),
      ...whereLate(waits, then),
    });
  }
  const ranked = rankShortageOptions(options, { arrivalDate: waiting.arrivalDate, readiness: probability(waits) });
  // Only the keys that see prices are told in words what an option costs.
  const told = ranked.map((one) =>
    context.role === 'helper'
      ? { ...one, rankReasons: one.rankReasons.filter((reason) => !/^It costs? /.test(reason)) }
      : one,
  );
  return { orderLineId, quantityMissing: shortage.quantity, needs: shortage.needs, options: told };
}

/** Paid for already. */
const inBins: ReadonlySet<Candidate['kind']> = new Set(['stock', 'interchange', 'equivalentFastener']);

/**
 * How the jobs end where what is waited for comes as late as it does one time in five: whoever waits bears that risk, and
 * whoever takes what lies at hand does not, though the median days of the two may be the same.
 */
async function ifLate(context: OperationContext, made: ScheduledRecords, { needs }: Shortage): Promise<Completions> {
  const late = new Set(needs.map((need) => need.taskId));
  const { records, schedule } = made;
  if (!records.tasks.some((task) => late.has(task.id) && task.awaited.length > 0)) return completionsOf(made);
  const tasks = records.tasks.map((task) =>
    late.has(task.id)
      ? { ...task, awaited: task.awaited.map((part) => ({ ...part, expectedDate: lateDay(records.today, part) })) }
      : task,
  );
  return completionsOf(await scheduled(context, { ...records, tasks }, schedule.order));
}

const SAFE = 0.8;
const lateDay = (today: string, { arrivalOffsets }: AwaitedPart): string =>
  addDays(today, at(arrivalOffsets, Math.min(Math.floor(arrivalOffsets.length * SAFE), arrivalOffsets.length - 1)));

/** Days moved of the jobs that have a day both ways, and how many more have one. */
function whereLate(before: Completions, after: Completions): { lateDays: number; jobsGained: number } {
  let lateDays = 0;
  let jobsGained = 0;
  for (const [jobId, { day }] of after) {
    const earlier = before.get(jobId)?.day ?? null;
    if (earlier !== null && day !== null) lateDays += daysBetween(earlier, day);
    jobsGained += Number(day !== null) - Number(earlier !== null);
  }
  return { lateDays, jobsGained };
}

/** What comes of an option: against waiting at median arrivals, and where arrivals are late. */
interface Outcome {
  effects: CompletionEffect[];
  ifLate: Completions;
  /** Of parts that are made here: the day on which the last of them is. */
  finishedDate: string | null;
}

/** What taking options would do to completion: the plan of the records as they would then be. */
class Trial {
  /** Whatever puts the parts into a bin today moves the plan alike: it is planned once. */
  private atHand: Outcome | null = null;

  constructor(
    private readonly context: OperationContext,
    private readonly records: PlanRecords,
    private readonly shortage: Shortage,
    private readonly before: Completions,
    private readonly wanted: Wanted,
  ) {}

  /** Null for what changes nothing. */
  async outcomeOf(option: Candidate): Promise<Outcome | null> {
    if (!option.allowed || option.kind === 'wait' || option.kind === 'resequence') return null;
    const isAtHand = option.kind !== 'otherSupplier' && option.kind !== 'rework';
    if (isAtHand && this.atHand) return this.atHand;
    const { records, taskIds } = withOption(this.records, this.shortage, option, this.wanted);
    const after = await forecastOf(this.context, records);
    const outcome = {
      effects: differences(this.before, completionsOf(after)),
      ifLate: await ifLate(this.context, after, this.shortage),
      finishedDate: taskIds.length > 0 ? lastDayOf(after, taskIds) : null,
    };
    if (isAtHand) this.atHand = outcome;
    return outcome;
  }
}

function lastDayOf({ schedule, built }: ScheduledRecords, taskIds: readonly string[]): string | null {
  const tasks = schedule.tasks.filter((task) => taskIds.includes(task.id));
  return tasks.length < taskIds.length ? null : built.local.dayOf(Math.max(...tasks.map((task) => task.finishMinutes)));
}

function differences(before: Completions, after: Completions): CompletionEffect[] {
  return [...after].flatMap(([jobId, now]) => {
    const earlier = before.get(jobId)?.day ?? null;
    if (earlier === now.day) return [];
    const days = earlier && now.day ? daysBetween(earlier, now.day) : null;
    return [
      {
        jobId,
        jobNumber: now.number,
        jobTitle: now.title,
        before: earlier,
        after: now.day,
        days,
        reasons: now.reasons,
      },
    ];
  });
}

/** How many tasks are named; more would be read by nobody. */
const TASKS_NAMED = 5;

/** What the plan does first while the part is on its way: it needs no taking, for the plan does so already. */
function resequence(
  { schedule, built, naming, records }: ScheduledRecords,
  { needs }: Shortage,
  { arrivalDate, partId, partName }: Candidate,
): Candidate {
  const option: Candidate = {
    kind: 'resequence',
    allowed: false,
    reasons: [],
    partId,
    partName,
    stockId: null,
    machineId: null,
    supplierId: null,
    arrivalDate,
    cost: new Decimal(0),
  };
  if (arrivalDate === null) return { ...option, reasons: ['Nobody knows how long there is to bridge.'] };
  if (arrivalDate <= records.today)
    return { ...option, reasons: ['The parts are expected today: there is nothing to bridge.'] };
  const held = new Set(needs.map((need) => need.taskId));
  const first = schedule.tasks
    .filter(
      (task) =>
        !task.fixed &&
        naming.tasks.has(task.id) &&
        !held.has(task.id) &&
        built.local.dayOf(task.startMinutes) < arrivalDate,
    )
    .sort((a, b) => a.startMinutes - b.startMinutes);
  if (first.length === 0) return { ...option, reasons: [`No other task can be done before ${arrivalDate}.`] };
  const minutes = first.reduce((sum, task) => sum + lookUp(naming.tasks, task.id).handsOnMinutes, 0);
  const named = first
    .slice(0, TASKS_NAMED)
    .map((task) => `"${lookUp(naming.tasks, task.id).name}" on job ${lookUp(naming.tasks, task.id).jobNumber}`);
  const rest = first.length - named.length;
  return {
    ...option,
    allowed: true,
    reasons: [
      `Before ${arrivalDate} there ${first.length === 1 ? 'is 1 task' : `are ${first.length} tasks`} of ` +
        `${minutesInWords(minutes)} that wait for none of these parts: ` +
        `${named.join(', ')}${rest > 0 ? ` and ${rest} more` : ''}.`,
      'The plan does them in this order already, so nothing is to be taken; the ' +
        'effects are told against nobody working until the parts come.',
    ],
  };
}

/** How the jobs end, against a shop that stands idle until the parts come. */
async function againstIdling(
  context: OperationContext,
  { records, schedule }: ScheduledRecords,
  before: Completions,
  arrivalDate: string,
): Promise<CompletionEffect[]> {
  const idle = {
    ...records,
    daysOff: [...records.daysOff, { personId: null, startDate: context.today, endDate: addDays(arrivalDate, -1) }],
  };
  return differences(completionsOf(await scheduled(context, idle, schedule.order)), before);
}
