import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { at } from '../engine/look-up.js';
import { harvestBasis } from '../engine/money/index.js';
import { basisLeft } from '../machines/harvest-basis.js';
import { requireMachineOnHand } from '../machines/on-hand.js';
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asDate } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, workers } from '../platform/operation/operation.js';
import { lock, requireActiveParts, requirePastDate } from '../platform/operation/rows.js';
import type { Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { completeStock } from './reservations.js';
import { putInBin } from './stock.operations.js';
import { Harvest, HarvestCreate, HarvestMade } from './stock.shapes.js';

/**
 * Takes parts off a donor into bins.
 * @param anyMachine also off one that goes on without them, such as equipment that is taken off
 * @returns the harvest, the bins' rows and what cost stays with the machine
 */
export async function harvest(
  context: OperationContext,
  input: z.output<typeof HarvestCreate>,
  { anyMachine = false }: { anyMachine?: boolean } = {},
) {
  await lock(context, 'Machine', [input.machineId]);
  const machine = await context.tx.machine.findFirst({ where: { id: input.machineId } });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.archivedAt) throw new Conflict('archived', 'This machine was archived and is only kept for history.');
  await requireMachineOnHand(context, machine.id, ['sold']);
  if (!anyMachine && machine.disposition !== 'donor' && machine.disposition !== 'scrap') {
    throw new Refused(
      'not-a-donor',
      "Parts are taken off donor or scrap machines; change the machine's disposition to donor first.",
    );
  }
  await requireActiveParts(
    context,
    input.parts.map((part) => part.partId),
  );
  const taken = input.parts.map((part, index) => ({
    quantity: part.quantity,
    valueEach: checkAmount(part.unitValue, context.shop.currency, `/parts/${index}/unitValue`),
  }));
  const restValue = checkAmount(input.restValue, context.shop.currency, '/restValue');
  const basis = (await basisLeft(context, [machine.id])).get(machine.id) ?? new Decimal(0);
  const { parts, moved, left, reasons } = harvestBasis(basis, taken, restValue, context.shop.currency, 'worth');
  const harvestedDate = requirePastDate(context, input.harvestedDate, '/harvestedDate');
  const made = await context.tx.harvest.create({
    data: {
      shopId: context.shop.id,
      machineId: machine.id,
      harvestedDate: asDate(harvestedDate),
      basisMoved: moved.toString(),
      notes: input.notes ?? null,
    },
  });
  const stock: Stored<'stock'>[] = [];
  for (const [index, part] of input.parts.entries()) {
    stock.push(
      await putInBin(
        context,
        { ...part, unitCost: at(parts, index).unitCost, source: 'harvested', harvestId: made.id },
        { reason: 'harvested', movedDate: harvestedDate },
      ),
    );
  }
  return {
    id: made.id,
    harvest: made,
    stock: await completeStock(context, stock),
    basisLeft: left,
    reasons: [context.role === 'helper' ? 'By relative value; the amounts are not shown to this key.' : reasons],
  };
}

export const harvestOperations = [
  ...crudOperations({
    name: 'harvest',
    plural: 'harvests',
    table: 'harvest',
    shape: Harvest,
    archives: false,
    filters: { machineId: id.nullish() },
    sorts: ['harvestedDate', 'createdAt'],
  }),
  command({
    name: 'createHarvest',
    summary:
      'Take parts off a donor machine into bins; their share of its cost goes with them, at most what they are worth',
    roles: workers,
    rest: { method: 'POST', path: '/harvests', status: 201 },
    input: HarvestCreate,
    output: HarvestMade,
    run: harvest,
  }),
];
