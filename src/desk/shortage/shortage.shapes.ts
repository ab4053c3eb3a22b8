import { z } from 'zod';
import { CompletionEffect } from '../../platform/completion/completion-effects.shapes.js';
import { amount, choice, day, decimal, id, int, priced, shape, text } from '../../platform/shapes.js';
import { OrderLine } from '../../purchasing/orders.shapes.js';
import { PartNeed } from '../../stock/stock.shapes.js';

export const ShortageOptionKind = choice('ShortageOptionKind', [
  'stock',
  'interchange',
  'equivalentFastener',
  'donor',
  'otherSupplier',
  'rework',
  'resequence',
  'wait',
]);

export const ShortageOption = shape(
  'ShortageOption',
  {
    kind: ShortageOptionKind,
    allowed: z.boolean(),
    reasons: z.array(z.string()).meta({ description: 'Why it is allowed or refused, and what to mind.' }),
    partId: id.nullable(),
    partName: z.string().nullable(),
    stockId: id.nullable(),
    machineId: id.nullable(),
    supplierId: id.nullable(),
    arrivalDate: day.nullable().meta({ description: 'When the parts would be at hand, with one chance in two.' }),
    cost: priced.meta({
      priced: true,
      description:
        'What the parts would cost, or cost when they came into the bin; for rework the ' +
        "material and the hours at the shop's value; null when it is not known.",
    }),
    effects: z.array(CompletionEffect).meta({
      description: 'Against waiting as things stand; for resequencing, against nobody working until the parts come.',
    }),
    probabilityReadyBefore: z
      .number()
      .nullable()
      .meta({
        description:
          'Chance that the job that waits is ready before the snow, as things stand, ' +
          'where what it waits for comes as late as one time in five.',
      }),
    probabilityReadyAfter: z.number().nullable(),
    rankReasons: z.array(z.string()).meta({
      description:
        'What it is better or worse in than waiting, as it was ranked, with arrivals as late as they are one ' +
        'time in five: readiness, then days, then what is still to be paid, then arrival.',
    }),
  },
  'One way out when a part does not come.',
);
export const ShortageOptions = shape(
  'Rescue',
  { orderLineId: id, quantityMissing: z.number(), needs: z.array(PartNeed), options: z.array(ShortageOption) },
  'What can be done about an order line that tasks wait for, the best first.',
);

export const JointMaterial = choice('JointMaterial', ['steel', 'stainless', 'aluminium', 'brass', 'plastic']);
const millimetres = decimal(0, 10_000).nullish();
/** What a joint asks of a fastener that is to stand in for another. */
export const jointFields = {
  gripFromMillimetres: millimetres.meta({
    scalar: 'Float',
    description: 'For a fastener: the shortest length that will do; without a grip range the length must be equal.',
  }),
  gripToMillimetres: millimetres.meta({
    scalar: 'Float',
    description: 'For a fastener: the longest length that will do.',
  }),
  exposed: z
    .boolean()
    .nullish()
    .meta({ description: 'For a fastener: whether the joint may get wet or salted; it may unless said.' }),
  jointMaterial: JointMaterial.nullish(),
};

/** To make or repair the parts here. */
export const reworkFields = {
  reworkMinutes: int(1, 100_000).nullish().meta({
    scalar: 'Int',
    description:
      'To make or repair the missing parts here: the hands-on time for all of them. Without it that is not looked at.',
  }),
  reworkCost: amount.nullish().meta({ scalar: 'Money', description: 'And the material for it; nothing unless said.' }),
};

export const ShortageResolve = z.strictObject({
  ...jointFields,
  ...reworkFields,
  id,
  kind: choice('RescueKindToTake', ['stock', 'interchange', 'equivalentFastener', 'donor', 'otherSupplier', 'rework']),
  stockId: id.nullish().meta({ scalar: 'ID', description: 'The bin, for what lies in one.' }),
  machineId: id.nullish().meta({ scalar: 'ID', description: 'The donor.' }),
  unitValue: amount
    .nullish()
    .meta({ scalar: 'Money', description: 'From a donor: what one such part is worth as it is.' }),
  restValue: amount
    .nullish()
    .meta({ scalar: 'Money', description: 'From a donor: what the rest of it is worth then.' }),
  bin: text(60).nullish().meta({ description: 'From a donor: where the parts go.' }),
  supplierId: id.nullish().meta({ scalar: 'ID', description: 'The other supplier.' }),
  unitPrice: amount.nullish().meta({ scalar: 'Money', description: 'From another supplier: what each costs there.' }),
  shippingCost: amount.nullish(),
  taxCost: amount.nullish(),
  promisedDate: day.nullish(),
  cancelRest: z.boolean().default(false).meta({ description: 'Also cancel what is still to come of the line.' }),
});
export const ShortageResolved = shape(
  'ShortageResolved',
  { line: OrderLine, needs: z.array(PartNeed), effects: z.array(CompletionEffect) },
  'The line and the needs as they stand once the option was taken.',
);
