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
export const TaxPeriod = shape(
  'TaxPeriod',
  {
    scheme: TaxSchemeName,
    sales: wholeNumber,
    salesAmount: money.meta({ scalar: 'Money', description: 'Agreed prices less what was paid back.' }),
    taxAmount: money.meta({ scalar: 'Money', description: 'As booked with each sale.' }),
    purchasesAmount: money.meta({
      scalar: 'Money',
      description: 'What machines acquired in the period were bought for, without haul and fees.',
    }),
    globalMarginTax: money.nullable().meta({
      scalar: 'Money',
      description:
        'Under the margin scheme by global accounting: all sales less all purchases of the period, nothing carried forward into it.',
    }),
    carriedForward: money.nullable().meta({
      scalar: 'Money',
      description: 'Under global accounting: an excess of purchases, to be taken into the next period.',
    }),
  },
  'The sales of a period under one tax scheme. It helps to fill in a return and is no advice: ask the authority or an accountant.',
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
    tax: z.array(TaxPeriod),
    reasons: z.array(z.string()),
  },
  'The shop as a business: what is tied up, and what a period earned by month, kind and source.',
);
