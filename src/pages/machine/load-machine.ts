/** A machine by its job's number. */
import { Machine } from '../../machines/machines.shapes.js';
import { NotFound } from '../../platform/errors.js';
import { Job } from '../../work/work.shapes.js';
import type { View } from '../frame/view.js';

export async function jobOf(view: View) {
  const number = Number(view.params.number);
  const { items } = Number.isInteger(number)
    ? await view.list('jobs', Job, { number, first: 1, includeArchived: true })
    : { items: [] };
  const [job] = items;
  if (!job) throw new NotFound(`job ${view.params.number}`);
  return job;
}

export async function machineOf(view: View) {
  const job = await jobOf(view);
  return { job, machine: await view.read('machine', Machine, { id: job.machineId }) };
}
