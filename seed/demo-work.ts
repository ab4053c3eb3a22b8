/** How the demo's people work a job through: task after task in the free hours of two people, parts as they come. */
import { requiredChecks } from '../src/diagnosis/safety-checks.js';
import { at, lookUp } from '../src/engine/look-up.js';
import type { Page } from '../src/platform/operation/page.js';
import type { Stored } from '../src/platform/operation/stored.js';
import type { CompleteNeed } from '../src/purchasing/needs.queries.js';
import type { TaskWithStatus } from '../src/work/tasks.js';
import { type DemoPart, type DemoShop, partPrices } from './demo-shop.js';
import type { LoadedRecord, Loader } from './loader.js';

export interface Bought {
  machine: Record<string, unknown>;
  source: string;
  price: string;
  haulKilometres: number;
  seller?: string;
  claims?: string;
  acquiredDaysAgo: number;
}

/** Takes a machine in, alone. @returns its row */
export async function takeMachine(load: Loader, bought: Bought): Promise<Stored<'machine'>> {
  const on = load.day(bought.acquiredDaysAgo);
  const acquisition = await load.do(
    'createAcquisition',
    {
      source: bought.source,
      acquiredDate: on,
      price: bought.price,
      haulKilometres: bought.haulKilometres,
      seller: bought.seller,
      sellerClaims: bought.claims,
    },
    on,
  );
  return load.do<Stored<'machine'>>('createMachine', { ...bought.machine, acquisitionId: acquisition.id }, on);
}

/** Opens a job with a route on a machine. @returns the job and its tasks by code */
export async function openDemoJob(
  load: Loader,
  machine: { id: string },
  routeId: string,
  daysAgo: number,
  more: object = {},
) {
  const on = load.day(daysAgo);
  const job = await load.do('createJob', { machineId: machine.id, routeId, ...more }, on);
  const page = await load.do<Page<TaskWithStatus>>('tasks', { jobId: job.id, first: 100 }, on);
  const tasks = new Map(page.rows.map((row) => [row.node.code, row.node]));
  return { job, tasks };
}

/**
 * Orders parts for a task, and says which finding they meet; they come after `leadDays`, or not yet.
 * @returns the order's lines
 */
export async function orderParts(
  load: Loader,
  shop: DemoShop,
  wanted: { part: DemoPart; quantity: number; taskId: string; meets?: LoadedRecord }[],
  orderedDaysAgo: number,
  leadDays: number,
  promisedAfterDays: number,
): Promise<{ lines: [LoadedRecord, ...LoadedRecord[]]; arrivesDaysAgo: number }> {
  const on = load.day(orderedDaysAgo);
  const supplier = partPrices[at(wanted, 0).part].supplier;
  const needs: string[] = [];
  for (const { part, quantity, taskId, meets } of wanted) {
    const { id } = await load.do('createPartNeed', { taskId, partId: shop.parts[part], quantity }, on);
    if (meets) await load.do('changeFinding', { id: meets.id, version: meets.version, partNeedId: id }, on);
    needs.push(id);
  }
  const { lines } = await load.do<{ lines: [LoadedRecord, ...LoadedRecord[]] }>(
    'createOrder',
    {
      supplierId: shop.suppliers[supplier],
      orderedDate: on,
      shippingCost: '6.50',
      lines: wanted.map(({ part, quantity }, index) => ({
        partId: shop.parts[part],
        quantity,
        unitPrice: partPrices[part].price,
        promisedDate: load.day(orderedDaysAgo - promisedAfterDays),
        partNeedIds: [needs[index]],
      })),
    },
    on,
  );
  const arrivesDaysAgo = orderedDaysAgo - leadDays;
  if (arrivesDaysAgo >= 0) {
    for (const [index, line] of lines.entries()) {
      await load.do(
        'recordReceipt',
        { id: line.id, quantity: at(wanted, index).quantity, bin: 'Job tray' },
        load.day(arrivesDaysAgo),
      );
    }
  }
  return { lines, arrivesDaysAgo };
}

/**
 * Works a job's tasks in order, up to and with one of them, as far as the days until today go.
 * @param notBefore the first day of work
 * @param readyDays for tasks that wait for parts: the day from which they are on hand, by task code
 * @returns the moment at which the last task worked on was finished
 */
export async function workOn(
  load: Loader,
  tasks: Map<string, TaskWithStatus>,
  upTo: string,
  notBefore: string,
  readyDays: Map<string, string> = new Map(),
): Promise<Date | undefined> {
  const finished = new Map<string, Date>();
  const byId = new Map([...tasks.values()].map((task) => [task.id, task]));
  let last: Date | undefined;
  for (const task of [...tasks.values()].sort((a, b) => a.position - b.position)) {
    let earliest = load.at(readyDays.get(task.code) ?? notBefore, 9);
    if (earliest < load.at(notBefore, 9)) earliest = load.at(notBefore, 9);
    let startable = true;
    for (const link of task.predecessors) {
      const before = finished.get(lookUp(byId, link.predecessorId).code);
      if (!before) startable = false;
      else earliest = new Date(Math.max(earliest.getTime(), before.getTime() + link.minWaitMinutes * 60_000));
    }
    if (!startable) break;
    const end = task.people === 0 ? await cure(load, task, earliest) : await work(load, task, earliest, finished, byId);
    if (!end) break;
    finished.set(task.code, end);
    last = end;
    if (task.code === upTo) break;
  }
  return last;
}

/** Time on the rack: begun when it can, finished when it is over. */
async function cure(load: Loader, task: TaskWithStatus, earliest: Date): Promise<Date | undefined> {
  if (earliest > load.now) return undefined;
  const end = new Date(earliest.getTime() + task.cureMinutes * 60_000);
  if (end > load.now) {
    await load.do('startTask', { id: task.id, at: earliest.toISOString() });
    return undefined;
  }
  await load.do('finishTask', { id: task.id, startedAt: earliest.toISOString(), at: end.toISOString() }, end);
  return end;
}

async function work(
  load: Loader,
  task: TaskWithStatus,
  earliest: Date,
  finished: Map<string, Date>,
  byId: Map<string, TaskWithStatus>,
): Promise<Date | undefined> {
  const minutes = Math.max(
    5,
    Math.round(load.between(task.minMinutes, task.maxMinutes) * 0.35 + task.handsOnMinutes * 0.65),
  );
  let slot = load.slot(earliest, minutes);
  for (const link of task.predecessors) {
    for (const { fromMinutes, toMinutes } of link.forbiddenIntervals as { fromMinutes: number; toMinutes: number }[]) {
      const before = lookUp(finished, lookUp(byId, link.predecessorId).code);
      const elapsed = slot ? (slot.start.getTime() - before.getTime()) / 60_000 : 0;
      if (slot && elapsed > fromMinutes && elapsed < toMinutes)
        slot = load.slot(new Date(before.getTime() + toMinutes * 60_000), minutes);
    }
  }
  if (!slot) return undefined;
  await load.do(
    'createLabourEntry',
    { taskId: task.id, personId: slot.personId, startedAt: slot.start.toISOString(), endedAt: slot.end.toISOString() },
    slot.end,
  );
  await load.do('finishTask', { id: task.id, at: slot.end.toISOString() }, slot.end);
  return slot.end;
}

/** Uses every part that a job's tasks needed, on the days the tasks were finished. */
export async function useParts(load: Loader, jobId: string, when: string): Promise<void> {
  const needs = await load.do<Page<CompleteNeed>>('partNeeds', { jobId, first: 100 }, when);
  for (const { node } of needs.rows) {
    if (node.status === 'onHand') await load.do('usePart', { id: node.id, version: node.version }, when);
  }
}

export async function passSafetyChecks(load: Loader, jobId: string, kind: string, when: string): Promise<void> {
  for (const { code } of requiredChecks(kind))
    await load.do(
      'createSafetyCheck',
      { jobId, check: code, passed: true, checkedBy: 'Mira Aldane', checkedDate: when },
      when,
    );
}
