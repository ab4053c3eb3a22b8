import { z } from 'zod';
import {
  amount,
  choice,
  decimal,
  editableFields,
  id,
  instant,
  int,
  longText,
  priced,
  recordFields,
  shape,
  text,
} from '../platform/shapes.js';

export const CoatRole = choice('CoatRole', ['primer', 'colour', 'clear']);
export const CureStage = choice('CureStage', ['wet', 'touch', 'handle', 'assemble', 'full']);
const stageMinutes = int(1, 5_256_000);

/** Ten years is as long as no limit, and keeps every sum small. */
const windowMinutes = int(0, 5_256_000);
export const RecoatWindow = shape(
  'RecoatWindow',
  {
    fromMinutes: windowMinutes,
    toMinutes: windowMinutes.nullish().meta({ scalar: 'Int', description: 'Null when there is no latest moment.' }),
  },
  "A stretch of the coat's age, at reference conditions, in which the next coat may go on. Outside every window it may not.",
);

export type RecoatWindow = z.output<typeof RecoatWindow>;

export const RecoatTableWindow = shape(
  'RecoatTableWindow',
  {
    minCelsius: decimal(-50, 100),
    maxCelsius: decimal(-50, 100),
    fromMinutes: windowMinutes,
    toMinutes: windowMinutes.nullish().meta({ scalar: 'Int', description: 'Null when there is no latest moment.' }),
  },
  "A window of a sheet's table of recoat times, in the column of temperatures it is printed in.",
);
export type RecoatTableWindow = z.output<typeof RecoatTableWindow>;

const family = text(60).transform((value) => value.toLowerCase());
const recoatMinutes = z
  .array(RecoatWindow)
  .min(1)
  .max(10)
  .superRefine((windows, check) => {
    windows.forEach((one, index) => {
      const next = windows[index + 1];
      if (typeof one.toMinutes === 'number' && one.toMinutes <= one.fromMinutes)
        check.addIssue({ code: 'custom', message: 'must lie after fromMinutes', path: [index, 'toMinutes'] });
      if (next && (typeof one.toMinutes !== 'number' || next.fromMinutes <= one.toMinutes))
        check.addIssue({
          code: 'custom',
          message: 'windows must stand in order and apart',
          path: [index + 1, 'fromMinutes'],
        });
    });
  });

const productFields = {
  name: text(120),
  family: family.meta({
    description:
      'Its kind of binder, such as "alkyd", "epoxy" or "two-part urethane"; compared with other products\' incompatible families.',
  }),
  role: CoatRole,
  volumeSolidsPercent: decimal(0.01, 100),
  dryFilmMicrometres: decimal(0.1, 9999),
  lossPercent: decimal(0, 99).meta({
    scalar: 'Float',
    description: 'Share of the paint that does not end on the work: overspray, pot, hose.',
  }),
  minCelsius: decimal(-50, 100),
  maxCelsius: decimal(-50, 100),
  maxHumidityPercent: decimal(1, 100),
  dewPointMarginCelsius: decimal(0, 50).meta({
    scalar: 'Float',
    description: 'How far the metal must be above the dew point.',
  }),
  referenceCelsius: decimal(-50, 100).meta({
    scalar: 'Float',
    description: 'The temperature at which the drying stages below are stated.',
  }),
  touchMinutes: stageMinutes,
  handleMinutes: stageMinutes,
  assembleMinutes: stageMinutes,
  fullMinutes: stageMinutes,
  vapourMinutes: stageMinutes.nullish().meta({
    scalar: 'Int',
    description:
      'How long a coat gives off vapour that must not meet a spark; an hour is ' +
      'taken where the sheet is silent (common practice, no source).',
  }),
  recoatMinutes,
  recoatTable: z
    .array(RecoatTableWindow)
    .max(60)
    .meta({
      description:
        'Recoat times by temperature as the sheet prints them. Where it has them they decide, and `rateDoublingCelsius` ' +
        'only beyond its temperatures.',
    }),
  rateDoublingCelsius: decimal(1, 100).meta({
    scalar: 'Float',
    description:
      'Drying is twice as fast for each so many degrees warmer; recoat windows go by it where no recoatTable is given.',
  }),
  incompatibleFamilies: z.array(family).max(50),
  containerLitres: decimal(0.01, 900),
  isocyanate: z.boolean(),
};

export const CoatingProduct = shape(
  'CoatingProduct',
  {
    ...editableFields,
    ...productFields,
    family: z.string(),
    vapourMinutes: z.int().nullable(),
    recoatMinutes: z.array(RecoatWindow),
    incompatibleFamilies: z.array(z.string()),
    containerPrice: priced,
    archivedAt: instant.nullable(),
  },
  'The can: what its data sheet says.',
);
export const CoatingProductCreate = z.strictObject({
  ...productFields,
  recoatMinutes: recoatMinutes.optional().meta({
    description: 'At the reference temperature; where a recoatTable is given, taken from it unless said.',
  }),
  recoatTable: productFields.recoatTable.default([]),
  lossPercent: productFields.lossPercent.default(30),
  maxHumidityPercent: productFields.maxHumidityPercent.default(85),
  dewPointMarginCelsius: productFields.dewPointMarginCelsius.default(3),
  referenceCelsius: productFields.referenceCelsius.default(23),
  rateDoublingCelsius: productFields.rateDoublingCelsius.default(10),
  incompatibleFamilies: productFields.incompatibleFamilies.default([]),
  isocyanate: z.boolean().default(false),
  containerPrice: amount,
});
export const CoatingProductChange = z.strictObject(
  z.object({ ...productFields, containerPrice: amount }).partial().shape,
);

export const FinishWarning = shape(
  'FinishWarning',
  { code: z.string(), detail: z.string() },
  'Something about a coat that a painter would want to know before going on.',
);

export const SystemCoat = shape('SystemCoat', {
  productId: id,
  dryFilmMicrometres: decimal(0.1, 9999)
    .nullish()
    .meta({ scalar: 'Float', description: "Null means the film the product's data sheet recommends." }),
});
const systemFields = {
  name: text(120),
  notes: longText.nullish(),
  coats: z.array(SystemCoat).min(1).max(20).meta({ description: 'From the metal outward.' }),
};
export const CoatingSystem = shape(
  'CoatingSystem',
  {
    ...editableFields,
    ...systemFields,
    name: z.string(),
    notes: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'The ordered build-up of coats.',
);
export const CoatingSystemCreate = z.strictObject(systemFields);
export const CoatingSystemChange = z.strictObject(z.object(systemFields).partial().shape);

const metalCelsius = decimal(-60, 150).nullish().meta({
  scalar: 'Float',
  description: "The metal's own temperature, which decides whether it is far enough above the dew point.",
});
const film = decimal(0.1, 9999).nullish();
const coatFields = {
  jobId: id,
  taskId: id.nullish(),
  productId: id,
  placeId: id
    .nullish()
    .meta({ description: 'Where it was applied and stands to dry; without one it is taken to be outdoors.' }),
  surface: text(80).meta({
    description: 'What was coated, such as "auger housing". Coats on one surface lie on top of each other.',
  }),
  coatNumber: int(1, 50).meta({ description: 'From the metal outward, in the order in which they went on.' }),
  appliedAt: instant,
  dryFilmMicrometres: film,
  squareMetres: decimal(0.001, 1000).nullish().meta({
    description:
      'The area coated. Where no litres are stated they are computed from it, the film, the solids and the loss.',
  }),
  litresUsed: decimal(0.0001, 1000)
    .nullish()
    .meta({
      description:
        "Paint used, which the job is charged with as a consumable at the can's price by the litre. " +
        'Without litres or area nothing is charged, as where cans are booked whole.',
    }),
  airCelsius: decimal(-60, 70).nullish(),
  humidityPercent: decimal(0, 100).nullish(),
  metalCelsius,
  note: longText.nullish(),
};
const coatOutput = {
  ...editableFields,
  ...coatFields,
  taskId: id.nullable(),
  placeId: id.nullable(),
  surface: z.string(),
  dryFilmMicrometres: z.number().nullable(),
  squareMetres: z.number().nullable(),
  litresUsed: z.number().nullable(),
  airCelsius: z.number().nullable(),
  humidityPercent: z.number().nullable(),
  metalCelsius: z.number().nullable(),
  note: z.string().nullable(),
  archivedAt: instant.nullable(),
};
export const Coat = shape('Coat', coatOutput, 'One applied layer.');
export const RecordedCoat = shape(
  'RecordedCoat',
  { ...coatOutput, warnings: z.array(FinishWarning) },
  'A coat just recorded, with what speaks against it.',
);
export const CoatCreate = z.strictObject({
  ...coatFields,
  coatNumber: int(1, 50).nullish().meta({
    scalar: 'Int',
    description: 'Unless said the one in which it went on: what was recorded before and went on later moves up by one.',
  }),
  appliedAt: instant.nullish().meta({ scalar: 'Instant', description: 'Now unless said.' }),
});
export const CoatChange = z.strictObject(z.object(coatFields).omit({ jobId: true }).partial().shape);

export const TemperatureReading = shape(
  'TemperatureReading',
  {
    ...recordFields,
    placeId: id,
    readAt: instant,
    celsius: z.number(),
    humidityPercent: z.number().nullable(),
    metalCelsius: z.number().nullable(),
  },
  'What a thermometer showed at a place.',
);
export const ReadingInput = shape('Reading', {
  readAt: instant,
  celsius: decimal(-60, 70),
  humidityPercent: decimal(0, 100).nullish(),
  metalCelsius,
});
export const ReadingsRecorded = shape('ReadingsRecorded', {
  placeId: id,
  received: int(0, 1_000_000),
  added: int(0, 1_000_000),
  changed: int(0, 1_000_000),
  warnings: z.array(FinishWarning).meta({
    description: 'Readings of metal that was too near the dew point to be painted, by the usual margin of 3 °C.',
  }),
});

const eventFields = { coatId: id };
export const CoatSanding = shape(
  'CoatSanding',
  { ...editableFields, ...eventFields, sandedAt: instant, note: z.string().nullable(), archivedAt: instant.nullable() },
  'A coat was sanded. Where its last recoat window had shut and it could be handled, that lets the next coat on.',
);
export const CoatSandingCreate = z.strictObject({
  ...eventFields,
  sandedAt: instant.nullish().meta({ scalar: 'Instant', description: 'Now unless said.' }),
  note: longText.nullish(),
});
export const CoatMove = shape(
  'CoatMove',
  { ...editableFields, ...eventFields, placeId: id.nullable(), movedAt: instant, archivedAt: instant.nullable() },
  'From this moment on the coat stands elsewhere, and dries by what it is like there.',
);
export const CoatMoveCreate = z.strictObject({
  ...eventFields,
  placeId: id.nullish().meta({ scalar: 'ID', description: 'Outdoors without one.' }),
  movedAt: instant.nullish().meta({ scalar: 'Instant', description: 'Now unless said.' }),
});

const moment = instant.nullable();
export const StageForecast = shape(
  'StageForecast',
  { stage: CureStage, reachedAt: moment, likelyAt: moment, safeAt: moment },
  'When a drying stage was reached, at the latest, in all three; or when it will be: as likely as not ' +
    'by likelyAt, four times in five by safeAt. Null when it lies beyond the days looked at.',
);
export const RecoatPeriod = shape(
  'RecoatPeriod',
  { opensAt: moment, closesAt: moment },
  'As instants, computed from the temperatures the coat has seen and is likely to see.',
);
export const RecoatAnswer = shape('RecoatAnswer', {
  allowedNow: z.boolean(),
  reason: z.string(),
  needsSanding: z.boolean().meta({ description: 'Its last window has shut: sanding, once recorded, opens it again.' }),
  periods: z.array(RecoatPeriod),
});
export const CoatStatus = shape('CoatStatus', {
  coatId: id,
  placeId: id.nullable().meta({ scalar: 'ID', description: 'Where it stands now; null is outdoors.' }),
  stage: CureStage,
  equivalentMinutes: decimal(0, 1e12).meta({
    scalar: 'Float',
    description: "The coat's age, as if it had stood at its product's reference temperature.",
  }),
  stages: z.array(StageForecast),
  recoat: RecoatAnswer,
  assemblyFrom: moment.meta({
    scalar: 'Instant',
    description:
      "When it may be assembled: the can's own stage or the shop's longer wait, whichever is later; four times in five.",
  }),
  warnings: z.array(FinishWarning),
  reasons: z.array(z.string()),
});

export const PaintedArea = shape('PaintedArea', { surface: text(80), squareMetres: decimal(0.001, 1000) });
export const Leftover = shape(
  'Leftover',
  { productId: id, litres: decimal(0, 10_000) },
  'Paint left in opened containers.',
);
export const ProductNeed = shape('ProductNeed', {
  productId: id,
  name: z.string(),
  squareMetres: z.number(),
  coats: int(0, 1000),
  litres: z.number(),
  leftoverLitres: z.number(),
  containersToBuy: int(0, 1_000_000),
  remainingLitres: z.number().meta({ description: 'Left in opened containers afterwards.' }),
  purchaseCost: priced,
  paintCost: priced,
});
export const PaintNeed = shape('PaintNeed', {
  systemId: id,
  areas: z.array(PaintedArea),
  products: z.array(ProductNeed),
  purchaseCost: priced,
  paintCost: priced,
  dryFilmMicrometres: z.number().meta({ description: 'The whole build-up.' }),
  warnings: z.array(FinishWarning),
  cautions: z.array(z.string()).meta({ description: 'Codes of the cautions that apply to this work.' }),
  reasons: z.array(z.string()),
});

export const SprayDecision = shape(
  'SprayDecision',
  {
    allowed: z.boolean().nullable().meta({ description: 'Null while something is missing and nothing is against it.' }),
    answer: z.string(),
    missing: z
      .array(z.string())
      .meta({ description: 'What has to be known and is not, by the names of the arguments.' }),
    refusals: z.array(FinishWarning),
    warnings: z.array(FinishWarning),
    placeId: id.nullable(),
    productId: id.nullable(),
    airCelsius: z.number().nullable(),
    humidityPercent: z.number().nullable(),
    metalCelsius: z.number().nullable(),
    readAt: moment.meta({ scalar: 'Instant', description: 'Of the reading that told what was not given.' }),
    dewPointCelsius: z.number().nullable(),
    marginCelsius: z.number().nullable().meta({ description: 'Metal above dew point.' }),
    cautions: z.array(z.string()).meta({ description: 'Codes of the cautions that apply to this work.' }),
    reasons: z.array(z.string()),
  },
  'Whether a coat may be sprayed at a place now, before it is.',
);
