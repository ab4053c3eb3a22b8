import { z } from 'zod';
import { amount, id, quantity, shape, text, version } from '../platform/shapes.js';

export const KitContent = shape(
  'KitContent',
  { partId: id, partName: z.string(), quantity: z.number() },
  'So many of one part in one kit.',
);
export const Kit = shape(
  'Kit',
  {
    partId: id.meta({ scalar: 'ID', description: 'The kit, itself a part of the catalogue.' }),
    version: version.meta({ scalar: 'Int', description: "That of the kit's catalogue entry." }),
    contents: z.array(KitContent).meta({ description: 'Empty for a part that is no kit.' }),
  },
  'What a kit consists of.',
);

const KitContentGiven = shape('KitContentGiven', { partId: id, quantity });
export const KitSet = z.strictObject({
  id,
  version,
  contents: z
    .array(KitContentGiven)
    .max(100)
    .meta({ description: 'All of it; an empty list makes the part no kit any more.' }),
});

const UnpackedPart = shape('UnpackedPartGiven', {
  partId: id,
  bin: text(60),
  unitValue: amount.nullish().meta({
    scalar: 'Money',
    description:
      "What one is worth, to split the kit's cost by; for all parts or for none, and then each kind bears the same.",
  }),
  condition: text().nullish(),
});
export const KitUnpack = z.strictObject({
  id,
  version,
  quantity: quantity.meta({ scalar: 'Float', description: 'How many kits.' }),
  parts: z
    .array(UnpackedPart)
    .min(1)
    .max(100)
    .meta({ description: 'Each part of the kit, with the bin it goes into.' }),
  partNeedIds: z
    .array(id)
    .max(50)
    .default([])
    .meta({ description: 'Needs that hold these kits: each becomes needs for the parts, which hold the new bins.' }),
  note: text().nullish(),
});
