/** Equipment taken off a machine or put on it, with all that follows, in one call. */
import { z } from 'zod';
import { workVerdicts } from '../../engine/diagnosis/index.js';
import { Machine } from '../../machines/machines.shapes.js';
import { Conflict, Invalid, NotFound } from '../../platform/errors.js';
import { asDate } from '../../platform/operation/columns.js';
import { command, type OperationContext, workers } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { amount, choice, id, quantity, shape, text } from '../../platform/shapes.js';
import { harvest } from '../../stock/harvest.operations.js';
import { withWorkEffects } from '../proposals/effects.js';
import { WorkEffects } from '../proposals/proposals.shapes.js';

interface Piece {
  name: string;
  status: 'fitted' | 'removed' | 'missing';
  note: string | null;
}

const EquipmentChange = choice('EquipmentChange', ['remove', 'add']);
const EquipmentGiven = z.strictObject({
  id,
  name: text(80),
  change: EquipmentChange,
  reason: text(200).nullish(),
  findingId: id.nullish().meta({ scalar: 'ID', description: 'The finding that it is for.' }),
  toBin: shape(
    'EquipmentToBin',
    { partId: id, bin: text(80), quantity: quantity.default(1), unitValue: amount, condition: text(200).nullish() },
    'What is taken off goes into a bin, with its part of the purchase, at most what it is worth. Left out, it goes to scrap.',
  ).nullish(),
  fromStockId: id.nullish().meta({ scalar: 'ID', description: 'The bin that what is added comes out of.' }),
});

export const EquipmentChanged = shape(
  'EquipmentChanged',
  {
    machine: Machine,
    jobTitle: z.string().nullable(),
    wentTo: z.string().meta({ description: 'What became of it: a bin, scrap, or the machine.' }),
    effects: WorkEffects.nullable(),
  },
  'What taking equipment off, or putting it on, has led to.',
);

const same = (a: string, b: string): boolean => a.trim().toLowerCase() === b.trim().toLowerCase();
const WITHOUT = /, without .*$/;

/** A title with what was taken off said at its end; what the owner wrote before it stays. */
const titleWith = (title: string, equipment: readonly Piece[]): string => {
  const gone = equipment.filter((one) => one.status === 'removed').map((one) => one.name.toLowerCase());
  const plain = title.replace(WITHOUT, '');
  return (gone.length > 0 ? `${plain}, without ${gone.join(' and ')}` : plain).slice(0, 160);
};

async function changeEquipment(context: OperationContext, given: z.output<typeof EquipmentGiven>): Promise<string> {
  const machine = await findOne(context.tx.machine, 'machine', given.id);
  if (machine.archivedAt) throw new Conflict('archived', 'This machine was archived and is only kept for history.');
  // The column is written only through the shape.
  const before = machine.equipment as unknown as Piece[];
  const known = before.find((one) => same(one.name, given.name));
  const wanted = given.change === 'remove' ? 'removed' : 'fitted';
  if (known?.status === wanted) throw new Conflict('already-so', `${known.name} is recorded as ${wanted} already.`);
  if (given.toBin && wanted === 'fitted')
    throw new Invalid([{ detail: 'belongs to what is removed', pointer: '/toBin' }]);
  if (given.fromStockId && wanted === 'removed')
    throw new Invalid([{ detail: 'belongs to what is added', pointer: '/fromStockId' }]);
  const piece: Piece = { name: known?.name ?? given.name, status: wanted, note: given.reason ?? null };
  const equipment = known ? before.map((one) => (one === known ? piece : one)) : [...before, piece];
  await context.tx.machine.update({
    where: { id: machine.id },
    data: { equipment: equipment.map((one) => ({ ...one })), version: { increment: 1 } },
  });
  const job = await context.tx.job.findFirst({ where: { machineId: machine.id, closedDate: null, archivedAt: null } });
  if (job) {
    const title = titleWith(job.title, equipment);
    if (title !== job.title)
      await context.tx.job.update({ where: { id: job.id }, data: { title, version: { increment: 1 } } });
  }
  if (given.findingId) await answerFinding(context, given.findingId, machine.id, wanted);
  if (wanted === 'fitted')
    return given.fromStockId
      ? fromBin(context, given.fromStockId, job?.id ?? null, piece.name)
      : 'It is on the machine.';
  if (!given.toBin) return 'It goes to scrap.';
  const { partId, bin, quantity: pieces, unitValue, condition } = given.toBin;
  await harvest(
    context,
    {
      machineId: machine.id,
      restValue: (machine.valueAsFound ?? machine.acquisitionShare).toString(),
      parts: [{ partId, bin, quantity: pieces, unitValue, condition: condition ?? null }],
      notes: `${piece.name} taken off`,
    },
    { anyMachine: true },
  );
  return `It lies in bin ${bin}.`;
}

async function answerFinding(
  context: OperationContext,
  findingId: string,
  machineId: string,
  status: string,
): Promise<void> {
  const finding = await context.tx.finding.findFirst({ where: { id: findingId } });
  if (!finding) throw new NotFound('finding', findingId);
  if (finding.machineId !== machineId)
    throw new Invalid([{ detail: 'is a finding of another machine', pointer: '/findingId' }]);
  if (finding.decision === null && (workVerdicts as readonly string[]).includes(finding.verdict))
    await context.tx.finding.update({
      where: { id: finding.id },
      data: {
        decision: 'accepted',
        decisionReason: `The equipment was ${status}.`,
        decidedDate: asDate(context.today),
        version: { increment: 1 },
      },
    });
}

/** One piece out of a bin, held for nobody, whose cost the job bears. */
async function fromBin(
  context: OperationContext,
  stockId: string,
  jobId: string | null,
  name: string,
): Promise<string> {
  if (!jobId)
    throw new Invalid([{ detail: 'needs an open job on the machine, which bears its cost', pointer: '/fromStockId' }]);
  const stock = await findOne(context.tx.stock, 'stock', stockId);
  // As any part: noted on the task that fits it, and fitted there.
  const task = await context.tx.task.findFirst({
    where: { jobId, archivedAt: null, finishedAt: null, kind: { in: ['assemble', 'parts', 'repair', 'service'] } },
    orderBy: [{ position: 'desc' }],
  });
  if (!task)
    throw new Conflict(
      'no-task',
      'No task is left on the job that could fit it; add one first, or note the part there.',
    );
  await context.tx.partNeed.create({
    data: { shopId: context.shop.id, taskId: task.id, partId: stock.partId, quantity: 1, stockId: stock.id },
  });
  return `${name} comes out of bin ${stock.bin}, noted on "${task.name}".`;
}

export const equipmentOperations = [
  command({
    name: 'changeEquipment',
    summary:
      'Take equipment off a machine or put it on: its title, its expected price, bin or scrap and its papers follow',
    roles: workers,
    rest: { method: 'POST', path: '/machines/:id/equipment', status: 200 },
    creates: false,
    input: EquipmentGiven,
    output: EquipmentChanged,
    async run(context, input) {
      const job = await context.tx.job.findFirst({
        where: { machineId: input.id, closedDate: null, archivedAt: null },
      });
      const { result, effects } = job
        ? await withWorkEffects(context, job.id, () => changeEquipment(context, input))
        : { result: await changeEquipment(context, input), effects: null };
      return {
        id: input.id,
        machine: await findOne(context.tx.machine, 'machine', input.id),
        jobTitle: job ? (await findOne(context.tx.job, 'job', job.id)).title : null,
        wentTo: result,
        effects,
      };
    },
  }),
];
