import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asColumns, asDate, findOne, records } from '../platform/operation/records.js';
import { day, id, text } from '../platform/shapes.js';
import { checkAmount } from '../platform/money.js';
import { readShop } from '../shop/shop.queries.js';
import { haulCostOf, resplit } from './acquisitions.js';
import { Acquisition, AcquisitionChange, AcquisitionCreate, AcquisitionSource, Disposition, Machine, MachineChange, MachineCreate, MachineKind } from './intake.shapes.js';

/** Writes an acquisition's row; its cost is split once its machines are there. */
export async function addAcquisition(call: Call, input: Presentable): Promise<Presentable> {
  if (input.acquiredOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/acquiredOn' }]);
  const { haulCostPerKilometre } = await readShop(call);
  const price = checkAmount(input.price, call.shop.currency, '/price');
  if (input.haulCost) checkAmount(input.haulCost, call.shop.currency, '/haulCost');
  const haulCost = haulCostOf(input.haulCost, input.haulKilometres, haulCostPerKilometre.toString(), call.shop.currency);
  return call.tx.acquisition.create({
    data: { shopId: call.shop.id, ...asColumns(AcquisitionCreate, input), price: price.toString(), haulCost: haulCost.toString() } as never,
  });
}

/** Writes a machine's row, without a share yet. */
export async function addMachine(call: Call, input: Presentable, acquisitionId: string | null): Promise<Presentable> {
  if (input.valueAsFound) checkAmount(input.valueAsFound, call.shop.currency, '/valueAsFound');
  const { acquisitionId: _given, ...columns } = asColumns(MachineCreate, input);
  return call.tx.machine.create({
    data: { shopId: call.shop.id, ...columns, equipment: equipmentOf(input.equipment), acquisitionId, acquisitionShare: '0' } as never,
  });
}

const equipmentOf = (given: Presentable[]) => given.map((one) => ({ name: one.name, state: one.state, note: one.note ?? null }));

async function createMachine(call: Call, input: Presentable): Promise<Presentable> {
  if (!input.acquisitionId) return addMachine(call, input, null);
  const acquisition = await call.tx.acquisition.findFirst({ where: { id: input.acquisitionId } });
  if (!acquisition) throw new NotFound('acquisition', input.acquisitionId);
  if (acquisition.splitMethod === 'manual') throw new Conflict('manual-split', 'This acquisition was split by hand; a machine cannot join it without changing the other shares.');
  const machine = await addMachine(call, input, acquisition.id);
  await resplit(call, acquisition);
  return findOne(call.tx.machine, 'machine', machine.id);
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
      if (columns.price) checkAmount(columns.price as string, call.shop.currency, '/price');
      if (columns.haulCost) checkAmount(columns.haulCost as string, call.shop.currency, '/haulCost');
      if (columns.haulCost === null) delete columns.haulCost;
      if (columns.splitMethod === 'manual' && before.splitMethod !== 'manual') throw new Invalid([{ detail: 'a manual split is given when the machines come in; it cannot be chosen afterwards', pointer: '/splitMethod' }]);
      if (before.splitMethod === 'manual' && (columns.price || columns.haulCost)) throw new Conflict('manual-split', 'This acquisition was split by hand; its cost cannot change without its shares.');
      return columns;
    },
    afterChange: (call, _before, after) => resplit(call, after),
    async onRetire(call, before) {
      const machines = await call.tx.machine.count({ where: { acquisitionId: before.id, retiredAt: null } });
      if (machines > 0) throw new Conflict('has-machines', 'Retire its machines first.');
    },
  }),
  ...records({
    name: 'machine',
    plural: 'machines',
    rows: (tx) => tx.machine,
    shape: Machine,
    create: MachineCreate,
    change: MachineChange,
    filters: { kind: MachineKind.nullish(), disposition: Disposition.nullish(), acquisitionId: id.nullish(), maker: text(80).nullish() },
    sorts: ['createdAt', 'maker', 'model'],
    onCreate: createMachine,
    async onChange(call, _before, columns) {
      if (columns.valueAsFound) checkAmount(columns.valueAsFound as string, call.shop.currency, '/valueAsFound');
      if (columns.equipment) columns.equipment = equipmentOf(columns.equipment as Presentable[]);
      return columns;
    },
    async afterChange(call, before, after) {
      if (!after.acquisitionId || String(before.valueAsFound) === String(after.valueAsFound)) return;
      await resplit(call, await findOne(call.tx.acquisition, 'acquisition', after.acquisitionId));
    },
    async onRetire(call, before) {
      const open = await call.tx.job.count({ where: { machineId: before.id, closedOn: null, retiredAt: null } });
      if (open > 0) throw new Conflict('job-open', 'Close its job first.');
    },
  }),
];
