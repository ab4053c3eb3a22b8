/** The records that bear on a choice, put as a question for the threads. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import type { SellingTerms } from '../../engine/price/index.js';
import { currentPlan } from '../../plan/background/current-plan.js';
import { PLAN_SEED } from '../../plan/background/plan-store.js';
import { forNewMachines } from '../../plan/inputs/load-records.js';
import type { PlanRecords } from '../../plan/inputs/records.js';
import { LocalMinutes } from '../../plan/inputs/shop-calendar.js';
import { withHoursAWeek } from '../../plan/model/alternatives.js';
import { withMachine } from '../../plan/simulation/capacity.js';
import { Refused } from '../../platform/errors.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { type BidFacts, effortOf, fallbackOf, unknownFaultsOf } from '../../resale/bid.js';
import { bidRequest } from '../../resale/bid.queries.js';
import { estimateOf, isKnown, type Market } from '../../resale/market.js';
import { readMarket } from '../../resale/market.queries.js';
import { readPricedJobs } from '../../resale/price.queries.js';
import { workerTasks as resaleTasks } from '../../resale/worker-tasks.js';
import { readShop } from '../../shop/shop.queries.js';
import type { PricedMachine } from '../value/machine-value.js';
import type { ScoringQuestion } from '../value/scorer.js';
import { CHOICE_FUTURES } from './choice-search.js';
import type { CandidateGiven } from './choose.shapes.js';

type Given = z.output<typeof CandidateGiven>;

export interface ReadCandidate {
  kind: Given['kind'];
  price: number;
  isAsked: boolean;
  feesPercent: number;
  highestBid: number;
  bid: BidFacts;
}

export interface ReadChoice {
  scoring: ScoringQuestion;
  floorSpace: Record<string, number>;
  local: LocalMinutes;
  /** Of candidates and open jobs, by the id they are scheduled under. */
  titles: Map<string, string>;
  candidates: Map<string, ReadCandidate>;
  jobs: Map<string, { jobNumber: number; jobTitle: string }>;
  reasons: string[];
}

/** Square metres of floor, by kind. Judgement, no source. */
const FLOOR_SPACE: Record<Given['kind'], number> = {
  singleStageThrower: 0.6,
  twoStageThrower: 1.2,
  walkBehindMower: 1,
  other: 1,
};
const KIND_WORDS: Record<Given['kind'], string> = {
  singleStageThrower: 'single-stage thrower',
  twoStageThrower: 'two-stage thrower',
  walkBehindMower: 'mower',
  other: 'machine',
};
const SNOW_KINDS = new Set<string>(['singleStageThrower', 'twoStageThrower']);
/** So much of what is still to be paid for a job may turn out otherwise. Judgement, no source. */
const TO_PAY_SPREAD = 0.3;
/** The parts of a machine are worth this share of what it brings as found. Judgement, no source. */
const PARTS_SHARE = 0.5;

/** Behind all open jobs unless a choice says otherwise. */
const CANDIDATE_PRIORITY = -200_000;

export const candidateId = (index: number): string => `candidate/${String(index + 1).padStart(2, '0')}`;

export async function readChoice(
  context: OperationContext,
  given: readonly Given[],
  { hoursAWeek }: { hoursAWeek: number | null },
): Promise<ReadChoice> {
  const shop = await readShop(context);
  const market = await readMarket(context);
  given.forEach((one, index) => {
    if (isKnown(market, one.kind)) return;
    const kind = KIND_WORDS[one.kind];
    throw new Refused(
      'nothing-to-go-by',
      `Machine ${index + 1}: no comparable of its kind (${kind}) is on record: record what such machines are offered or sold for.`,
    );
  });
  const plan = await currentPlan(context);
  let records = await forNewMachines(context, plan.forecast.records);
  if (hoursAWeek !== null) records = withHoursAWeek(records, hoursAWeek);
  const candidates = new Map<string, ReadCandidate>();
  const machines: PricedMachine[] = [];
  const titles = new Map(records.jobs.map((job) => [job.id, `job ${job.number} (${job.title})`]));
  const jobs = new Map(records.jobs.map((job) => [job.id, { jobNumber: job.number, jobTitle: job.title }]));
  const floorSpace: Record<string, number> = {};
  const withoutRoute = new Set<string>();
  for (const [index, one] of given.entries()) {
    const jobId = candidateId(index);
    const read = await readCandidate(context, one, market);
    if (read.steps.length === 0) withoutRoute.add(KIND_WORDS[one.kind]);
    const title = titleOf(one, index);
    titles.set(jobId, title);
    floorSpace[jobId] = one.floorSpaceSquareMetres ?? FLOOR_SPACE[one.kind];
    records = withMachine(records, read.steps, {
      id: jobId,
      number: 0,
      title,
      priority: CANDIDATE_PRIORITY - index,
      dueDate: null,
      forSnow: SNOW_KINDS.has(one.kind),
    });
    candidates.set(jobId, read.candidate);
    machines.push({ ...read.machine, jobId });
  }
  const open = await openMachines(context, records, market);
  const promised = await context.tx.job.findMany({
    where: { id: { in: [...jobs.keys()] }, promisedDate: { not: null } },
    select: { id: true },
  });
  return {
    scoring: {
      records,
      order: plan.answer.order,
      machines: [...open, ...machines],
      candidateIds: [...candidates.keys()],
      promisedIds: promised.map(({ id }) => id),
      market,
      spacePerDay: Number(shop.spaceCostPerDay),
      hourlyValue: Number(shop.hourlyValue),
      seed: PLAN_SEED,
      futures: CHOICE_FUTURES.race + CHOICE_FUTURES.told,
    },
    floorSpace,
    local: LocalMinutes.of(records.today, records.timeZone),
    titles,
    candidates,
    jobs,
    reasons: [
      ...(withoutRoute.size > 0
        ? [`there is no route for a ${[...withoutRoute].join(' or ')}, so it is taken to need no work`]
        : []),
      ...(open.length < jobs.size
        ? [
            `${jobs.size - open.length} open jobs are not for sale or have no price: they take their time and place and bring nothing`,
          ]
        : []),
    ],
  };
}

const titleOf = ({ title, kind, maker, model }: Given, index: number): string =>
  title ?? `${[maker, model].filter(Boolean).join(' ') || KIND_WORDS[kind]} (${index + 1})`;

async function readCandidate(context: OperationContext, given: Given, market: Market) {
  const { title: _, floorSpaceSquareMetres: __, ...asked } = given;
  const { request, steps } = await bidRequest(context, asked, market);
  // Its own limit, as if it were finished a month from now: what the queue does to it is the plan's to say.
  const bid = await context.compute(
    resaleTasks.bid,
    { ...request, readyDate: soonDate(context.today) },
    context.signal,
  );
  const isAsked = request.askedPrice !== null;
  const price = (request.askedPrice ?? bid.highestBid).toNumber();
  const terms: SellingTerms = {
    tax: market.tax,
    fixedCost: request.sellingCost,
    purchasePrice: new Decimal(price),
  };
  const effort = effortOf(request, estimateOf(market, request.machine, context.today).p50.toNumber());
  const machine: Omit<PricedMachine, 'jobId'> = {
    traits: { ...request.machine, condition: request.machine.condition ?? 4 },
    conditionNow: request.foundCondition,
    terms,
    cash: effort.cash,
    paintCost: 0,
    faults: unknownFaultsOf(request, effort),
    outlay: price * (1 + request.feesPercent / 100) + request.haul.toNumber(),
    fallback: fallbackOf(request, terms),
    partsWorth: fallbackOf(request, terms),
    isFinished: false,
  };
  return {
    steps,
    machine,
    candidate: {
      kind: given.kind,
      price,
      isAsked,
      feesPercent: request.feesPercent,
      highestBid: bid.highestBid.toNumber(),
      bid,
    },
  };
}

const SOON_DAYS = 30;
const soonDate = (today: string): string =>
  new Date(Date.parse(today) + SOON_DAYS * 86_400_000).toISOString().slice(0, 10);

/** The open jobs whose machine is for sale, as the choice takes them. */
async function openMachines(context: OperationContext, records: PlanRecords, market: Market): Promise<PricedMachine[]> {
  const ids = records.jobs.map((job) => job.id).filter((id) => !id.startsWith('candidate/'));
  const open = new Set(records.tasks.filter((task) => !task.finishedAt).map((task) => task.jobId));
  return (await readPricedJobs(context, ids)).flatMap(({ job, paintToPay }): PricedMachine[] => {
    if (!isKnown(market, job.machine.kind)) return [];
    const toPay = job.toPay.toNumber();
    const asFound = estimateOf(market, job.machine, context.today).p50.toNumber();
    return [
      {
        jobId: job.jobId,
        traits: { ...job.machine, condition: job.leavesAs },
        conditionNow: job.machine.condition,
        terms: job.terms,
        cash: { mean: toPay, deviation: TO_PAY_SPREAD * toPay },
        paintCost: paintToPay.toNumber(),
        faults: [],
        outlay: 0,
        fallback: null,
        partsWorth: PARTS_SHARE * asFound,
        isFinished: !open.has(job.jobId),
      },
    ];
  });
}
