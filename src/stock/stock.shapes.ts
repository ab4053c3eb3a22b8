import { z } from 'zod';
import { CompletionEffect } from '../platform/completion/completion-effects.shapes.js';
import {
  amount,
  choice,
  day,
  decimal,
  editableFields,
  id,
  instant,
  longText,
  priced,
  quantity,
  quantityOrNone,
  recordFields,
  shape,
  text,
  version,
} from '../platform/shapes.js';

export const StockSource = choice('StockSource', ['bought', 'harvested', 'found']);
export const MovementReason = choice('MovementReason', [
  'received',
  'harvested',
  'used',
  'counted',
  'corrected',
  'returned',
  'discarded',
  'unpacked',
  'sold',
]);
export const CorrectionReason = choice('CorrectionReason', ['corrected', 'discarded']);
export const PartNeedStatus = choice('PartNeedStatus', [
  'unordered',
  'onOrder',
  'backOrdered',
  'partlyReceived',
  'onHand',
  'used',
]);

/** How much of a part: pieces, or metres and litres of what comes so, to a thousandth. */
const quantityShown = z.number();

export const Stock = shape(
  'Stock',
  {
    ...editableFields,
    partId: id,
    bin: z.string(),
    quantity: quantityShown,
    quantityReserved: quantityShown.meta({ description: 'Held for tasks.' }),
    quantityFree: quantityShown.meta({ description: 'On hand and held for nobody.' }),
    unitCost: priced,
    condition: z.string().nullable(),
    source: StockSource,
    harvestId: id.nullable(),
    archivedAt: instant.nullable(),
  },
  'Parts on hand in a bin, with their cost basis and where they came from.',
);
export const StockCreate = z.strictObject({
  partId: id,
  bin: text(60),
  quantity,
  unitCost: amount.default('0').meta({ scalar: 'Money', description: 'What each cost; nothing unless said.' }),
  condition: text().nullish(),
  note: text().nullish(),
});
export const StockChange = z.strictObject({ bin: text(60).optional(), condition: text().nullish() });
export const StockCount = z.strictObject({ id, version, quantity: quantityOrNone, note: text().nullish() });
export const StockCorrect = z.strictObject({
  id,
  version,
  change: decimal(-100_000_000, 100_000_000)
    .multipleOf(0.001, 'must be a whole number of thousandths')
    .meta({ scalar: 'Float', description: 'What to add; negative takes away.' }),
  reason: CorrectionReason,
  note: text(),
});

export const StockMovement = shape(
  'StockMovement',
  {
    ...recordFields,
    stockId: id,
    change: z.number(),
    reason: MovementReason,
    taskId: id.nullable(),
    movedDate: day,
    note: z.string().nullable(),
  },
  'One change of what is in a bin, with its reason.',
);

export const Harvest = shape(
  'Harvest',
  {
    ...recordFields,
    machineId: id,
    harvestedDate: day,
    basisMoved: priced.meta({ priced: true, description: 'The cost that went from the machine to the parts.' }),
    notes: z.string().nullable(),
  },
  'Parts taken off a donor machine.',
);
const HarvestedPart = shape('HarvestedPart', {
  partId: id,
  quantity,
  unitValue: amount.meta({ scalar: 'Money', description: 'What one such part is worth as it is.' }),
  bin: text(60),
  condition: text().nullish(),
});
export const HarvestCreate = z.strictObject({
  machineId: id,
  harvestedDate: day.nullish(),
  notes: longText.nullish(),
  restValue: amount.meta({
    scalar: 'Money',
    description: 'What the rest of the machine is worth once these parts are off it.',
  }),
  parts: z.array(HarvestedPart).min(1).max(100),
});
export const HarvestMade = shape('HarvestMade', {
  harvest: Harvest,
  stock: z.array(Stock),
  basisLeft: priced.meta({ priced: true, description: 'The cost that stays with the machine.' }),
  reasons: z.array(z.string()),
});

export const PartNeed = shape(
  'PartNeed',
  {
    ...editableFields,
    taskId: id,
    partId: id,
    quantity: quantityShown,
    quantityCovered: quantityShown.meta({ description: 'Of it, on hand and held for this task.' }),
    status: PartNeedStatus,
    orderLineId: id.nullable(),
    stockId: id.nullable(),
    usedDate: day.nullable(),
    fittedPartId: id.nullable().meta({
      scalar: 'ID',
      description: 'Once used, what was fitted: another part than the one needed where a substitute was.',
    }),
    archivedAt: instant.nullable(),
  },
  'So many of one part needed by a task, and where they are to come from.',
);
export const PartNeedCreate = z.strictObject({
  taskId: id,
  partId: id,
  quantity,
  orderLineId: id.nullish(),
  stockId: id.nullish(),
});
export const PartNeedStep = shape(
  'PartNeedStep',
  { need: PartNeed, effects: z.array(CompletionEffect) },
  'A part need after a step, and how the step moved completion.',
);
