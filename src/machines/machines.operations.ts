import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { checkHarvested } from './harvest-basis.js';
import { lock } from '../platform/operation/rows.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { type Call, command, type Presentable } from '../platform/operation/operation.js';
import { asColumns, asDate, asDay, changeRow, findOne, records } from '../platform/operation/crud-operations.js';
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
import { refuseGone } from './on-hand.js';
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

/** Writes an acquisition's row; its cost is split once its machines are there. */
export async function addAcquisition(call: Call, input: Presentable): Promise<Presentable> {
  refuseFuture(call, input.acquiredOn);
  const { haulCostPerKilometre } = await readShop(call);
  const price = checkAmount(input.price, call.shop.currency, '/price');
  if (input.haulCost) checkAmount(input.haulCost, call.shop.currency, '/haulCost');
  const fees = checkAmount(input.fees, call.shop.currency, '/fees');
  const haulCost = haulCostOf(
    input.haulCost,
    input.haulKilometres,
    haulCostPerKilometre.toString(),
    call.shop.currency,
  );
  return call.tx.acquisition.create({
    data: {
      shopId: call.shop.id,
      ...asColumns(AcquisitionCreate, input),
      price: price.toString(),
      haulCost: haulCost.toString(),
      fees: fees.toString(),
    } as never,
  });
}

function refuseFuture(call: Call, acquiredOn: string): void {
  if (acquiredOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/acquiredOn' }]);
}

/** Writes a machine's row, without a share yet. @param pointer where the machine stands in the input */
export async function addMachine(
  call: Call,
  input: Presentable,
  acquisitionId: string | null,
  pointer = '',
): Promise<Presentable> {
  if (input.valueAsFound) checkAmount(input.valueAsFound, call.shop.currency, `${pointer}/valueAsFound`);
  const { acquisitionId: _given, ...columns } = asColumns(MachineCreate, input);
  return call.tx.machine.create({
    data: {
      shopId: call.shop.id,
      ...columns,
      equipment: equipmentOf(input.equipment),
      acquisitionId,
      acquisitionShare: '0',
    } as never,
  });
}

/** What stands offered must be for sale, or the next buyer's call finds it kept or in pieces. */
async function refuseOffered(call: Call, machineId: string): Promise<void> {
  const offered = await call.tx.offer.count({ where: { withdrawnOn: null, job: { machineId } } });
  if (offered > 0) throw new Conflict('offered', 'This machine is offered for sale; withdraw the offer first.');
}

const equipmentOf = (given: Presentable[]) =>
  given.map((one) => ({ name: one.name, state: one.state, note: one.note ?? null }));

async function createMachine(call: Call, input: Presentable): Promise<Presentable> {
  if (!input.acquisitionId) return addMachine(call, input, null);
  await lockForMachines(call, input.acquisitionId);
  const machine = await addMachine(call, input, input.acquisitionId);
  await resplit(call, input.acquisitionId);
  return findOne(call.tx.machine, 'machine', machine.id);
}

/** Before a machine joins or leaves an acquisition. @throws NotFound; Conflict when it was retired, or split by hand */
async function lockForMachines(call: Call, acquisitionId: string): Promise<void> {
  const acquisition = await lockAcquisition(call, acquisitionId);
  if (acquisition.retiredAt)
    throw new Conflict('retired', 'This acquisition was retired and is only kept for history.');
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

/** Null asks for what creating without a haul cost does; a cost that was reckoned so follows a change of the distance. */
async function reckonHaul(call: Call, before: Presentable, columns: Presentable): Promise<void> {
  if (columns.haulCost !== null && (columns.haulCost !== undefined || columns.haulKilometres === undefined)) return;
  const { haulCostPerKilometre } = await readShop(call);
  const reckoned = (kilometres: unknown) =>
    haulCostOf(null, Number(kilometres), haulCostPerKilometre.toString(), call.shop.currency);
  const anew = reckoned(columns.haulKilometres ?? before.haulKilometres);
  const given = !reckoned(before.haulKilometres).equals(before.haulCost.toString());
  if (columns.haulCost === null || (!given && !anew.equals(before.haulCost.toString())))
    columns.haulCost = anew.toString();
}

/** Splits an acquisition by hand, its cost corrected along with the shares if need be. */
async function splitByHand(call: Call, input: z.output<typeof SplitGiven>): Promise<Presentable> {
  const before = await lockAcquisition(call, input.id);
  if (before.retiredAt) throw new Conflict('retired', 'This acquisition was retired and is only kept for history.');
  const { currency } = call.shop;
  const amountOf = (key: 'price' | 'haulCost' | 'fees'): string =>
    (input[key] ? checkAmount(input[key], currency, `/${key}`) : before[key]).toString();
  const amounts = { price: amountOf('price'), haulCost: amountOf('haulCost'), fees: amountOf('fees') };
  const machines = await machinesOf(call, before.id);
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
  await changeRow(call.tx.acquisition, 'acquisition', before.id, input.version, { splitMethod: 'manual', ...amounts });
  await writeShares(call, machines, shares);
  return findOne(call.tx.acquisition, 'acquisition', before.id);
}

export const intakeOperations = [
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
      acquiredOn: {
        ...(filters.acquiredFrom ? { gte: asDate(filters.acquiredFrom as string) } : {}),
        ...(filters.acquiredTo ? { lte: asDate(filters.acquiredTo as string) } : {}),
      },
    }),
    sorts: ['acquiredOn', 'createdAt'],
    standardSort: '-acquiredOn',
    onCreate: addAcquisition,
    async onChange(call, before, columns) {
      for (const key of ['price', 'haulCost', 'fees'])
        if (columns[key]) checkAmount(columns[key] as string, call.shop.currency, `/${key}`);
      if (columns.acquiredOn) refuseFuture(call, asDay(columns.acquiredOn as Date));
      await reckonHaul(call, before, columns);
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
    afterChange: (call, _before, after) => resplit(call, after.id),
    async onRetire(call, before) {
      const machines = await call.tx.machine.count({ where: { acquisitionId: before.id, retiredAt: null } });
      if (machines > 0) throw new Conflict('has-machines', 'Retire its machines first.');
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
    async onChange(call, before, columns) {
      if (columns.valueAsFound) checkAmount(columns.valueAsFound as string, call.shop.currency, '/valueAsFound');
      // Shares may move: acquisitions are locked before their machines by everybody.
      const after = { ...before, ...columns };
      const joins = before.acquisitionId !== after.acquisitionId;
      for (const one of movedBy(before, after)) await (joins ? lockForMachines : lockAcquisition)(call, one);
      if (joins && after.acquisitionId === null) {
        await checkHarvested(call, new Map([[before.id, new Decimal(0)]]));
        columns.acquisitionShare = '0';
      }
      if (columns.disposition && columns.disposition !== before.disposition) {
        // Held, so that it is not sold in the meantime. What was sold is not ours to keep, take apart or scrap.
        await lock(call, 'Machine', [before.id]);
        await refuseGone(call, before.id, ['sold']);
        if (before.disposition === 'sell') await refuseOffered(call, before.id);
      }
      if (columns.equipment) columns.equipment = equipmentOf(columns.equipment as Presentable[]);
      return columns;
    },
    async afterChange(call, before, after) {
      for (const one of movedBy(before, after)) await resplit(call, one);
    },
    async onRetire(call, before) {
      const open = await call.tx.job.count({ where: { machineId: before.id, closedOn: null, retiredAt: null } });
      if (open > 0) throw new Conflict('job-open', 'Close its job first.');
    },
  }),
];
