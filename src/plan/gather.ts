/** Everything the plan is made from, read in a constant number of statements however many jobs are open. */
import { curing } from '../finish/curing.queries.js';
import { arrivalForecasts, type ArrivalForecast } from '../parts/arrivals.queries.js';
import { needsOfJobs } from '../parts/needs.queries.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/records.js';
import { paintWindows } from '../season/paint-weather.queries.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { labourByTask } from '../work/labour.js';
import type { OpenHours } from './calendar.js';
import { HORIZON_DAYS, type AwaitedPart, type PlanRecords, type PlanTask } from './problem.js';
import { readyByDay } from './season.js';

/** The kinds of machine whose season is the snow. */
const snowKinds = new Set(['singleStageThrower', 'twoStageThrower']);

export async function gatherRecords(call: Call): Promise<PlanRecords> {
  const { tx } = call;
  const shop = await readShop(call);
  const jobs = await tx.job.findMany({
    where: { closedOn: null, retiredAt: null },
    orderBy: { number: 'asc' },
    include: { machine: { select: { kind: true, disposition: true } } },
  });
  const jobIds = jobs.map((job) => job.id);
  const [people, daysOff, places, tasks, links] = [
    await tx.person.findMany({ where: { retiredAt: null }, orderBy: { createdAt: 'asc' } }),
    await tx.dayOff.findMany({ where: { toDay: { gte: new Date(`${call.today}T00:00:00Z`) } } }),
    await tx.place.findMany({ where: { retiredAt: null } }),
    await tx.task.findMany({ where: { jobId: { in: jobIds }, retiredAt: null }, orderBy: [{ jobId: 'asc' }, { position: 'asc' }, { id: 'asc' }] }),
    await tx.taskLink.findMany({ where: { task: { jobId: { in: jobIds }, retiredAt: null }, predecessor: { retiredAt: null } } }),
  ];
  const worked = await labourByTask(call, tasks.filter((task) => !task.finishedAt).map((task) => task.id));
  const awaited = await awaitedParts(call, jobIds);
  const cures = await curing(call, jobIds);
  const needsPaint = tasks.some((task) => task.needsPaintWeather && !task.finishedAt);
  const lastDay = asDay(new Date(Date.parse(`${call.today}T00:00:00Z`) + HORIZON_DAYS * 86_400_000));
  const windows = needsPaint ? await paintWindows(call, call.today, lastDay) : [];
  const linksByTask = new Map<string, PlanTask['links']>();
  for (const link of links) {
    const one = {
      predecessorId: link.predecessorId,
      leastWaitMinutes: link.leastWaitMinutes,
      forbidden: link.forbiddenMinutes as { fromMinutes: number; toMinutes: number }[],
      reason: link.reason,
    };
    const list = linksByTask.get(link.taskId);
    if (list) list.push(one);
    else linksByTask.set(link.taskId, [one]);
  }
  const readyBy = jobs.some((job) => snowKinds.has(job.machine.kind)) ? readyByDay(await snowOutlook(call), shop.readinessMarginDays) : null;
  return {
    now: call.now,
    today: call.today,
    timeZone: call.shop.timeZone,
    openingHours: shop.openingHours as unknown as OpenHours[],
    people: people.map((person) => ({ id: person.id, name: person.name, weeklyHours: person.weeklyHours as unknown as OpenHours[] })),
    daysOff: daysOff.map((off) => ({ personId: off.personId, fromDay: asDay(off.fromDay), toDay: asDay(off.toDay) })),
    places: places.map((place) => ({ kind: place.kind, capacity: place.capacity })),
    jobs: jobs.map((job) => ({
      id: job.id,
      number: job.number,
      title: job.title,
      priority: job.priority,
      dueDay: job.promisedOn ? asDay(job.promisedOn) : snowKinds.has(job.machine.kind) ? readyBy : null,
    })),
    tasks: tasks.map((task) => ({
      ...task,
      workedMinutes: worked.get(task.id)?.minutes ?? 0,
      links: linksByTask.get(task.id) ?? [],
      awaited: task.finishedAt ? [] : (awaited.get(task.id) ?? []),
      paintReadyAt: task.kind === 'assemble' && !task.finishedAt ? (cures.get(task.jobId)?.assemblyReadyAt ?? null) : null,
    })),
    paintWindows: windows,
  };
}

/** Needs that nothing on hand meets yet, by task. */
async function awaitedParts(call: Call, jobIds: string[]): Promise<Map<string, AwaitedPart[]>> {
  const open = (await needsOfJobs(call, jobIds)).filter((need) => need.standing !== 'used' && need.standing !== 'onHand');
  if (open.length === 0) return new Map();
  const parts = await call.tx.part.findMany({ where: { id: { in: open.map((need) => need.partId as string) } }, select: { id: true, name: true, family: true } });
  const names = new Map(parts.map((part) => [part.id, part.name]));
  const arrivals = await arrivalForecasts(call, {
    orderLineIds: open.map((need) => need.orderLineId as string | null).filter((one): one is string => one !== null),
    families: parts.map((part) => part.family),
  });
  const families = new Map(parts.map((part) => [part.id, part.family]));
  const byTask = new Map<string, AwaitedPart[]>();
  for (const need of open) {
    const part = awaitedPart(need, names.get(need.partId) ?? 'a part', need.standing === 'unordered' ? undefined : arrivals.byLine.get(need.orderLineId), arrivals.ifOrderedToday.get(families.get(need.partId) ?? ''), call.today);
    const list = byTask.get(need.taskId);
    if (list) list.push(part);
    else byTask.set(need.taskId, [part]);
  }
  return byTask;
}

function awaitedPart(need: Presentable, partName: string, arrival: ArrivalForecast | undefined, ifOrderedToday: string | undefined, today: string): AwaitedPart {
  return {
    partName,
    quantity: String(Number(need.quantity)),
    supplierName: arrival?.supplierName ?? null,
    expectedDay: arrival?.p50Day ?? ifOrderedToday ?? today,
    ordered: arrival !== undefined,
    backOrdered: arrival?.backOrdered ?? false,
  };
}
