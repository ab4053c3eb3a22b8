/** Opening a job: under the shop's next number, with what was found already and the tasks of a route. */
import type { z } from 'zod';
import { needSold, refuseGone } from '../machines/on-hand.js';
import { lock } from '../platform/operation/rows.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDate, asDay } from '../platform/operation/crud-operations.js';
import { applyRouteTo } from './routes.js';
import type { JobPurpose } from './work.shapes.js';

export interface NewJob {
  machineId: string;
  title?: string | null | undefined;
  /** To refurbish it unless said. */
  purpose?: z.output<typeof JobPurpose>;
  openedOn?: string | null | undefined;
  promisedOn?: string | null | undefined;
  priority?: number | undefined;
  notes?: string | null | undefined;
  routeId?: string | null | undefined;
}

/**
 * Opens a job on a machine, takes along what was found on the machine already, and lays out the route's tasks.
 * @returns the job's row
 * @throws NotFound, Conflict `job-open` when the machine has an open job, `retired` when it is history, `machine-sold`,
 *   `machine-parted-out` or `machine-scrapped` when it is no longer there to work on; Refused `not-sold` for a warranty job
 *   on a machine that is the shop's
 */
export async function openJob(call: Call, input: NewJob): Promise<Presentable> {
  const openedOn = input.openedOn ?? call.today;
  if (openedOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/openedOn' }]);
  // Held, so that it is not sold or marked as scrap in the meantime.
  await lock(call, 'Machine', [input.machineId]);
  const machine = await call.tx.machine.findFirst({ where: { id: input.machineId } });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.retiredAt) throw new Conflict('retired', 'This machine was retired and is only kept for history.');
  const open = await call.tx.job.findFirst({ where: { machineId: machine.id, closedOn: null, retiredAt: null } });
  if (open)
    throw new Conflict(
      'job-open',
      `This machine already has an open job, number ${open.number}; finish or close that one first.`,
    );
  const purpose = input.purpose ?? 'refurbish';
  await (purpose === 'warranty' ? needSold : refuseGone)(call, machine.id);
  if (machine.disposition === 'scrap') {
    throw new Conflict(
      'machine-scrapped',
      'This machine\'s disposition is "scrap". Change it to "donor" to take the machine apart, or to "sell" or "keep" to restore it after all.',
    );
  }
  // Or the days between would be counted on both.
  const last = await call.tx.job.findFirst({
    where: { machineId: machine.id, retiredAt: null, closedOn: { gt: asDate(openedOn) } },
    orderBy: { closedOn: 'desc' },
  });
  if (last)
    throw new Invalid([
      {
        detail: `lies before the machine's job ${last.number} was closed on ${asDay(last.closedOn!)}`,
        pointer: '/openedOn',
      },
    ]);
  const returned = await call.tx.sale.findFirst({
    where: { job: { machineId: machine.id }, reversedOn: null, returnedOn: { gt: asDate(openedOn) } },
    orderBy: { returnedOn: 'desc' },
  });
  if (returned)
    throw new Invalid([
      {
        detail: `lies before the machine came back from its buyer on ${asDay(returned.returnedOn!)}`,
        pointer: '/openedOn',
      },
    ]);
  const job = await call.tx.job.create({
    data: {
      shopId: call.shop.id,
      machineId: machine.id,
      number: await nextNumber(call),
      purpose,
      title: input.title ?? `${machine.maker} ${machine.model}`,
      openedOn: asDate(openedOn),
      promisedOn: input.promisedOn ? asDate(input.promisedOn) : null,
      priority: input.priority ?? 0,
      notes: input.notes ?? null,
    },
  });
  await call.tx.finding.updateMany({
    where: { machineId: machine.id, jobId: null, retiredAt: null },
    data: { jobId: job.id },
  });
  if (input.routeId) await applyRouteTo(call, job, input.routeId);
  return job;
}

/** The increment locks the shop's row, so two jobs opened at once cannot get one number. */
async function nextNumber(call: Call): Promise<number> {
  const [row] = await call.tx.$queryRaw<{ number: number }[]>`
    UPDATE "Shop" SET "lastJobNumber" = "lastJobNumber" + 1 WHERE id = ${call.shop.id}::uuid RETURNING "lastJobNumber" AS number`;
  return row!.number;
}
