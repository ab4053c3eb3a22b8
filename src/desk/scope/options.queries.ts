/** How far a job may go, compared; and what is worth taking off a machine that is taken apart. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { jobCosts } from '../../cost/cost.queries.js';
import { type JobScope, jobScopes } from '../../engine/diagnosis/index.js';
import { labourValue } from '../../engine/money/index.js';
import { DomainError } from '../../platform/errors.js';
import { toDecimal } from '../../platform/money.js';
import { triedOut } from '../../platform/operation/execute.js';
import { everyone, type OperationContext, query, workers } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { id, priced, shape, wholeNumber } from '../../platform/shapes.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { readShop } from '../../shop/shop.queries.js';
import { lockOpenJob } from '../../work/jobs.js';
import { chooseScope } from './choose-scope.js';
import { type HarvestItem, harvestList } from './harvest-list.js';
import { ScopeOptions } from './scope.shapes.js';

const HarvestEntry = shape(
  'HarvestEntry',
  {
    partId: id,
    partName: z.string(),
    quantity: z.number(),
    neededOnJobs: z.number(),
    shortInBins: z.number(),
    usedInAYear: z.number(),
    takeMinutes: wholeNumber.meta({ scalar: 'Int', description: 'To take it off, with what must come off first.' }),
    unitValue: priced,
    value: priced,
    reasons: z.array(z.string()),
  },
  'A part worth taking off, and why.',
);
export const HarvestList = shape(
  'HarvestList',
  {
    machineId: id,
    parts: z.array(HarvestEntry).meta({ description: 'The most wanted first.' }),
    takeMinutes: wholeNumber,
    value: priced,
    remainder: z.string().meta({ description: 'What becomes of the rest.' }),
  },
  'What to take off a machine before the rest is scrap.',
);

const minutesOf = (items: readonly HarvestItem[]): number => items.reduce((sum, one) => sum + one.takeMinutes, 0);
const valueOf = (items: readonly HarvestItem[]): Decimal => Decimal.sum(0, ...items.map((one) => one.value ?? 0));

type Option = {
  scope: JobScope;
  chosen: boolean;
  expectedDate: string | null;
  handsOnMinutes: number;
  cost: Decimal | null;
  estimateToComplete: Decimal | null;
  brings: Decimal | null;
  margin: Decimal | null;
  reasons: string[];
};

async function optionsFor(context: OperationContext, jobId: string) {
  const job = await lockOpenJob(context, jobId);
  const findings = await context.tx.finding.findMany({
    where: {
      jobId,
      archivedAt: null,
      verdict: { in: ['repair', 'replace'] },
      OR: [{ decision: null }, { decision: 'accepted' }],
    },
    select: { id: true },
    orderBy: [{ foundDate: 'asc' }, { id: 'asc' }],
  });
  const options: Option[] = [];
  for (const scope of jobScopes) {
    if (scope === 'mendOneFault' && findings.length === 0) continue;
    try {
      options.push(
        await triedOut(context, () =>
          optionOf(
            context,
            jobId,
            scope,
            job.scope,
            findings.map((one) => one.id),
          ),
        ),
      );
    } catch (error) {
      // A scope that this job cannot have, such as to sell a machine under warranty, is no option.
      if (!(error instanceof DomainError)) throw error;
    }
  }
  const best = options.reduce<{ scope: JobScope; margin: Decimal } | null>(
    (most, { scope, margin }) => (margin && (!most || margin.greaterThan(most.margin)) ? { scope, margin } : most),
    null,
  );
  return {
    jobId,
    best: best?.scope ?? null,
    options,
    reasons: [
      ...(best
        ? [`from here on, ${words[best.scope]} leaves most: ${best.margin.toFixed()}`]
        : ['nothing speaks for a price of such a machine: record comparables']),
      'what was spent is spent: only what is still to come is set against what it brings; own hours count at the shop’s value of an hour',
    ],
  };
}

const words: Record<JobScope, string> = {
  full: 'full restoration',
  mechanical: 'mending it and leaving the paint',
  mendOneFault: 'mending what was found',
  sellAsFound: 'selling it as found',
  stripForParts: 'taking it apart for its parts',
};

async function optionOf(
  context: OperationContext,
  jobId: string,
  scope: JobScope,
  now: JobScope,
  findingIds: string[],
): Promise<Option> {
  if (scope !== now)
    await chooseScope(context, {
      id: jobId,
      scope,
      ...(scope === 'mendOneFault' ? { findingIds: findingIds.slice(0, 20) } : {}),
    });
  const completions = await context.expectedCompletions();
  const days = new Map([...completions].map(([id, one]) => [id, one.day]));
  const [cost] = await jobCosts(context, [jobId], days);
  const job = await findOne(context.tx.job, 'job', jobId, { machine: true });
  const base = {
    scope,
    chosen: scope === now,
    expectedDate: days.get(jobId) ?? null,
    handsOnMinutes: cost?.remainingMinutes ?? 0,
    cost: cost?.estimate.p50 ?? null,
    estimateToComplete: cost ? cost.estimate.p50.minus(cost.statement.fullCost) : null,
  };
  if (scope === 'stripForParts') {
    const items = await harvestList(context, job.machine);
    const { hourlyValue } = await readShop(context);
    const minutes = minutesOf(items);
    const estimateToComplete = labourValue(minutes, toDecimal(hourlyValue), context.shop.currency);
    const brings = valueOf(items);
    return {
      ...base,
      handsOnMinutes: minutes,
      estimateToComplete,
      brings,
      margin: brings.minus(estimateToComplete),
      reasons: [
        items.length > 0
          ? `${items.length} parts are worth taking: ${items
              .slice(0, 4)
              .map((one) => one.partName)
              .join(', ')}`
          : 'nothing on it is needed: no open job, bin or past use asks for a part of it',
        'the metal is not counted',
      ],
    };
  }
  const advice = (await priceAdviceFor(context, [jobId], days)).get(jobId);
  return {
    ...base,
    brings: advice?.expectedNet ?? null,
    margin: advice && base.estimateToComplete ? advice.expectedNet.minus(base.estimateToComplete) : null,
    reasons: advice
      ? [
          `it should bring ${advice.expected.likely.toFixed()} about ${advice.expectedDate}, after selling ${advice.expectedNet.toFixed()}`,
        ]
      : ['nothing speaks for a price of it'],
  };
}

export const scopeOptionQueries = [
  query({
    name: 'scopeOptions',
    slow: true,
    trial: true,
    summary:
      'How far a job may go, compared from here on: date, hours, what it costs and brings; whether repair still pays',
    roles: workers,
    rest: { method: 'GET', path: '/jobs/:id/scope-options' },
    input: z.strictObject({ id }),
    output: ScopeOptions,
    run: (context, { id: jobId }) => optionsFor(context, jobId),
  }),
  query({
    name: 'harvestList',
    summary: 'What to take off a machine before the rest is scrap, by what open jobs, bins and past use need',
    roles: everyone,
    rest: { method: 'GET', path: '/machines/:id/harvest-list' },
    input: z.strictObject({ id }),
    output: HarvestList,
    async run(context, { id: machineId }) {
      const items = await harvestList(context, await findOne(context.tx.machine, 'machine', machineId));
      return {
        machineId,
        parts: items,
        takeMinutes: minutesOf(items),
        value: valueOf(items),
        remainder: 'What is left goes to the scrap dealer: drain fuel and oil first, and record the scrap sale.',
      };
    },
  }),
];
