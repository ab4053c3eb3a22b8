/** The checklist of what may be missing on a machine, by its kind: asked for, ticked, taken back. */
import { z } from 'zod';
import { likelyPrices } from '../../cost/remaining.queries.js';
import { engineTypeOf } from '../../machines/engine-type.js';
import { EngineType, MachineKind } from '../../machines/machines.shapes.js';
import { checklistFor } from '../../machines/missing-checklist.js';
import { command, type OperationContext, query, workers } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { correctionReason, day, id } from '../../platform/shapes.js';
import { isMissing, noteMissing, unnoteMissing } from './missing.js';
import { ChecklistCode, ChecklistEntry, MissingChecklist, MissingGiven, MissingRecorded } from './missing.shapes.js';

type Entry = z.input<typeof ChecklistEntry>;

/** Prices by the catalogue's parts of the same names. */
async function entriesOf(
  context: OperationContext,
  kind: string,
  engineType: z.output<typeof EngineType> | null,
  missing: (title: string) => boolean,
): Promise<Entry[]> {
  const items = checklistFor(kind, engineType);
  const parts = await context.tx.part.findMany({
    where: { archivedAt: null, name: { in: items.map((item) => item.part.name) } },
    select: { id: true, name: true },
  });
  const prices = await likelyPrices(
    context,
    parts.map((part) => part.id),
  );
  const priceOf = (name: string) => {
    const part = parts.find((one) => one.name === name);
    return (part && prices.get(part.id)?.toString()) ?? null;
  };
  return items.map(({ code, title, part }) => ({
    code,
    title,
    quantity: part.quantity,
    missing: missing(title),
    price: priceOf(part.name),
  }));
}

async function checklistOf(context: OperationContext, machineId: string) {
  const machine = await findOne(context.tx.machine, 'machine', machineId);
  return {
    machineId,
    kind: machine.kind,
    items: await entriesOf(context, machine.kind, engineTypeOf(machine), (title) => isMissing(machine, title)),
  };
}

export const missingOperations = [
  query({
    name: 'missingChecklist',
    summary: 'What to look for on a machine of a kind that comes in',
    rest: { method: 'GET', path: '/missing-checklist' },
    input: z.strictObject({ kind: MachineKind, engineType: EngineType.nullish() }),
    output: MissingChecklist,
    run: async (context, { kind, engineType }) => ({
      machineId: null,
      kind,
      items: await entriesOf(context, kind, engineType ?? null, () => false),
    }),
  }),
  query({
    name: 'machineChecklist',
    summary: 'What a machine should have on it, and what of it is missing',
    rest: { method: 'GET', path: '/machines/:id/checklist' },
    input: z.strictObject({ id }),
    output: MissingChecklist,
    run: (context, { id: machineId }) => checklistOf(context, machineId),
  }),
  command({
    name: 'recordMissing',
    summary: 'Tick what is missing on a machine: each becomes a finding and, on an open job, a need with its price',
    roles: workers,
    rest: { method: 'POST', path: '/machines/:id/missing', status: 200 },
    creates: false,
    input: z.strictObject({
      id,
      items: z.array(MissingGiven).min(1).max(40),
      foundDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
    }),
    output: MissingRecorded,
    async run(context, { id: machineId, items, foundDate }) {
      await findOne(context.tx.machine, 'machine', machineId);
      const noted = await noteMissing(context, machineId, items, foundDate ?? context.today, '/items');
      return { id: machineId, noted, ...(await checklistOf(context, machineId)) };
    },
  }),
  command({
    name: 'withdrawMissing',
    summary: 'Take back that a thing is missing: it is on the machine after all',
    roles: workers,
    rest: { method: 'POST', path: '/machines/:id/missing/withdraw', status: 200 },
    creates: false,
    input: z.strictObject({ id, code: ChecklistCode, reason: correctionReason }),
    output: MissingRecorded,
    async run(context, { id: machineId, code }) {
      await unnoteMissing(context, machineId, code);
      return { id: machineId, noted: [], ...(await checklistOf(context, machineId)) };
    },
  }),
];
