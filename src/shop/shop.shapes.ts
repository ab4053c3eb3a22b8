import { z } from 'zod';
import { currencyCodes } from '../engine/money/index.js';
import {
  amount,
  choice,
  day,
  decimal,
  editableFields,
  id,
  instant,
  int,
  recordFields,
  shape,
  storedAsJson,
  text,
} from '../platform/shapes.js';

export const TaxScheme = choice('TaxScheme', ['none', 'salesTax', 'marginScheme']);
export const SalesTaxBasis = choice(
  'SalesTaxBasis',
  ['item', 'invoice'],
  'Whether sales tax is rounded on each line of an invoice or once on its sum.',
);
export const MarginAccounting = choice(
  'MarginAccounting',
  ['item', 'global'],
  'Whether tax on the margin is due on each machine alone, or on all sales of a tax period less all purchases in it.',
);
export const UnitSystem = choice('UnitSystem', ['metric', 'imperial']);
export const KeyRole = choice('KeyRole', ['owner', 'helper', 'reader']);
export const PlaceKind = choice('PlaceKind', ['bench', 'sprayArea', 'cureRack']);
export const Shelter = choice('Shelter', ['outdoors', 'unheated', 'heated']);

const timeOfDay = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$|^24:00$/, 'must be a time such as 08:30');

/** Open from one time to another on a weekday; ISO weekdays, Monday is 1. */
export const OpenPeriod = shape(
  'OpenPeriod',
  { weekday: int(1, 7), opens: timeOfDay, closes: timeOfDay },
  "Open hours on one weekday; Monday is 1. Times are the shop's local time.",
);
export type OpenPeriod = z.output<typeof OpenPeriod>;

const openPeriods = z
  .array(OpenPeriod)
  .max(50)
  .superRefine((periods, check) => {
    periods.forEach((one, index) => {
      if (one.opens >= one.closes)
        check.addIssue({ code: 'custom', message: 'must close after it opens', path: [index, 'closes'] });
      if (
        periods.some(
          (other, before) =>
            before < index && other.weekday === one.weekday && other.opens < one.closes && one.opens < other.closes,
        )
      ) {
        check.addIssue({ code: 'custom', message: 'overlaps another period of that weekday', path: [index] });
      }
    });
  });

const timeZone = text(60).refine((zone) => {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return !/^[+-]/.test(zone);
  } catch {
    return false;
  }
}, 'must be an IANA time zone such as America/Toronto');

/**
 * What a shop computes with. Bounded, so that a year of it still is an amount and a slip of the hand does not stop
 * every figure.
 */
const rate = (description: string) =>
  amount
    .refine((value) => Number(value) < 100_000_000, 'must be under 100000000')
    .meta({ scalar: 'Money', description });

/** As tasks name their kinds. */
const taskKind = z.string().regex(/^[a-z][A-Za-z]{1,30}$/, 'must be a kind of task such as derust');
export const MaxWait = shape(
  'MaxWait',
  { fromKind: taskKind, toKind: taskKind, maxMinutes: int(1, 5_256_000) },
  'A task of one kind should start no later than so long after one of another before it; the plan keeps it where it can.',
);
/** Which of them holds is a question of law, and this is no advice. */
const askFirst = 'ask the authority or an accountant which holds for the shop.';

const shopFields = {
  name: text(),
  latitude: decimal(-90, 90),
  longitude: decimal(-180, 180),
  timeZone,
  unitSystem: UnitSystem,
  hourlyValue: rate('What an hour of work in the shop is computed at.'),
  spaceCostPerDay: rate('What a machine standing in the shop costs a day.'),
  haulCostPerKilometre: rate('What a kilometre costs when a machine is fetched.'),
  taxScheme: TaxScheme,
  taxRatePercent: decimal(0, 100)
    .refine((percent) => Number(percent.toFixed(4)) === percent, 'must have at most four decimals')
    .meta({ scalar: 'Float' }),
  openingHours: storedAsJson(openPeriods),
  snowThresholdMillimetres: decimal(0.1, 1000).meta({
    scalar: 'Float',
    description: 'How much snow on one day counts as the first snow; 25 is one inch as stations store it.',
  }),
  latestSnowSeasons: int(10, 300)
    .nullish()
    .meta({
      scalar: 'Int',
      description:
        'So many of the latest seasons tell of the coming first snow; null: all on record. `firstSnow` says what either ' +
        'would have been worth.',
    }),
  readinessMarginDays: int(0, 365).meta({
    scalar: 'Int',
    description: 'How many days before the first snow a machine should be finished.',
  }),
  seasonEndMonthDay: z
    .string()
    .regex(/^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/, 'must be a month and day such as 03-15')
    .refine((monthDay) => z.iso.date().safeParse(`2027-${monthDay}`).success, 'must be a day that every year has'),
  assemblyWaitDays: int(0, 365).meta({
    scalar: 'Int',
    description: "The shop's own wait between the last coat and assembly, where the can asks for less.",
  }),
  enquiryElasticity: decimal(0, 20).meta({
    scalar: 'Float',
    description:
      'Enquiries fall with the ask over the going price to this power, until 30 offers are recorded and it is learnt from them.',
  }),
  salesTaxBasis: SalesTaxBasis.meta({ description: `Sales tax on each line or on the invoice's sum; ${askFirst}` }),
  marginAccounting: MarginAccounting.meta({
    description: `Margin scheme item by item or by global accounting; ${askFirst}`,
  }),
  taxPeriodMonths: int(1, 12)
    .refine((months) => [1, 3, 12].includes(months), 'must be 1, 3 or 12')
    .meta({ scalar: 'Int', description: 'Months of a tax period: 1, 3 or 12, counted from January.' }),
  tradeInLowersTax: z.boolean().meta({
    description: `Whether sales tax is on the price less what a machine taken in trade is allowed for; ${askFirst}`,
  }),
  maxWaits: storedAsJson(z.array(MaxWait).max(20)).meta({
    description:
      'Kinds of task that should follow each other soon. Bare steel is primed within a ' +
      'day where nothing else is stated: common practice, no source.',
  }),
};

const currency = z
  .string()
  .refine((code) => currencyCodes.includes(code), 'must be a currency code of ISO 4217, such as CAD or EUR');

export const Shop = shape(
  'Shop',
  { ...editableFields, currency: z.string(), ...shopFields, latestSnowSeasons: z.int().nullable() },
  'The tenant: every other record belongs to one.',
);
export const ShopChange = z.strictObject({
  ...z.object(shopFields).partial().shape,
  currency: currency
    .optional()
    .meta({ description: 'Only while the shop has no amounts but its own rates: what is recorded is not converted.' }),
});
/** A new shop, as the command line makes one. */
export const ShopCreate = z.strictObject({ ...shopFields, currency });

export const AccessKey = shape('AccessKey', {
  ...editableFields,
  name: z.string(),
  role: KeyRole,
  publicId: z.string(),
  isDevice: z.boolean().meta({ description: 'Held by a browser that is signed in: it opens pages and nothing else.' }),
  personId: id.nullable().meta({ scalar: 'ID', description: 'Who works with the device.' }),
  archivedAt: instant.nullable(),
});
export const AccessKeyCreate = z.strictObject({ name: text(80), role: KeyRole });
export const FreshAccessKey = shape('FreshAccessKey', {
  ...recordFields,
  name: z.string(),
  role: KeyRole,
  key: z.string().meta({ description: 'Shown this once; only its hash is kept.' }),
});

export const Person = shape(
  'Person',
  {
    ...editableFields,
    name: z.string(),
    weeklyHours: storedAsJson(z.array(OpenPeriod)),
    taskKinds: storedAsJson(z.array(z.string())).meta({
      description: 'The kinds of task that they may do; all where none is named.',
    }),
    archivedAt: instant.nullable(),
  },
  'Somebody who works in the shop.',
);
const personFields = {
  name: text(80),
  weeklyHours: openPeriods,
  taskKinds: z
    .array(taskKind)
    .max(40)
    .meta({ description: 'The kinds of task that they may do; all where none is named.' }),
};
export const PersonCreate = z.strictObject({ ...personFields, taskKinds: personFields.taskKinds.default([]) });
export const PersonChange = z.strictObject(z.object(personFields).partial().shape);

export const DayOffKind = choice('DayOffKind', ['leave', 'sickness', 'other']);
export const DayOff = shape(
  'DayOff',
  {
    ...editableFields,
    personId: id.nullable(),
    startDate: day,
    endDate: day,
    kind: DayOffKind.meta({ description: 'Sickness is learnt from, as luck that may come again; leave is not.' }),
    reason: z.string().nullable(),
  },
  'Days on which one person, or without a person nobody, works.',
);
const dayOffFields = {
  personId: id.nullish(),
  startDate: day,
  endDate: day,
  kind: DayOffKind,
  reason: text().nullish(),
};
export const DayOffCreate = z.strictObject({ ...dayOffFields, kind: DayOffKind.default('leave') });
export const DayOffChange = z.strictObject(z.object(dayOffFields).partial().shape);

const placeFields = {
  name: text(80),
  kind: PlaceKind,
  capacity: int(1, 1000),
  shelter: Shelter,
  heatedToCelsius: decimal(-20, 50).nullish(),
  room: text(80)
    .nullish()
    .meta({
      description:
        'The room it stands in, where the shop has more than one. What makes sparks or dust keeps away from ' +
        'wet paint and its vapour in one room; places without a name share the workshop.',
    }),
  ventilated: z.boolean().meta({ description: 'Its air is drawn off, so that vapour is gone in half the time.' }),
};
export const Place = shape(
  'Place',
  {
    ...editableFields,
    ...placeFields,
    heatedToCelsius: z.number().nullable(),
    room: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'A bench, spray area or cure rack.',
);
export const PlaceCreate = z.strictObject({
  ...placeFields,
  capacity: placeFields.capacity.default(1),
  shelter: Shelter.default('unheated'),
  ventilated: z.boolean().default(false),
});
export const PlaceChange = z.strictObject(z.object(placeFields).partial().shape);

export const AuditChange = shape(
  'AuditChange',
  {
    record: z.string().meta({ description: 'What kind of record, such as OrderLine.' }),
    recordId: id,
    field: z.string(),
    before: z.string().nullable().meta({ description: 'As text; null when it was empty, or the record is new.' }),
    after: z.string().nullable().meta({ description: 'As text; null when it is empty, or the record is gone.' }),
  },
  'One field that a command changed. A new record has no entry here, except in a list that is replaced as a whole.',
);

export const AuditEntry = shape(
  'AuditEntry',
  {
    ...recordFields,
    operation: z.string(),
    subjectId: id.nullable(),
    accessKeyId: id.nullable(),
    reason: z.string().nullable().meta({ description: 'Why, as the command said it; corrections must say it.' }),
    changes: z.array(AuditChange),
  },
  'Who did what, one entry a command.',
);
