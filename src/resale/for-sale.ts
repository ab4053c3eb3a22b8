/** What must hold before a machine is offered or sold. */
import { missingSafetyChecks } from '../diagnosis/diagnosis.queries.js';
import { Refused } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import type { Stored } from '../platform/operation/stored.js';
import { lockOpenJob } from '../work/jobs.js';

/**
 * @throws Refused when its safety checks are not all passed: nobody is handed a machine that was not tried. One sold as found
 *   needs the record that its fuel is drained and its spark plug wire off instead
 */
export async function refuseUnsafe(context: OperationContext, jobId: string): Promise<void> {
  const job = await context.tx.job.findFirst({ where: { id: jobId }, select: { scope: true, asFoundDate: true } });
  if (job?.scope === 'sellAsFound') {
    if (job.asFoundDate) return;
    throw new Refused(
      'not-recorded-as-found',
      'Before this machine is sold as found, record that it is: fuel drained, spark plug wire off, not safe to run (recordAsFound).',
    );
  }
  const missing = await missingSafetyChecks(context, jobId);
  if (missing.length === 0) return;
  throw new Refused(
    'safety-checks-missing',
    `Before this machine is offered or sold, record as passed: ${missing.map((check) => check.title).join('; ')}.`,
    { missing: missing.map((check) => check.code) },
  );
}

export async function jobToSell(context: OperationContext, jobId: string): Promise<Stored<'job'>> {
  const job = await lockOpenJob(context, jobId);
  if (job.purpose === 'warranty')
    throw new Refused(
      'not-for-sale',
      "This is a warranty job: the machine is its buyer's. If it was brought back, record a refund of the sale with the machine returned.",
    );
  // Held, so that it stays for sale until the offer or the sale stands.
  await lock(context, 'Machine', [job.machineId]);
  const machine = await context.tx.machine.findFirst({ where: { id: job.machineId } });
  if (machine?.disposition !== 'sell')
    throw new Refused(
      'not-for-sale',
      `This machine's disposition is "${machine?.disposition}"; change it to "sell" first.`,
    );
  return job;
}
