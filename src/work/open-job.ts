/** Opening a job: under the shop's next number, with what was found already and the tasks of a route. */
import type { z } from 'zod';
import { at } from '../engine/look-up.js';
import { machineName } from '../machines/machine-name.js';
import { requireMachineOnHand, requireSoldMachine } from '../machines/on-hand.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import type { Stored } from '../platform/operation/stored.js';
import { applyRouteTo } from './routes.js';
import type { JobPurpose } from './work.shapes.js';

export interface NewJob {
  machineId: string;
  title?: string | null | undefined;
  /** To refurbish it unless said. */
  purpose?: z.output<typeof JobPurpose>;
  openedDate?: string | null | undefined;
  promisedDate?: string | null | undefined;
  priority?: number | undefined;
  notes?: string | null | undefined;
  routeId?: string | null | undefined;
}

/**
 * Opens a job on a machine, takes along what was found on the machine already, and lays out the route's tasks.
 * @returns the job's row
 * @throws NotFound, Conflict `job-open` when the machine has an open job, `archived` when it is history, `machine-sold`,
 *   `machine-parted-out` or `machine-scrapped` when it is no longer there to work on; Refused `not-sold` for a warranty job
 *   on a machine that is the shop's
 */
export async function openJob(context: OperationContext, input: NewJob): Promise<Stored<'job'>> {
  const openedDate = input.openedDate ?? context.today;
  if (openedDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/openedDate' }]);
  // Held, so that it is not sold or marked as scrap in the meantime.
  await lock(context, 'Machine', [input.machineId]);
  const machine = await context.tx.machine.findFirst({ where: { id: input.machineId } });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.archivedAt) throw new Conflict('archived', 'This machine was archived and is only kept for history.');
  const open = await context.tx.job.findFirst({ where: { machineId: machine.id, closedDate: null, archivedAt: null } });
  if (open)
    throw new Conflict(
      'job-open',
      `This machine already has an open job, number ${open.number}; finish or close that one first.`,
    );
  const purpose = input.purpose ?? 'refurbish';
  await (purpose === 'warranty' ? requireSoldMachine : requireMachineOnHand)(context, machine.id);
  if (machine.disposition === 'scrap') {
    throw new Conflict(
      'machine-scrapped',
      'This machine\'s disposition is "scrap". Change it to "donor" to take the ' +
        'machine apart, or to "sell" or "keep" to restore it after all.',
    );
  }
  // Or the days between would be counted on both.
  const last = await context.tx.job.findFirst({
    where: { machineId: machine.id, archivedAt: null, closedDate: { gt: asDate(openedDate) } },
    orderBy: { closedDate: 'desc' },
  });
  if (last?.closedDate)
    throw new Invalid([
      {
        detail: `lies before the machine's job ${last.number} was closed on ${asDay(last.closedDate)}`,
        pointer: '/openedDate',
      },
    ]);
  const returned = await context.tx.sale.findFirst({
    where: { job: { machineId: machine.id }, reversedDate: null, returnedDate: { gt: asDate(openedDate) } },
    orderBy: { returnedDate: 'desc' },
  });
  if (returned?.returnedDate)
    throw new Invalid([
      {
        detail: `lies before the machine came back from its buyer on ${asDay(returned.returnedDate)}`,
        pointer: '/openedDate',
      },
    ]);
  const job = await context.tx.job.create({
    data: {
      shopId: context.shop.id,
      machineId: machine.id,
      number: await nextNumber(context),
      purpose,
      title: input.title ?? machineName(machine),
      openedDate: asDate(openedDate),
      promisedDate: input.promisedDate ? asDate(input.promisedDate) : null,
      priority: input.priority ?? 0,
      notes: input.notes ?? null,
    },
  });
  await context.tx.finding.updateMany({
    where: { machineId: machine.id, jobId: null, archivedAt: null },
    data: { jobId: job.id },
  });
  if (input.routeId) await applyRouteTo(context, job, input.routeId);
  return job;
}

/** The increment locks the shop's row, so two jobs opened at once cannot get one number. */
async function nextNumber(context: OperationContext): Promise<number> {
  const rows = await context.tx.$queryRaw<{ number: number }[]>`
    UPDATE "Shop" SET "lastJobNumber" = "lastJobNumber" + 1 WHERE id = ${context.shop.id}::uuid RETURNING "lastJobNumber" AS number`;
  return at(rows, 0).number;
}
