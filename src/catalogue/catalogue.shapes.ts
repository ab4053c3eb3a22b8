import { z } from 'zod';
import { MachineKind } from '../machines/machines.shapes.js';
import {
  amount,
  choice,
  editableFields,
  id,
  instant,
  int,
  longText,
  priced,
  quantityOrNone,
  shape,
  storedAsJson,
  text,
} from '../platform/shapes.js';
import { FastenerFacts } from './fastener.shapes.js';

export const InterchangeEvidence = choice('InterchangeEvidence', ['seenFitted', 'supplierSays', 'measuredSame']);

export const Supplier = shape(
  'Supplier',
  { ...editableFields, name: z.string(), notes: z.string().nullable(), archivedAt: instant.nullable() },
  'Who parts are ordered from.',
);
export const SupplierCreate = z.strictObject({ name: text(120), notes: longText.nullish() });
export const SupplierChange = z.strictObject(SupplierCreate.partial().shape);

/** A part's number in a maker's catalogue; a part may have several. */
export const MakerNumber = shape(
  'MakerNumber',
  { maker: text(80), number: text(80) },
  "A part's number in a maker's catalogue.",
);

export type MakerNumber = z.output<typeof MakerNumber>;

export const MachineModel = shape(
  'MachineModel',
  { maker: text(80), model: text(80) },
  'A model of machine, as its plate names it.',
);

const partFields = {
  name: text(120),
  family: text(60).meta({
    description: 'What it is a kind of, such as belt, bearing or fastener: delivery times are learnt by it.',
  }),
  makerNumbers: z.array(MakerNumber).max(50),
  fastener: text(120)
    .nullish()
    .meta({ description: 'For a fastener its designation, such as 5/16-18 x 1 hex, grade 5, zinc.' }),
  designedToFail: z.boolean().meta({
    description: 'A shear pin or shear bolt: it is made to break, and only its exact equal may stand in for it.',
  }),
  fits: z.array(MachineKind).max(10),
  fitsModels: z
    .array(MachineModel)
    .max(100)
    .meta({ description: 'Models it is known to fit: donors of these are looked at first.' }),
  expectedPrice: amount
    .nullish()
    .meta({ scalar: 'Money', description: 'What one is expected to cost; it counts until one has been bought.' }),
  reorderPoint: quantityOrNone.nullish().meta({ description: 'When fewer are free than this, it is time to order.' }),
  supersededById: id.nullish().meta({ scalar: 'ID', description: 'The part that the maker sells in its place now.' }),
  notes: longText.nullish(),
};
export const Part = shape(
  'Part',
  {
    ...editableFields,
    name: z.string(),
    family: z.string(),
    makerNumbers: z.array(MakerNumber),
    fastener: z.string().nullable(),
    fastenerFacts: FastenerFacts.nullable(),
    designedToFail: z.boolean(),
    fits: z.array(MachineKind),
    fitsModels: storedAsJson(z.array(MachineModel)),
    expectedPrice: priced,
    reorderPoint: z.number().nullable(),
    supersededById: id.nullable(),
    quantityOnHand: z.number(),
    quantityFree: z.number().meta({ description: 'On hand and held for no task.' }),
    quantityOnOrder: z.number(),
    belowReorderPoint: z
      .boolean()
      .meta({ description: 'Free and on order together are fewer than the reorder point.' }),
    notes: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'A catalogue entry.',
);
export const PartCreate = z.strictObject({
  ...partFields,
  makerNumbers: partFields.makerNumbers.default([]),
  designedToFail: partFields.designedToFail.default(false),
  fits: partFields.fits.default([]),
  fitsModels: partFields.fitsModels.default([]),
});
export const PartChange = z.strictObject(z.object(partFields).partial().shape);

const interchangeFields = {
  partId: id.meta({ scalar: 'ID', description: 'The part that serves.' }),
  servesForId: id.meta({ scalar: 'ID', description: 'The part that it serves for.' }),
  bothWays: z.boolean(),
  position: text(80).nullish().meta({ description: 'Where on the machine it serves, such as left.' }),
  mounting: text(80).nullish().meta({ description: 'How it must be mounted, such as two-bolt.' }),
  fromYear: int(1900, 2200).nullish().meta({ scalar: 'Int', description: 'From which model year.' }),
  toYear: int(1900, 2200).nullish(),
  conditions: text(400).nullish().meta({ description: 'Anything else that must be so, in words.' }),
  evidence: InterchangeEvidence,
  provenHere: z.boolean().meta({ description: 'This shop has fitted it so, and it worked.' }),
  confidence: int(1, 5).meta({
    scalar: 'Int',
    description: '1 is a guess, 5 is as good as certain: computed as chances of 20, 40, 60, 80 and 95 in a hundred.',
  }),
  refuted: z.boolean().meta({ description: 'The claim says the opposite: it was found not to serve.' }),
};
export const Interchange = shape(
  'Interchange',
  {
    ...editableFields,
    ...interchangeFields,
    position: z.string().nullable(),
    mounting: z.string().nullable(),
    fromYear: z.number().int().nullable().meta({ scalar: 'Int' }),
    toYear: z.number().int().nullable().meta({ scalar: 'Int' }),
    conditions: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'A claim that one part serves for another, or that it does not.',
);
export const InterchangeCreate = z.strictObject({
  ...interchangeFields,
  bothWays: interchangeFields.bothWays.default(false),
  provenHere: interchangeFields.provenHere.default(false),
  refuted: interchangeFields.refuted.default(false),
  confidence: interchangeFields.confidence.default(3),
});
const { partId: _part, servesForId: _for, ...changeable } = interchangeFields;
export const InterchangeChange = z.strictObject(z.object(changeable).partial().shape);
