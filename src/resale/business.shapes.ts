import { z } from 'zod';
import { AcquisitionSource, MachineKind } from '../machines/machines.shapes.js';
import { choice, day, money, shape, wholeNumber } from '../platform/shapes.js';

export const StockAge = shape(
  'StockAge',
  {
    minDays: wholeNumber,
    maxDays: wholeNumber.nullable(),
    machines: wholeNumber,
    amount: money.meta({ scalar: 'Money', description: 'What has been paid for them so far.' }),
  },
  'Machines in the shop by the days since they came in.',
);
export const TiedUp = shape(
  'TiedUp',
  {
    machines: wholeNumber,
    machinesAmount: money,
    byAge: z.array(StockAge),
    partsAmount: money.meta({ scalar: 'Money', description: 'Parts in bins at what they cost.' }),
    depositsHeld: money.meta({ scalar: 'Money', description: "Buyers' deposits: money here that is not the shop's." }),
    keptMachines: wholeNumber,
    keptAmount: money.meta({
      scalar: 'Money',
      description: 'Machines the owner keeps: they have left the trading stock at cost.',
    }),
  },
  'What is tied up, today.',
);

const margins = {
  machines: wholeNumber.meta({ scalar: 'Int', description: 'Sold and not brought back.' }),
  netProceeds: money.meta({ scalar: 'Money', description: 'After tax and money paid back.' }),
  cashCost: money,
  cashMargin: money,
  fullMargin: money.meta({ scalar: 'Money', description: 'With own hours and space counted.' }),
  ownHours: z.number().meta({ scalar: 'Float' }),
  earningsPerHour: money.nullable().meta({ scalar: 'Money', description: 'Cash margin over own hours.' }),
};
export const MonthMargin = shape('MonthMargin', { month: z.string(), ...margins }, 'By month of the sale, YYYY-MM.');
export const KindMargin = shape(
  'KindMargin',
  {
    kind: MachineKind,
    ...margins,
    expectedMachines: wholeNumber.meta({ scalar: 'Int', description: 'In the shop and priced.' }),
    expectedMargin: money.meta({
      scalar: 'Money',
      description: 'That they are expected to leave, with hours and space counted.',
    }),
  },
  'By kind of machine: which kinds are worth buying.',
);
export const SourceMargin = shape(
  'SourceMargin',
  { source: AcquisitionSource.nullable(), ...margins },
  'By where they came from.',
);
export const TaxSchemeName = choice('TaxSchemeName', ['none', 'salesTax', 'marginScheme']);
export const TaxTotals = shape(
  'TaxTotals',
  {
    scheme: TaxSchemeName,
    sales: wholeNumber,
    salesAmount: money.meta({ scalar: 'Money', description: 'Agreed prices less what was paid back.' }),
    taxAmount: money.meta({ scalar: 'Money', description: 'As booked with each sale.' }),
    purchasesAmount: money.meta({
      scalar: 'Money',
      description:
        'What machines acquired in the period were bought for, without haul and fees; those that the owner keeps are left out.',
    }),
  },
  'The sales of a period under one tax scheme. It helps to fill in a return and is no advice: ask the authority or an accountant.',
);

export const ExpectedMargin = shape(
  'ExpectedMargin',
  {
    kind: MachineKind,
    source: AcquisitionSource.nullable(),
    month: z.string().meta({ description: 'YYYY-MM in which it is as likely sold as not.' }),
    machines: wholeNumber,
    margin: money.meta({ scalar: 'Money', description: 'Expected, with hours and space counted.' }),
  },
  'What the machines in the shop are expected to leave.',
);
const ratio = z.number().nullable().meta({ scalar: 'Float' });
export const ReturnOnMachines = shape(
  'ReturnOnMachines',
  {
    openingAmount: money.meta({ scalar: 'Money', description: 'Paid for machines in the shop before the first day.' }),
    closingAmount: money,
    marginPercent: ratio.meta({ scalar: 'Float', description: 'Cash margin over what sales left after tax.' }),
    turnover: ratio.meta({ scalar: 'Float', description: 'What sales left over the mean of the money tied up.' }),
    returnPercent: ratio.meta({
      scalar: 'Float',
      description: 'Cash margin over the mean of the money tied up; null without sales or machines.',
    }),
  },
  'What the money tied up in machines has earned: margin times turnover.',
);

export const BusinessReport = shape(
  'BusinessReport',
  {
    from: day,
    to: day,
    tiedUp: TiedUp,
    total: shape('MarginTotal', margins, 'Of all sales of the period.'),
    byMonth: z.array(MonthMargin),
    byKind: z.array(KindMargin),
    bySource: z.array(SourceMargin),
    expected: z.array(ExpectedMargin),
    returnOnMachines: ReturnOnMachines,
    withdrawn: shape(
      'WithdrawnMachines',
      { machines: wholeNumber, amount: money },
      'Machines that the owner has taken out of the trading stock in the period, at what they cost.',
    ),
    tax: z.array(TaxTotals),
    reasons: z.array(z.string()),
  },
  'The shop as a business: what is tied up, and what a period earned by month, kind and source.',
);

export const TaxPeriod = shape(
  'TaxPeriod',
  {
    from: day,
    to: day,
    isOver: z.boolean(),
    totals: z.array(TaxTotals),
    openingExcess: money.meta({
      scalar: 'Money',
      description: 'Margin scheme, global accounting: purchases that the periods before had in excess of their sales.',
    }),
    globalMargin: money.meta({ scalar: 'Money', description: 'Sales less purchases and less the opening excess.' }),
    globalMarginTax: money,
    carriedForward: money.meta({ scalar: 'Money', description: 'Excess purchases taken into the next period.' }),
    itemMarginTax: money.meta({
      scalar: 'Money',
      description: 'Margin scheme, item by item: as booked with each sale.',
    }),
    taxDue: money.meta({
      scalar: 'Money',
      description: "Under the shop's settings: sales tax and tax on the margin, by item or by global accounting.",
    }),
    reasons: z.array(z.string()),
  },
  'What a tax period comes to. It helps to fill in a return and is no advice: ask the authority or an accountant.',
);
export const TaxYear = shape(
  'TaxYear',
  { year: wholeNumber, periods: z.array(TaxPeriod) },
  'The tax periods of a year.',
);

export const OverheadReport = shape(
  'OverheadReport',
  {
    from: day,
    to: day,
    machineDays: wholeNumber.meta({ scalar: 'Int', description: 'Days that machines stood in the shop for a job.' }),
    appliedAmount: money.meta({ scalar: 'Money', description: 'Space that was charged to jobs for them.' }),
    actualAmount: money,
    underAppliedAmount: money.meta({
      scalar: 'Money',
      description: 'What the jobs did not bear; below zero where they bore too much.',
    }),
    costPerDay: money.nullable().meta({ scalar: 'Money', description: 'What a day would have had to cost.' }),
    reasons: z.array(z.string()),
  },
  'What the place really cost against what jobs were charged for standing in it.',
);
export const BreakEvenReport = shape(
  'BreakEvenReport',
  {
    price: money,
    variableCost: money,
    contribution: money,
    contributionPercent: z.number().meta({ scalar: 'Float' }),
    machines: z.number().meta({ scalar: 'Float', description: 'Not rounded.' }),
    wholeMachines: wholeNumber,
    salesAmount: money,
    safetyAmount: money.nullable().meta({
      scalar: 'Money',
      description: 'Sales beyond that, where machines to sell are stated; below zero where they fall short.',
    }),
    safetyPercent: ratio,
    profit: money.nullable().meta({ scalar: 'Money', description: 'From so many machines, after the fixed costs.' }),
    reasons: z.array(z.string()),
  },
  'How many machines of one price cover the fixed costs and the profit wanted.',
);
