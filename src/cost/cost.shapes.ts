import { z } from 'zod';
import { day, id, money, priced, shape, wholeNumber } from '../platform/shapes.js';

const percent = z.number().nullable().meta({ scalar: 'Float' });

export const CostRange = shape(
  'CostRange',
  { low: money, likely: money, high: money },
  'An amount not yet certain: one in ten below low, one in ten above high.',
);

export const CostEstimateToComplete = shape(
  'CostEstimateToComplete',
  {
    labour: money,
    parts: money.meta({ scalar: 'Money', description: 'Needed and not charged yet, as far as a price is known.' }),
    paint: money.meta({
      scalar: 'Money',
      description:
        'For the coats to come, where a coating system of the shop tells what they are of, on the areas that such a machine roughly has.',
    }),
    space: money.meta({
      scalar: 'Money',
      description: 'From today to the day on which it is expected to be finished.',
    }),
    surprises: money.meta({
      scalar: 'Money',
      description:
        'What late surprises add to the likely amounts on balance: spent, the amounts above and this add up to the likely estimate.',
    }),
    committed: money.meta({
      scalar: 'Money',
      description: 'Of the parts: ordered and not received, so owed already.',
    }),
  },
  'What a job is still likely to cost until it is finished.',
);

export const FirstCostEstimate = shape(
  'FirstCostEstimate',
  { estimatedDate: day, total: CostRange },
  'What a job was first estimated to cost in the end.',
);
export const CostVariance = shape(
  'CostVariance',
  {
    purchase: money,
    labour: money.meta({ scalar: 'Money', description: 'Hours of the tasks that there were then.' }),
    parts: money,
    paint: money.meta({ scalar: 'Money', description: 'And other consumables.' }),
    space: money,
    other: money.meta({ scalar: 'Money', description: 'Selling among it.' }),
    surprises: money,
    foundWork: money.meta({
      scalar: 'Money',
      description: 'Hours of tasks added since, and parts charged to them.',
    }),
    total: money,
  },
  'The estimate as it is now, less the first one, by cause; the causes add up to the total.',
);

export const JobCost = shape(
  'JobCost',
  {
    jobId: id,
    purchase: priced.meta({
      priced: true,
      description:
        "The machine's share of its acquisition, price, haul and fees; nothing on a " +
        'later job of the machine, since the first one bears it.',
    }),
    harvested: priced.meta({ priced: true, description: 'Basis that went over to parts taken off it.' }),
    parts: priced,
    consumables: priced,
    selling: priced,
    other: priced,
    refunds: priced,
    cashCost: priced.meta({
      priced: true,
      description:
        'What has been paid for it: purchase less harvested, parts, consumables, selling, other, less refunds.',
    }),
    labourMinutes: wholeNumber,
    labour: priced.meta({ priced: true, description: "The minutes at the shop's hourly value." }),
    spaceDays: wholeNumber,
    space: priced.meta({ priced: true, description: 'The days it has stood in the shop at what a day costs.' }),
    fullCost: priced,
    remainingLabourMinutes: wholeNumber.meta({
      scalar: 'Int',
      description: 'Of all people together, less what was worked on tasks that are begun.',
    }),
    estimateToComplete: CostEstimateToComplete.nullable().meta({
      description: 'What is still likely to come; why says what is not counted. Null for keys that may not see prices.',
    }),
    estimateAtCompletion: CostRange.nullable().meta({
      description: 'Full cost when it is finished; null for keys that may not see prices.',
    }),
    firstEstimate: FirstCostEstimate.nullable(),
    variance: CostVariance.nullable(),
    salePrice: priced,
    customerRefundTotal: priced.meta({ priced: true, description: "Of the sale's price, paid back to the buyer." }),
    taxDue: priced.meta({ priced: true, description: 'On what the buyer finally paid.' }),
    cashMargin: priced.meta({
      priced: true,
      description:
        'What the sale left after tax and refunds, less what was paid for the job; of a warranty job, which brings nothing, what it cost.',
    }),
    warrantyCost: priced.meta({
      priced: true,
      description: 'Paid for work under warranty since the sale, which stands on jobs of its own.',
    }),
    cashMarginAfterWarranty: priced,
    fullMargin: priced,
    marginPercentOfPrice: percent.meta({ description: 'Full margin over what the sale left after tax.' }),
    markupPercentOnCost: percent.meta({ description: 'Full margin over full cost.' }),
    gainOnPurchase: priced.meta({
      priced: true,
      description:
        "What the sale left after tax, less the machine's purchase without what was harvested, whichever of " +
        'its jobs bore it: what it brought against what it was bought for, all work left aside.',
    }),
    earningsPerHour: priced.meta({ priced: true, description: 'Cash margin over the hours worked.' }),
    reasons: z.array(z.string()),
  },
  'What a job has cost, will have cost, and has earned.',
);
