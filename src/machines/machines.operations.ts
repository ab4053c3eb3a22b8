import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asColumns, asDate, asDay, changeRow, findOne, records } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, type Presentable } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import { day, id, text } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import {
  haulCostOf,
  lockAcquisition,
  machinesOf,
  resplit,
  splitCost,
  totalCostOf,
  writeShares,
} from './acquisitions.js';
import { checkHarvested } from './harvest-basis.js';
import {
  Acquisition,
  AcquisitionChange,
  AcquisitionCreate,
  AcquisitionSource,
  Disposition,
  Machine,
  MachineChange,
  MachineCreate,
  MachineKind,
  SplitGiven,
} from './machines.shapes.js';
import { requireMachineOnHand } from './on-hand.js';

/** Writes an acquisition's row; its cost is split once its machines are there. */
export async function addAcquisition(context: OperationContext, input: Presentable): Promise<Presentable> {
  refuseFuture(context, input.acquiredDate);
  const { haulCostPerKilometre } = await readShop(context);
  const price = checkAmount(input.price, context.shop.currency, '/price');
  if (input.haulCost) checkAmount(input.haulCost, context.shop.currency, '/haulCost');
  const fees = checkAmount(input.fees, context.shop.currency, '/fees');
  const haulCost = haulCostOf(
    input.haulCost,
    input.haulKilometres,
    haulCostPerKilometre.toString(),
    context.shop.currency,
  );
  return context.tx.acquisition.create({
    data: {
      shopId: context.shop.id,
      ...asColumns(AcquisitionCreate, input),
      price: price.toString(),
      haulCost: haulCost.toString(),
      fees: fees.toString(),
    } as never,
  });
}

function refuseFuture(context: OperationContext, acquiredDate: string): void {
  if (acquiredDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/acquiredDate' }]);
}

/** Writes a machine's row, without a share yet. @param pointer where the machine stands in the input */
export async function addMachine(
  context: OperationContext,
  input: Presentable,
  acquisitionId: string | null,
  pointer = '',
): Promise<Presentable> {
  if (input.valueAsFound) checkAmount(input.valueAsFound, context.shop.currency, `${pointer}/valueAsFound`);
  const { acquisitionId: _given, ...columns } = asColumns(MachineCreate, input);
  return context.tx.machine.create({
    data: {
      shopId: context.shop.id,
      ...columns,
      equipment: equipmentOf(input.equipment),
      acquisitionId,
      acquisitionShare: '0',
    } as never,
  });
}

/** What stands offered must be for sale, or the next buyer's call finds it kept or in pieces. */
async function refuseOffered(context: OperationContext, machineId: string): Promise<void> {
  const offered = await context.tx.offer.count({ where: { withdrawnDate: null, job: { machineId } } });
  if (offered > 0) throw new Conflict('offered', 'This machine is offered for sale; withdraw the offer first.');
}

const equipmentOf = (given: Presentable[]) =>
  given.map((one) => ({ name: one.name, status: one.status, note: one.note ?? null }));

async function createMachine(context: OperationContext, input: Presentable): Promise<Presentable> {
  if (!input.acquisitionId) return addMachine(context, input, null);
  await lockForMachines(context, input.acquisitionId);
  const machine = await addMachine(context, input, input.acquisitionId);
  await resplit(context, input.acquisitionId);
  return findOne(context.tx.machine, 'machine', machine.id);
}

/** Before a machine joins or leaves an acquisition. @throws NotFound; Conflict when it was archived, or split by hand */
async function lockForMachines(context: OperationContext, acquisitionId: string): Promise<void> {
  const acquisition = await lockAcquisition(context, acquisitionId);
  if (acquisition.archivedAt)
    throw new Conflict('archived', 'This acquisition was archived and is only kept for history.');
  if (acquisition.splitMethod === 'manual') {
    throw new Conflict(
      'manual-split',
      'This acquisition was split by hand. Change its splitMethod to byValue or equal before its machines change; afterwards it can be split by hand again.',
    );
  }
}

/** The acquisitions whose shares a change of a machine moves, in the order in which they are locked. */
function movedBy(before: Presentable, after: Presentable): string[] {
  if (before.acquisitionId === after.acquisitionId)
    return before.acquisitionId && String(before.valueAsFound) !== String(after.valueAsFound)
      ? [before.acquisitionId]
      : [];
  return [before.acquisitionId, after.acquisitionId].filter((one) => one !== null).sort();
}

/** Null asks for what creating without a haul cost does; a cost that was computed so follows a change of the distance. */
async function computeHaul(context: OperationContext, before: Presentable, columns: Presentable): Promise<void> {
  if (columns.haulCost !== null && (columns.haulCost !== undefined || columns.haulKilometres === undefined)) return;
  const { haulCostPerKilometre } = await readShop(context);
  const reckoned = (kilometres: unknown) =>
    haulCostOf(null, Number(kilometres), haulCostPerKilometre.toString(), context.shop.currency);
  const anew = reckoned(columns.haulKilometres ?? before.haulKilometres);
  const given = !reckoned(before.haulKilometres).equals(before.haulCost.toString());
  if (columns.haulCost === null || (!given && !anew.equals(before.haulCost.toString())))
    columns.haulCost = anew.toString();
}

/** Splits an acquisition by hand, its cost corrected along with the shares if need be. */
async function splitByHand(context: OperationContext, input: z.output<typeof SplitGiven>): Promise<Presentable> {
  const before = await lockAcquisition(context, input.id);
  if (before.archivedAt) throw new Conflict('archived', 'This acquisition was archived and is only kept for history.');
  const { currency } = context.shop;
  const amountOf = (key: 'price' | 'haulCost' | 'fees'): string =>
    (input[key] ? checkAmount(input[key], currency, `/${key}`) : before[key]).toString();
  const amounts = { price: amountOf('price'), haulCost: amountOf('haulCost'), fees: amountOf('fees') };
  const machines = await machinesOf(context, before.id);
  const given = new Map(input.shares.map(({ machineId, share }, index) => [machineId, { share, index }]));
  const foreign = input.shares.findIndex(({ machineId }) => !machines.some((machine) => machine.id === machineId));
  if (foreign >= 0) throw new NotFound('machine of this acquisition', input.shares[foreign]!.machineId);
  if (given.size !== machines.length || given.size !== input.shares.length) {
    throw new Invalid([{ detail: `needs one share for each of its ${machines.length} machines`, pointer: '/shares' }]);
  }
  const shares = splitCost(
    totalCostOf(amounts),
    'manual',
    machines.map((machine) => given.get(machine.id)!),
    currency,
    (index) => `/shares/${given.get(machines[index]!.id)!.index}`,
  );
  await changeRow(context.tx.acquisition, 'acquisition', before.id, input.version, {
    splitMethod: 'manual',
    ...amounts,
  });
  await writeShares(context, machines, shares);
  return findOne(context.tx.acquisition, 'acquisition', before.id);
}

export const machineOperations = [
  ...records({
    name: 'acquisition',
    plural: 'acquisitions',
    rows: (tx) => tx.acquisition,
    shape: Acquisition,
    create: AcquisitionCreate,
    change: AcquisitionChange,
    filters: { source: AcquisitionSource.nullish(), acquiredFrom: day.nullish(), acquiredTo: day.nullish() },
    where: (filters) => ({
      ...(filters.source ? { source: filters.source } : {}),
      acquiredDate: {
        ...(filters.acquiredFrom ? { gte: asDate(filters.acquiredFrom as string) } : {}),
        ...(filters.acquiredTo ? { lte: asDate(filters.acquiredTo as string) } : {}),
      },
    }),
    sorts: ['acquiredDate', 'createdAt'],
    standardSort: '-acquiredDate',
    onCreate: addAcquisition,
    async onChange(context, before, columns) {
      for (const key of ['price', 'haulCost', 'fees'])
        if (columns[key]) checkAmount(columns[key] as string, context.shop.currency, `/${key}`);
      if (columns.acquiredDate) refuseFuture(context, asDay(columns.acquiredDate as Date));
      await computeHaul(context, before, columns);
      if (columns.splitMethod === 'manual' && before.splitMethod !== 'manual')
        throw new Invalid([
          { detail: 'a manual split needs the shares: use splitAcquisition', pointer: '/splitMethod' },
        ]);
      if (
        (columns.splitMethod ?? before.splitMethod) === 'manual' &&
        (columns.price || columns.haulCost || columns.fees)
      ) {
        throw new Conflict(
          'manual-split',
          'This acquisition was split by hand; change its cost together with its shares, by splitAcquisition.',
        );
      }
      return columns;
    },
    afterChange: (context, _before, after) => resplit(context, after.id),
    async onArchive(context, before) {
      const machines = await context.tx.machine.count({ where: { acquisitionId: before.id, archivedAt: null } });
      if (machines > 0) throw new Conflict('has-machines', 'Archive its machines first.');
    },
  }),
  command({
    name: 'splitAcquisition',
    summary:
      'Split an acquisition over its machines by hand; its price, haul and fees may be corrected along with the shares',
    rest: { method: 'PUT', path: '/acquisitions/:id/split' },
    input: SplitGiven,
    output: Acquisition,
    run: splitByHand,
  }),
  ...records({
    name: 'machine',
    plural: 'machines',
    rows: (tx) => tx.machine,
    shape: Machine,
    create: MachineCreate,
    change: MachineChange,
    filters: {
      kind: MachineKind.nullish(),
      disposition: Disposition.nullish(),
      acquisitionId: id.nullish(),
      maker: text(80).nullish(),
    },
    sorts: ['createdAt', 'maker', 'model'],
    onCreate: createMachine,
    async onChange(context, before, columns) {
      if (columns.valueAsFound) checkAmount(columns.valueAsFound as string, context.shop.currency, '/valueAsFound');
      // Shares may move: acquisitions are locked before their machines by everybody.
      const after = { ...before, ...columns };
      const joins = before.acquisitionId !== after.acquisitionId;
      for (const one of movedBy(before, after)) await (joins ? lockForMachines : lockAcquisition)(context, one);
      if (joins && after.acquisitionId === null) {
        await checkHarvested(context, new Map([[before.id, new Decimal(0)]]));
        columns.acquisitionShare = '0';
      }
      if (columns.disposition && columns.disposition !== before.disposition) {
        // Held, so that it is not sold in the meantime. What was sold is not ours to keep, take apart or scrap.
        await lock(context, 'Machine', [before.id]);
        await requireMachineOnHand(context, before.id, ['sold']);
        if (before.disposition === 'sell') await refuseOffered(context, before.id);
      }
      if (columns.equipment) columns.equipment = equipmentOf(columns.equipment as Presentable[]);
      return columns;
    },
    async afterChange(context, before, after) {
      for (const one of movedBy(before, after)) await resplit(context, one);
    },
    async onArchive(context, before) {
      const open = await context.tx.job.count({ where: { machineId: before.id, closedDate: null, archivedAt: null } });
      if (open > 0) throw new Conflict('job-open', 'Close its job first.');
    },
  }),
];
