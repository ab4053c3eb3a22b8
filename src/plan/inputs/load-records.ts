/** Everything the plan is made from, read in a constant number of statements however many jobs are open. */
import { snowKinds } from '../../machines/machines.shapes.js';
import { asDay } from '../../platform/operation/columns.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { SnowOutlook } from '../../season/first-snow.js';
import { readShop } from '../../shop/shop.queries.js';
import { labourByTask } from '../../work/labour.js';
import { roomOf } from '../../work/room-air.js';
import { awaitedParts, unorderedPartDays } from './awaited-parts.js';
import { learningRecords } from './learning.js';
import { likelyWork } from './likely-work.js';
import { planPaints } from './paint.js';
import type { PlanRecords, PlanSeason, PlanTask } from './records.js';
import type { OpenHours } from './shop-calendar.js';
import { planClocks, planCuring, planPaintWindows, planSnowOutlook, planWeatherYears } from './weather.js';
import { readyByDate, seasonEndDate } from './what-counts-as-ready.js';

/** The kinds of machine whose season is the snow. */
const forSnow = new Set<string>(snowKinds);

/** All but the years of weather, which only a simulation needs. */
export async function gatherRecords(context: OperationContext): Promise<PlanRecords> {
  const { tx } = context;
  const shop = await readShop(context);
  const jobs = await tx.job.findMany({
    where: { closedDate: null, archivedAt: null },
    orderBy: { number: 'asc' },
    include: { machine: { select: { kind: true, disposition: true } } },
  });
  const jobIds = jobs.map((job) => job.id);
  const [people, daysOff, places, tasks, links] = [
    await tx.person.findMany({ where: { archivedAt: null }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] }),
    await tx.dayOff.findMany({
      where: { endDate: { gte: new Date(`${context.today}T00:00:00Z`) } },
      orderBy: [{ startDate: 'asc' }, { id: 'asc' }],
    }),
    await tx.place.findMany({ where: { archivedAt: null }, orderBy: { id: 'asc' } }),
    await tx.task.findMany({
      where: { jobId: { in: jobIds }, archivedAt: null },
      orderBy: [{ jobId: 'asc' }, { position: 'asc' }, { id: 'asc' }],
    }),
    await tx.taskLink.findMany({
      where: { task: { jobId: { in: jobIds }, archivedAt: null }, predecessor: { archivedAt: null } },
      orderBy: { id: 'asc' },
    }),
  ];
  const worked = await labourByTask(
    context,
    tasks.filter((task) => !task.finishedAt).map((task) => task.id),
  );
  const awaited = await awaitedParts(context, jobIds);
  const cures = await planCuring(context, jobIds);
  const needsPaint = tasks.some((task) => task.needsPaintWeather && !task.finishedAt);
  const windows = needsPaint ? await planPaintWindows(context) : [];
  const sprayed = places.filter((place) => place.kind === 'sprayArea');
  const paints = await planPaints(context, jobIds, sprayed.length > 0 && sprayed.every((place) => place.ventilated));
  const isTied = (jobId: string): boolean => tasks.some((task) => task.jobId === jobId && paints.byTask.has(task.id));
  const linksByTask = new Map<string, PlanTask['links']>();
  for (const link of links) {
    const one = {
      predecessorId: link.predecessorId,
      minWaitMinutes: link.minWaitMinutes,
      forbidden: link.forbiddenIntervals as { fromMinutes: number; toMinutes: number }[],
      reason: link.reason,
    };
    const list = linksByTask.get(link.taskId);
    if (list) list.push(one);
    else linksByTask.set(link.taskId, [one]);
  }
  // What was sold is not made ready for the season: its warranty work is due when it was promised. Nor is what goes as it is.
  const isForSnow = (job: { purpose: string; scope: string; machine: { kind: string } }): boolean =>
    job.purpose === 'refurbish' &&
    job.scope !== 'sellAsFound' &&
    job.scope !== 'stripForParts' &&
    forSnow.has(job.machine.kind);
  const partDays = await unorderedPartDays(context);
  const outlook = jobs.some(isForSnow) ? await planSnowOutlook(context) : null;
  const readyBy = outlook && readyByDate(outlook, shop.readinessMarginDays);
  return {
    now: context.now,
    today: context.today,
    timeZone: context.shop.timeZone,
    // These columns are written only through their shapes.
    openingHours: shop.openingHours as unknown as OpenHours[],
    people: people.map((person) => ({
      id: person.id,
      name: person.name,
      weeklyHours: person.weeklyHours as unknown as OpenHours[],
      taskKinds: person.taskKinds as string[],
    })),
    daysOff: daysOff.map((off) => ({
      personId: off.personId,
      startDate: asDay(off.startDate),
      endDate: asDay(off.endDate),
    })),
    places: places.map((place) => ({
      kind: place.kind,
      capacity: place.capacity,
      room: roomOf(place),
    })),
    jobs: jobs.map((job) => ({
      id: job.id,
      number: job.number,
      title: job.title,
      priority: job.priority,
      dueDate: job.promisedDate ? asDay(job.promisedDate) : isForSnow(job) ? readyBy : null,
      forSnow: isForSnow(job),
    })),
    tasks: tasks.map((task) => ({
      ...task,
      // Two who work side by side for an hour have done an hour of it.
      workedMinutes: Math.round(
        (worked.get(task.id)?.minutes ?? 0) / Math.max(1, Math.min(task.people, people.length)),
      ),
      links: linksByTask.get(task.id) ?? [],
      awaited: task.finishedAt ? [] : (awaited.get(task.id) ?? []),
      paint: task.needsPaintWeather ? (paints.byTask.get(task.id) ?? paints.byKind[task.kind] ?? null) : null,
      // Where the coats belong to tasks, these hold the assembly up by each year's weather; else the likely day does.
      paintReadyAt:
        task.kind === 'assemble' && !task.finishedAt && !isTied(task.jobId)
          ? (cures.get(task.jobId)?.assemblyReadyAt ?? null)
          : null,
    })),
    paintWindows: windows,
    season: outlook && outlook.sample.length > 0 ? planSeason(outlook, shop, context.today) : null,
    weatherYears: [],
    clocks: needsPaint || paints.byTask.size > 0 ? await planClocks(context, paints.clocks) : [],
    paints: paints.byKind,
    maxWaits: shop.maxWaits as unknown as PlanRecords['maxWaits'],
    learning: await learningRecords(context, {
      seasonEndMonthDay: shop.seasonEndMonthDay,
      partDays,
    }),
    likelyWork: await likelyWork(context, jobIds, partDays),
  };
}

const planSeason = (
  outlook: SnowOutlook,
  shop: { readinessMarginDays: number; seasonEndMonthDay: string },
  today: string,
): PlanSeason => ({
  marginDays: shop.readinessMarginDays,
  firstSnowDates: outlook.sample.map((one) => one.firstSnowDate),
  endDate: seasonEndDate(outlook, today, shop.seasonEndMonthDay),
});

/** The same records with the years of weather that a simulation draws from. */
export async function withUncertainty(context: OperationContext, records: PlanRecords): Promise<PlanRecords> {
  const years = records.season || records.paintWindows.length > 0 ? await planWeatherYears(context) : [];
  return { ...records, weatherYears: years };
}

/**
 * The same with what machines that are not here yet need besides: the weather for their paint, and the snow, though no open
 * job may ask for either.
 */
export async function forNewMachines(context: OperationContext, records: PlanRecords): Promise<PlanRecords> {
  const shop = await readShop(context);
  const outlook = records.season ? null : await planSnowOutlook(context);
  const clocks = records.clocks.length > 0 ? null : (await planPaints(context, [], false)).clocks;
  return withUncertainty(context, {
    ...records,
    paintWindows: records.paintWindows.length > 0 ? records.paintWindows : await planPaintWindows(context),
    clocks: clocks ? await planClocks(context, clocks) : records.clocks,
    season: records.season ?? (outlook && outlook.sample.length > 0 ? planSeason(outlook, shop, context.today) : null),
  });
}

/** Stored records with the tables that were left out of the row. */
export async function withClocks(context: OperationContext, records: PlanRecords): Promise<PlanRecords> {
  return { ...records, clocks: records.clocks.length > 0 ? await planClocks(context, records.clocks) : [] };
}
