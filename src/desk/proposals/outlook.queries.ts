/** A worn component looked ahead: the life left, and whether to replace it now or leave it for the coming season. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { likelyPrices } from '../../cost/remaining.queries.js';
import { treeOf } from '../../diagnosis/components/index.js';
import { Finding } from '../../diagnosis/diagnosis.shapes.js';
import { likelyParts } from '../../diagnosis/proposals/likely-part.js';
import { loadFoundOnJobs } from '../../diagnosis/proposals/load-job.js';
import { lifeWords } from '../../diagnosis/wear.js';
import { outlooksOf } from '../../diagnosis/wear.queries.js';
import {
  accessFor,
  isApart,
  type Proposal,
  proposalsOf,
  replaceOrLeave,
  sharedAccess,
} from '../../engine/diagnosis/index.js';
import { roundAmount } from '../../engine/money/index.js';
import { NotFound, Refused } from '../../platform/errors.js';
import { checkAmount, toDecimal } from '../../platform/money.js';
import { computed, type OperationContext, query } from '../../platform/operation/operation.js';
import { amount, choice, day, id, priced, shape, wholeNumber } from '../../platform/shapes.js';
import { readShop } from '../../shop/shop.queries.js';

const seasons = z.number().nullable().meta({ scalar: 'Float' });
const WearOutlook = shape(
  'WearOutlook',
  {
    findingId: id,
    component: z.string(),
    unit: z.string(),
    limit: z.number(),
    readings: z.array(shape('WearReading', { date: day, value: z.number() })),
    left: z
      .number()
      .meta({ scalar: 'Float', description: 'Between the last reading and the limit; below zero when past it.' }),
    perSeason: z.number().meta({ scalar: 'Float', description: 'What a season takes off.' }),
    seasonsLeft: shape(
      'SeasonsLeft',
      { low: seasons, likely: seasons, high: seasons },
      'One in ten below low, one in ten above high; null where no end is in sight.',
    ),
    probabilityPastLimit: z
      .number()
      .meta({ scalar: 'Float', description: 'That it is past its limit before the coming season is over.' }),
    probabilityOfFailure: z.number().meta({ scalar: 'Float', description: 'That it fails in the coming season.' }),
    replaceOrLeave: shape(
      'ReplaceOrLeave',
      {
        decision: choice('ReplaceDecision', ['replaceNow', 'leave']),
        minutesNow: wholeNumber.meta({ scalar: 'Int', description: 'To replace it with the machine apart as it is.' }),
        minutesLater: wholeNumber.meta({ scalar: 'Int', description: 'To replace it once the machine is together.' }),
        partCost: priced,
        costNow: priced,
        costOfLeaving: priced.meta({ priced: true, description: 'Expected, over the coming season.' }),
        breakEvenProbability: z.number().nullable().meta({
          scalar: 'Float',
          description: 'The probability of failure at which both cost the same; null where leaving is always cheaper.',
        }),
      },
      'Replace it now, or leave it and perhaps come back.',
    )
      .nullable()
      .meta({ description: 'Null where no price of the part is known or given.' }),
    reasons: z.array(z.string()),
  },
  'How long a worn component still serves, from its readings.',
);

/** A part past its limit that nothing is known of fails in a season as often as not; one within it hardly ever. Judgement, no source. */
const FAILS_PAST_LIMIT = 0.5;
const FAILS_WITHIN = 0.02;
const FAILURE_MINUTES = 60;

/** To thousandths: no reading is finer. */
function rounded(value: number): number;
function rounded(value: number | null): number | null;
function rounded(value: number | null): number | null {
  return value === null ? null : Math.round(value * 1000) / 1000;
}

interface Given {
  partCost?: string | null | undefined;
  costOfFailure?: string | null | undefined;
}

async function outlookFor(context: OperationContext, findingId: string, given: Given) {
  const finding = await context.tx.finding.findFirst({ where: { id: findingId }, include: { machine: true } });
  if (!finding) throw new NotFound('finding', findingId);
  const outlook = (await outlooksOf(context, finding.machine.kind, [finding])).get(findingId);
  if (!outlook || typeof outlook === 'string') throw new Refused('too-little-known', outlook ?? 'It was not measured.');
  const tree = treeOf(finding.machine.kind);
  const component = tree.get(finding.componentCode);
  const past = outlook.projection.probabilityPastLimit(1);
  const fails = component?.wear?.probabilityOfFailure ?? FAILS_PAST_LIMIT;
  const probabilityOfFailure = past * fails + (1 - past) * FAILS_WITHIN;
  const { hourlyValue } = await readShop(context);
  const hours = toDecimal(hourlyValue);
  const { now, later } = await minutesOf(context, finding, tree);
  const [part] = await likelyParts(context, [{ ...finding, machine: finding.machine }]);
  const cost = given.partCost
    ? checkAmount(given.partCost, context.shop.currency, '/partCost')
    : part && (await likelyPrices(context, [part.partId])).get(part.partId)?.times(part.quantity);
  const failureMinutes = component?.wear?.failureMinutes ?? FAILURE_MINUTES;
  const costOfFailure = given.costOfFailure
    ? checkAmount(given.costOfFailure, context.shop.currency, '/costOfFailure')
    : hours.times(failureMinutes).div(60);
  const answer = cost
    ? replaceOrLeave({
        partCost: cost,
        hourlyValue: hours,
        minutesNow: now,
        minutesLater: later,
        probabilityOfFailure,
        costOfFailure,
      })
    : null;
  const money = (value: Decimal): Decimal => roundAmount(value, context.shop.currency);
  const { projection } = outlook;
  return {
    findingId,
    component: finding.component,
    unit: outlook.unit,
    limit: outlook.limit,
    readings: outlook.readings,
    left: rounded(projection.left),
    perSeason: rounded(projection.perSeason),
    seasonsLeft: {
      low: rounded(projection.seasonsLeft.low),
      likely: rounded(projection.seasonsLeft.likely),
      high: rounded(projection.seasonsLeft.high),
    },
    probabilityPastLimit: rounded(past),
    probabilityOfFailure: rounded(probabilityOfFailure),
    replaceOrLeave:
      answer && cost
        ? {
            decision: answer.decision,
            minutesNow: now,
            minutesLater: later,
            partCost: money(cost),
            costNow: money(answer.costNow),
            costOfLeaving: money(answer.costOfLeaving),
            breakEvenProbability: Number.isFinite(answer.breakEvenProbability)
              ? rounded(answer.breakEvenProbability)
              : null,
          }
        : null,
    reasons: [
      lifeWords(projection),
      ...outlook.reasons,
      `past its limit such a part fails in a season ${Math.round(100 * fails)} times in a hundred, ` +
        `within it ${Math.round(100 * FAILS_WITHIN)}: judgements, no source`,
      ...(part ? [part.reason] : []),
      ...(answer ? [] : ['no price of the part is known: give partCost to compare replacing it now with leaving it']),
    ],
  };
}

/** Minutes to replace it as the machine stands, beside what is planned on it, and once it is together. */
async function minutesOf(
  context: OperationContext,
  finding: {
    id: string;
    jobId: string | null;
    componentCode: string | null;
    component: string;
    position: Proposal['position'];
  },
  tree: ReturnType<typeof treeOf>,
): Promise<{ now: number; later: number }> {
  const reach = accessFor(tree, [finding.componentCode]);
  const [loaded] = finding.jobId ? await loadFoundOnJobs(context, [finding.jobId]) : [];
  const as = (job: NonNullable<typeof loaded>['job']) => ({
    ...job,
    findings: [
      ...job.findings.filter((one) => one.decision !== null),
      {
        ...finding,
        id: 'asked',
        verdict: 'replace' as const,
        rustGrade: null,
        foundDate: context.today,
        decision: null,
        taskIds: [],
      },
    ],
  });
  const knowledge = loaded?.knowledge ?? { tree, past: [], route: [] };
  const job = as(loaded?.job ?? { tasks: [], links: [], takenCodes: [], findings: [], paints: false });
  const asked = proposalsOf({ ...job, tasks: [] }, knowledge).find((one) => one.findingIds.includes('asked'));
  const own = asked?.minutes.likely ?? 0;
  const open = asked ? sharedAccess(job, [asked], knowledge) : { takeMinutes: 0, refitMinutes: 0 };
  return {
    now: own + (isApart(job) ? 0 : open.takeMinutes + open.refitMinutes),
    later: own + reach.takeMinutes + reach.refitMinutes,
  };
}

export const outlookOperations = [
  query({
    name: 'findingWear',
    summary: 'How long a worn component still serves, and whether to replace it now or leave it for the coming season',
    rest: { method: 'GET', path: '/findings/:id/wear' },
    input: z.strictObject({
      id,
      partCost: amount
        .nullish()
        .meta({ scalar: 'Money', description: 'What the part costs, where it is known better.' }),
      costOfFailure: amount.nullish().meta({
        scalar: 'Money',
        description: 'What a failure in season costs beside part and hours; the own trip unless said.',
      }),
    }),
    output: WearOutlook,
    run: (context, { id: findingId, ...given }) => outlookFor(context, findingId, given),
  }),
];

export const outlookRelations = [
  computed({
    on: Finding,
    field: 'wear',
    to: WearOutlook,
    description: 'How long it still serves; null where too little is known.',
    async compute(context, findings) {
      const answers: (Awaited<ReturnType<typeof outlookFor>> | null)[] = [];
      for (const finding of findings)
        answers.push(
          finding.measuredValue === null
            ? null
            : await outlookFor(context, finding.id, {}).catch((error: unknown) => {
                if (error instanceof Refused) return null;
                throw error;
              }),
        );
      return answers;
    },
  }),
];
