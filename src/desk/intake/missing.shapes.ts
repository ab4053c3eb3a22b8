import { z } from 'zod';
import { MachineKind } from '../../machines/machines.shapes.js';
import { checklistCodes } from '../../machines/missing-checklist.js';
import { amount, choice, id, priced, shape, wholeNumber } from '../../platform/shapes.js';

export const ChecklistCode = choice('ChecklistCode', checklistCodes);

export const MissingGiven = shape(
  'MissingGiven',
  {
    code: ChecklistCode,
    partId: id
      .nullish()
      .meta({ scalar: 'ID', description: "The part it takes; the catalogue's of that name unless said." }),
    price: amount.nullish().meta({ scalar: 'Money', description: 'What it is expected to cost, where that is known.' }),
  },
  'A thing of the checklist that is missing.',
);
export const MissingNoted = shape(
  'MissingNoted',
  {
    code: z.string(),
    title: z.string(),
    partNeedId: id
      .nullable()
      .meta({ scalar: 'ID', description: 'The need for it; null without an open job to fit it on.' }),
    partName: z.string().nullable(),
    price: priced,
  },
  'A thing that was noted as missing, with the part it takes.',
);
export const ChecklistEntry = shape(
  'ChecklistEntry',
  {
    code: z.string(),
    title: z.string(),
    quantity: wholeNumber,
    missing: z.boolean(),
    price: priced,
  },
  'A thing that a machine of its kind should have on it.',
);
export const MissingChecklist = shape(
  'MissingChecklist',
  { machineId: id.nullable(), kind: MachineKind, items: z.array(ChecklistEntry) },
  'What to look for on a machine of its kind, and what of it is missing.',
);
export const MissingRecorded = shape(
  'MissingRecorded',
  { machineId: id, noted: z.array(MissingNoted), items: z.array(ChecklistEntry) },
  'What was noted as missing, and the whole checklist as it stands.',
);
