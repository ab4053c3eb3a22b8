/** What is missing on a machine: noted on it, found, and needed as a part with a price where one is known. */
import type { z } from 'zod';
import { likelyPrices } from '../../cost/remaining.queries.js';
import { addFinding } from '../../diagnosis/diagnosis.operations.js';
import { engineTypeOf } from '../../machines/engine-type.js';
import type { Equipment } from '../../machines/machines.shapes.js';
import { type ChecklistCode, checklistFor, checklistItem } from '../../machines/missing-checklist.js';
import { Conflict, Invalid } from '../../platform/errors.js';
import { checkAmount } from '../../platform/money.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { findOne, type Stored } from '../../platform/operation/stored.js';

export interface MissingGiven {
  code: ChecklistCode;
  partId?: string | null | undefined;
  price?: string | null | undefined;
}

export interface MissingNoted {
  code: string;
  title: string;
  partNeedId: string | null;
  partName: string | null;
  price: string | null;
}

type Carried = z.output<typeof Equipment>;
// The column is written only through the shape.
export const equipmentOf = (machine: Stored<'machine'>) => machine.equipment as unknown as Carried[];

/** Whether the machine's equipment says that a thing of the checklist is missing. */
export const isMissing = (machine: Stored<'machine'>, title: string): boolean =>
  equipmentOf(machine).some((one) => one.status === 'missing' && one.name.toLowerCase() === title.toLowerCase());

/**
 * Notes what is missing. What was noted before is left as it is. Without an open job, or with one that has no task to fit
 * things at, there is no need yet: the finding says so.
 * @param pointer where the list stands in the input
 * @throws Invalid for what a machine of this kind does not have
 */
export async function noteMissing(
  context: OperationContext,
  machineId: string,
  given: readonly MissingGiven[],
  foundDate: string,
  pointer: string,
): Promise<MissingNoted[]> {
  if (given.length === 0) return [];
  const machine = await context.tx.machine.findUniqueOrThrow({ where: { id: machineId } });
  const known = new Set(checklistFor(machine.kind, engineTypeOf(machine)).map((item) => item.code));
  const job = await context.tx.job.findFirst({ where: { machineId, closedDate: null, archivedAt: null } });
  const task = job && (await taskToFitAt(context, job.id));
  const noted: MissingNoted[] = [];
  let equipment = equipmentOf(machine);
  for (const [index, one] of given.entries()) {
    const item = checklistItem(one.code);
    if (!known.has(one.code))
      throw new Invalid([
        { detail: `a ${machine.kind} as this one has no such thing`, pointer: `${pointer}/${index}/code` },
      ]);
    if (one.price) checkAmount(one.price, context.shop.currency, `${pointer}/${index}/price`);
    if (equipment.some((had) => had.status === 'missing' && had.name === item.title)) continue;
    equipment = [
      ...equipment.filter((had) => had.name !== item.title),
      { name: item.title, status: 'missing', note: null },
    ];
    const part = await partFor(context, machine, one, item.part, `${pointer}/${index}/partId`);
    const need = task
      ? await context.tx.partNeed.create({
          data: { shopId: context.shop.id, taskId: task.id, partId: part.id, quantity: item.part.quantity },
        })
      : null;
    const finding = await addFinding(
      context,
      {
        machineId,
        component: item.title,
        observation: 'Missing when the machine was looked through.',
        verdict: 'replace',
        foundDate,
      },
      `${pointer}/${index}`,
    );
    if (need) await context.tx.finding.update({ where: { id: finding.id }, data: { partNeedId: need.id } });
    noted.push({
      code: one.code,
      title: item.title,
      partNeedId: need?.id ?? null,
      partName: part.name,
      price: (await likelyPrices(context, [part.id])).get(part.id)?.toString() ?? null,
    });
  }
  await writeEquipment(context, machineId, equipment);
  return noted;
}

/** Where things are put on again: the first assembly still to be finished, else the last task to do. */
async function taskToFitAt(context: OperationContext, jobId: string): Promise<Stored<'task'> | null> {
  const open = await context.tx.task.findMany({
    where: { jobId, finishedAt: null, archivedAt: null },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  return open.find((task) => task.kind === 'assemble') ?? open.at(-1) ?? null;
}

/** The part as given; else the catalogue's of that name, best one that is known to fit the model; else a new entry. */
async function partFor(
  context: OperationContext,
  machine: Stored<'machine'>,
  given: MissingGiven,
  wanted: { name: string; family: string; designedToFail?: boolean },
  pointer: string,
): Promise<Stored<'part'>> {
  const priced = async (part: Stored<'part'>) =>
    given.price
      ? context.tx.part.update({
          where: { id: part.id },
          data: { expectedPrice: given.price, version: { increment: 1 } },
        })
      : part;
  if (given.partId) {
    const part = await context.tx.part.findFirst({ where: { id: given.partId, archivedAt: null } });
    if (!part) throw new Invalid([{ detail: 'is no part of the catalogue', pointer }]);
    return priced(part);
  }
  const { maker, model } = machine;
  const models = (part: Stored<'part'>) => part.fitsModels as { maker: string; model: string }[];
  const forModel = (part: Stored<'part'>) => models(part).some((one) => one.maker === maker && one.model === model);
  const named = await context.tx.part.findMany({
    where: { archivedAt: null, name: { startsWith: wanted.name, mode: 'insensitive' } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const fitting = named.filter(
    (part) =>
      (part.fits.length === 0 || part.fits.includes(machine.kind)) &&
      /^(,.*)?$/.test(part.name.slice(wanted.name.length)),
  );
  // What is made to break is the exact one its maker names: never one entry for all machines.
  const ownName = `${wanted.name}, ${maker && model ? `${maker} ${model}` : `machine ${machine.id.slice(-6)}`}`;
  const known =
    fitting.find(forModel) ??
    fitting.find((part) => (wanted.designedToFail ? part.name === ownName : models(part).length === 0));
  if (known) return priced(known);
  const name = wanted.designedToFail ? ownName : wanted.name;
  return context.tx.part.create({
    data: {
      shopId: context.shop.id,
      // Names are unique in a shop's catalogue.
      name: named.some((part) => part.name === name) ? `${name}, ${machine.kind}` : name,
      family: wanted.family,
      designedToFail: wanted.designedToFail ?? false,
      fits: [machine.kind],
      fitsModels: wanted.designedToFail && maker && model ? [{ maker, model }] : [],
      expectedPrice: given.price ?? null,
    },
  });
}

/**
 * Takes back that a thing is missing: it is on the machine after all. Its finding and its need are archived.
 * @throws Conflict `not-missing` when it was not noted so; `already-used` when one was fitted
 */
export async function unnoteMissing(context: OperationContext, machineId: string, code: ChecklistCode): Promise<void> {
  const machine = await findOne(context.tx.machine, 'machine', machineId);
  const { title } = checklistItem(code);
  if (!isMissing(machine, title)) throw new Conflict('not-missing', `${title} is not noted as missing.`);
  const findings = await context.tx.finding.findMany({
    where: { machineId, archivedAt: null, component: title, verdict: 'replace' },
    include: { partNeed: true },
  });
  for (const { id: findingId, partNeed } of findings) {
    if (partNeed?.usedDate) throw new Conflict('already-used', `${title} was fitted; take that back first.`);
    if (partNeed && !partNeed.archivedAt)
      await context.tx.partNeed.update({
        where: { id: partNeed.id },
        data: { archivedAt: context.now, stockId: null, orderLineId: null, version: { increment: 1 } },
      });
    await context.tx.finding.update({
      where: { id: findingId },
      data: { archivedAt: context.now, version: { increment: 1 } },
    });
  }
  await writeEquipment(
    context,
    machineId,
    equipmentOf(machine).map((one) => (one.name === title ? { ...one, status: 'fitted' as const } : one)),
  );
}

const writeEquipment = (context: OperationContext, machineId: string, equipment: Carried[]) =>
  context.tx.machine.update({ where: { id: machineId }, data: { equipment, version: { increment: 1 } } });
