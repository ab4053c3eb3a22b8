import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { at, lookUp } from '../engine/look-up.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asColumns, asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
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
import { machineName } from './machine-name.js';
import {
  Acquisition,
  AcquisitionChange,
  AcquisitionCreate,
  AcquisitionSource,
  Disposition,
  Machine,
  MachineChange,
  MachineCreate,
  type MachineInLot,
  MachineKind,
  SplitGiven,
} from './machines.shapes.js';
import { requireMachineOnHand } from './on-hand.js';

/** Writes an acquisition's row; its cost is split once its machines are there. */
export async function addAcquisition(
  context: OperationContext,
  input: z.output<typeof AcquisitionCreate>,
): Promise<Stored<'acquisition'>> {
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
    },
  });
}

function refuseFuture(context: OperationContext, acquiredDate: string): void {
  if (acquiredDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/acquiredDate' }]);
}

/** Writes a machine's row, without a share yet. @param pointer where the machine stands in the input */
export async function addMachine(
  context: OperationContext,
  input: z.output<typeof MachineInLot> | z.output<typeof MachineCreate>,
  acquisitionId: string | null,
  pointer = '',
): Promise<Stored<'machine'>> {
  if (input.valueAsFound) checkAmount(input.valueAsFound, context.shop.currency, `${pointer}/valueAsFound`);
  const { acquisitionId: _given, ...columns } = asColumns(MachineCreate, input);
  return context.tx.machine.create({
    data: {
      shopId: context.shop.id,
      ...columns,
      equipment: equipmentOf(input.equipment),
      acquisitionId,
      acquisitionShare: '0',
    },
  });
}

/** What stands offered must be for sale, or the next buyer's call finds it kept or in pieces. */
async function refuseOffered(context: OperationContext, machineId: string): Promise<void> {
  const offered = await context.tx.offer.count({ where: { withdrawnDate: null, job: { machineId } } });
  if (offered > 0) throw new Conflict('offered', 'This machine is offered for sale; withdraw the offer first.');
}

const equipmentOf = (given: z.output<typeof MachineCreate>['equipment']) =>
  given.map((one) => ({ name: one.name, status: one.status, note: one.note ?? null }));

async function createMachine(
  context: OperationContext,
  input: z.output<typeof MachineCreate>,
): Promise<Stored<'machine'>> {
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
      'This acquisition was split by hand. Change its splitMethod to byValue or equal ' +
        'before its machines change; afterwards it can be split by hand again.',
    );
  }
}

/** The acquisitions whose shares a change of a machine moves, in the order in which they are locked. */
type Shared = Pick<Stored<'machine'>, 'acquisitionId'> & { valueAsFound: { toString(): string } | null };
function movedBy(before: Shared, after: Shared): string[] {
  if (before.acquisitionId === after.acquisitionId)
    return before.acquisitionId && String(before.valueAsFound) !== String(after.valueAsFound)
      ? [before.acquisitionId]
      : [];
  return [before.acquisitionId, after.acquisitionId].filter((one) => one !== null).sort();
}

/** Null asks for what creating without a haul cost does; a cost that was computed so follows a change of the distance. */
async function computedHaul(
  context: OperationContext,
  before: Stored<'acquisition'>,
  { haulCost, haulKilometres }: { haulCost?: string | null | undefined; haulKilometres?: number | undefined },
): Promise<string | undefined> {
  if (typeof haulCost === 'string') return haulCost;
  if (haulCost === undefined && haulKilometres === undefined) return undefined;
  const { haulCostPerKilometre } = await readShop(context);
  const costOfHaul = (kilometres: unknown) =>
    haulCostOf(null, Number(kilometres), haulCostPerKilometre.toString(), context.shop.currency);
  const anew = costOfHaul(haulKilometres ?? before.haulKilometres);
  const given = !costOfHaul(before.haulKilometres).equals(before.haulCost.toString());
  if (haulCost === null) return anew.toString();
  return given || anew.equals(before.haulCost.toString()) ? undefined : anew.toString();
}

/** What was allowed for a machine taken in trade stands on the sale, too. @throws Conflict */
async function refuseTradedPrice(
  context: OperationContext,
  { id: acquisitionId, price }: Stored<'acquisition'>,
  given: { toString(): string },
): Promise<void> {
  if (new Decimal(given.toString()).equals(price.toString())) return;
  const traded = await context.tx.sale.count({ where: { tradeInAcquisitionId: acquisitionId, reversedDate: null } });
  if (traded > 0)
    throw new Conflict(
      'traded-in',
      'This machine was taken in trade: its price is what the sale allows for it. ' +
        'Reverse the sale and record it again to change that.',
    );
}

/** Splits an acquisition by hand, its cost corrected along with the shares if need be. */
async function splitByHand(
  context: OperationContext,
  input: z.output<typeof SplitGiven>,
): Promise<Stored<'acquisition'>> {
  const before = await lockAcquisition(context, input.id);
  if (before.archivedAt) throw new Conflict('archived', 'This acquisition was archived and is only kept for history.');
  const { currency } = context.shop;
  const amountOf = (key: 'price' | 'haulCost' | 'fees'): string =>
    (input[key] ? checkAmount(input[key], currency, `/${key}`) : before[key]).toString();
  const amounts = { price: amountOf('price'), haulCost: amountOf('haulCost'), fees: amountOf('fees') };
  await refuseTradedPrice(context, before, amounts.price);
  const machines = await machinesOf(context, before.id);
  const given = new Map(input.shares.map(({ machineId, share }, index) => [machineId, { share, index }]));
  const foreign = input.shares.find(({ machineId }) => !machines.some((machine) => machine.id === machineId));
  if (foreign) throw new NotFound('machine of this acquisition', foreign.machineId);
  if (given.size !== machines.length || given.size !== input.shares.length) {
    throw new Invalid([{ detail: `needs one share for each of its ${machines.length} machines`, pointer: '/shares' }]);
  }
  const shares = splitCost(
    totalCostOf(amounts),
    'manual',
    machines.map((machine) => lookUp(given, machine.id)),
    currency,
    (index) => `/shares/${lookUp(given, at(machines, index).id).index}`,
  );
  await changeRow(context.tx.acquisition, 'acquisition', before.id, input.version, {
    splitMethod: 'manual',
    ...amounts,
  });
  await writeShares(context, machines, shares);
  return findOne(context.tx.acquisition, 'acquisition', before.id);
}

export const machineOperations = [
  ...crudOperations({
    name: 'acquisition',
    plural: 'acquisitions',
    table: 'acquisition',
    shape: Acquisition,
    create: AcquisitionCreate,
    change: AcquisitionChange,
    filters: { source: AcquisitionSource.nullish(), acquiredFrom: day.nullish(), acquiredTo: day.nullish() },
    where: (filters) => ({
      ...(filters.source ? { source: filters.source } : {}),
      acquiredDate: {
        ...(filters.acquiredFrom ? { gte: asDate(filters.acquiredFrom) } : {}),
        ...(filters.acquiredTo ? { lte: asDate(filters.acquiredTo) } : {}),
      },
    }),
    sorts: ['acquiredDate', 'createdAt'],
    standardSort: '-acquiredDate',
    onCreate: addAcquisition,
    async onChange(context, before, columns) {
      if (columns.price) await refuseTradedPrice(context, before, columns.price);
      for (const key of ['price', 'haulCost', 'fees'] as const) {
        const given = columns[key];
        if (given) checkAmount(given, context.shop.currency, `/${key}`);
      }
      if (columns.acquiredDate) refuseFuture(context, asDay(columns.acquiredDate));
      const haulCost = await computedHaul(context, before, columns);
      if (columns.splitMethod === 'manual' && before.splitMethod !== 'manual')
        throw new Invalid([
          { detail: 'a manual split needs the shares: use splitAcquisition', pointer: '/splitMethod' },
        ]);
      if ((columns.splitMethod ?? before.splitMethod) === 'manual' && (columns.price || haulCost || columns.fees)) {
        throw new Conflict(
          'manual-split',
          'This acquisition was split by hand; change its cost together with its shares, by splitAcquisition.',
        );
      }
      return { ...columns, haulCost };
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
  ...crudOperations({
    name: 'machine',
    plural: 'machines',
    table: 'machine',
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
      if (columns.valueAsFound) checkAmount(columns.valueAsFound, context.shop.currency, '/valueAsFound');
      // Shares may move: acquisitions are locked before their machines by everybody.
      const after = { ...before, ...columns };
      const joins = before.acquisitionId !== after.acquisitionId;
      for (const one of movedBy(before, after)) await (joins ? lockForMachines : lockAcquisition)(context, one);
      if (joins && after.acquisitionId === null) {
        await checkHarvested(context, new Map([[before.id, new Decimal(0)]]));
      }
      if (columns.disposition && columns.disposition !== before.disposition) {
        // Held, so that it is not sold in the meantime. What was sold is not ours to keep, take apart or scrap.
        await lock(context, 'Machine', [before.id]);
        await requireMachineOnHand(context, before.id, ['sold']);
        if (before.disposition === 'sell') await refuseOffered(context, before.id);
      }
      return {
        ...columns,
        ...(columns.equipment ? { equipment: equipmentOf(columns.equipment) } : {}),
        ...(joins && after.acquisitionId === null ? { acquisitionShare: '0' } : {}),
      };
    },
    async afterChange(context, before, after) {
      for (const one of movedBy(before, after)) await resplit(context, one);
      // A job that goes by the machine's name is called so once maker and model are settled.
      const [was, is] = [machineName(before), machineName(after)];
      if (was !== is)
        await context.tx.job.updateMany({
          where: { machineId: before.id, title: was },
          data: { title: is, version: { increment: 1 } },
        });
    },
    async onArchive(context, before) {
      const open = await context.tx.job.count({ where: { machineId: before.id, closedDate: null, archivedAt: null } });
      if (open > 0) throw new Conflict('job-open', 'Close its job first.');
    },
  }),
];
