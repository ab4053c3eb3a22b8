import { Decimal } from 'decimal.js';
import { harvestBasis } from '../engine/money/index.js';
import { refuseGone } from '../machines/on-hand.js';
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { type Call, command, type Presentable, workers } from '../platform/operation/operation.js';
import { asDate, records } from '../platform/operation/crud-operations.js';
import { id } from '../platform/shapes.js';
import { basisLeft } from '../machines/harvest-basis.js';
import { completeStock } from '../purchasing/needs.queries.js';
import { lock, needParts, pastDay } from '../platform/operation/rows.js';
import { putInBin } from './stock.operations.js';
import { Harvest, HarvestCreate, HarvestMade } from './stock.shapes.js';

/** Takes parts off a donor into bins. @returns the harvest, the bins' rows and what cost stays with the machine */
export async function harvest(call: Call, input: Presentable): Promise<Presentable> {
  await lock(call, 'Machine', [input.machineId]);
  const machine = await call.tx.machine.findFirst({ where: { id: input.machineId } });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.retiredAt) throw new Conflict('retired', 'This machine was retired and is only kept for history.');
  await refuseGone(call, machine.id, ['sold']);
  if (machine.disposition !== 'donor' && machine.disposition !== 'scrap') {
    throw new Refused(
      'not-a-donor',
      "Parts are taken off donor or scrap machines; change the machine's disposition to donor first.",
    );
  }
  await needParts(
    call,
    input.parts.map((part: Presentable) => part.partId),
  );
  const taken = input.parts.map((part: Presentable, index: number) => ({
    quantity: part.quantity,
    valueEach: checkAmount(part.unitValue, call.shop.currency, `/parts/${index}/unitValue`),
  }));
  const restValue = checkAmount(input.restValue, call.shop.currency, '/restValue');
  const basis = (await basisLeft(call, [machine.id])).get(machine.id) ?? new Decimal(0);
  const { parts, moved, left, why } = harvestBasis(basis, taken, restValue, call.shop.currency, 'worth');
  const harvestedOn = pastDay(call, input.harvestedOn, '/harvestedOn');
  const made = await call.tx.harvest.create({
    data: {
      shopId: call.shop.id,
      machineId: machine.id,
      harvestedOn: asDate(harvestedOn),
      basisMoved: moved.toString(),
      notes: input.notes ?? null,
    },
  });
  const stock: Presentable[] = [];
  for (const [index, part] of input.parts.entries()) {
    stock.push(
      await putInBin(
        call,
        { ...part, unitCost: parts[index]!.unitCost, source: 'harvested', harvestId: made.id },
        { reason: 'harvested', movedOn: harvestedOn },
      ),
    );
  }
  return {
    id: made.id,
    harvest: made,
    stock: await completeStock(call, stock),
    basisLeft: left,
    why: call.role === 'helper' ? 'By relative value; the amounts are not shown to this key.' : why,
  };
}

export const harvestOperations = [
  ...records({
    name: 'harvest',
    plural: 'harvests',
    rows: (tx) => tx.harvest,
    shape: Harvest,
    retires: false,
    filters: { machineId: id.nullish() },
    sorts: ['harvestedOn', 'createdAt'],
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
