/** All open jobs against the first snow: who is ready, who is late, what binds, how many more fit. */
import { z } from 'zod';
import { query, type Call, type Presentable } from '../platform/operation/operation.js';
import { snowOutlook, type SnowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import type { RouteTask } from '../work/routes.shapes.js';
import { loads, moreThatFit, type Load, type RouteStep } from './capacity.js';
import { forecast, type Forecast } from './forecast.js';
import { daysBetween, jobForecasts } from './job-forecast.js';
import { Readiness } from './plan.shapes.js';
import type { PlanRecords } from './problem.js';
import { chanceReady, readyByDay } from './season.js';


const snowKinds = ['singleStageThrower', 'twoStageThrower'] as const;

const resourceWords: Record<string, string> = { people: 'hours of work', bench: 'the bench', sprayArea: 'the spray area', cureRack: 'the cure rack' };

export async function readReadiness(call: Call): Promise<Presentable> {
  const made = await forecast(call);
  const shop = await readShop(call);
  const outlook = await snowOutlook(call);
  const readyBy = readyByDay(outlook, shop.readinessMarginDays);
  const machines = await call.tx.job.findMany({ where: { id: { in: made.records.jobs.map((job) => job.id) } }, select: { id: true, machine: { select: { kind: true, disposition: true } } } });
  const inSeason = new Set(machines.filter((job) => (snowKinds as readonly string[]).includes(job.machine.kind)).map((job) => job.id));
  const jobs = jobForecasts(made)
    .filter((job) => inSeason.has(job.jobId))
    .map((job) => {
      const chance = chanceReady(outlook, job.expectedDay, shop.readinessMarginDays);
      const toSpare = readyBy && job.expectedDay ? daysBetween(job.expectedDay, readyBy) : null;
      return { jobId: job.jobId, jobNumber: job.jobNumber, jobTitle: job.jobTitle, expectedDay: job.expectedDay, ready: toSpare !== null && toSpare >= 0, chance, daysToSpare: toSpare, why: job.why };
    })
    .sort((a, b) => (b.daysToSpare ?? -9999) - (a.daysToSpare ?? -9999));
  const readyCount = jobs.filter((job) => job.ready).length;
  const untilSeason = readyBy && readyBy > call.today ? loads(made, readyBy) : [];
  const routes = await call.tx.route.findMany({ where: { machineKind: { in: [...snowKinds] }, retiredAt: null }, orderBy: [{ machineKind: 'asc' }, { createdAt: 'asc' }] });
  const firstOfKind = snowKinds.flatMap((kind) => routes.find((route) => route.machineKind === kind) ?? []);
  const capacity = firstOfKind.map((route) => {
    const fit = readyBy ? moreThatFit(made.records, stepsOf(route.tasks), readyBy) : { count: 0, lastDay: null, nextDay: null };
    return { kind: route.machineKind, routeName: route.name, moreThatFit: fit.count, lastFinishedOn: fit.lastDay, nextWouldFinishOn: fit.nextDay };
  });
  const first = firstOfKind[0];
  return {
    asOf: call.today,
    season: outlook.seasonLabel,
    thresholdMillimetres: shop.snowThresholdMillimetres,
    marginDays: shop.readinessMarginDays,
    firstSnowMedian: outlook.medianDay,
    firstSnowEarly: dayOfQuantile(outlook, 0.1),
    firstSnowLate: dayOfQuantile(outlook, 0.9),
    readyBy,
    jobs,
    readyCount,
    expectedReady: jobs.reduce((sum, job) => sum + (job.chance ?? 0), 0),
    binds: whatBinds(made, untilSeason, readyBy, call.today),
    loads: untilSeason.map((load) => ({ ...load, usedShare: Math.round(load.usedShare * 1000) / 1000 })),
    capacity,
    levers: first && readyBy ? leversFor(made.records, stepsOf(first.tasks), readyBy, capacity[0]!.moreThatFit) : [],
    why: [
      ...outlook.why,
      readyBy ? `ready means finished by ${readyBy}, ${shop.readinessMarginDays} days before the median first snow` : 'the shop has no station records to tell the first snow from',
      `${readyCount} of ${jobs.length} open snow throwers are expected in time`,
    ],
  };
}

const dayOfQuantile = (outlook: SnowOutlook, probability: number): string | null => outlook.quantileDays.find((one) => one.probability === probability)?.day ?? null;

const stepsOf = (tasks: unknown): RouteStep[] => (tasks as RouteTask[]).map((task) => ({ ...task, placeKind: task.placeKind ?? null, after: task.after.map((link) => ({ ...link, reason: link.reason ?? null })) }));

/** What the late jobs wait for most; without late jobs, what is used most. */
function whatBinds(made: Forecast, resources: readonly Load[], readyBy: string | null, today: string): string {
  if (readyBy === null) return 'unknown: there are no station records to tell the season from';
  if (readyBy <= today) return `time: the day to be ready by, ${readyBy}, has passed`;
  const waits = new Map<string, number>();
  const late = jobForecasts(made).filter((job) => job.expectedDay !== null && job.expectedDay > readyBy);
  for (const wait of late.flatMap((job) => job.waits)) {
    const what = wait.kind === 'resource' ? 'places and people held by other jobs' : { part: 'parts', cure: 'cure time', recoat: 'recoat windows', weather: 'paint weather', other: 'other waits' }[wait.kind];
    waits.set(what, (waits.get(what) ?? 0) + Math.max(0, daysBetween(today, wait.until)));
  }
  const worst = [...waits].sort(([, a], [, b]) => b - a)[0];
  const fullest = [...resources].sort((a, b) => b.usedShare - a.usedShare)[0];
  const use = fullest ? `${resourceWords[fullest.resource] ?? fullest.resource}, ${Math.round(fullest.usedShare * 100)} % used until ${readyBy}` : null;
  if (worst) return `${worst[0]} (on ${late.length} job${late.length === 1 ? '' : 's'} that will be late)${use ? `; the fullest resource is ${use}` : ''}`;
  return use ?? 'nothing';
}

/** A few changes a shop can make, each answered by planning again with it. */
function leversFor(records: PlanRecords, route: readonly RouteStep[], by: string, today: number) {
  const everyDay = Array.from({ length: 500 }, (_, offset) => {
    const from = new Date(records.now.getTime() + offset * 86_400_000);
    return { from, to: new Date(from.getTime() + 86_400_000) };
  });
  const changes: { change: string; records: PlanRecords }[] = [
    { change: 'one more hour a day', records: { ...records, openingHours: longer(records.openingHours), people: records.people.map((person) => ({ ...person, weeklyHours: longer(person.weeklyHours) })) } },
    { change: 'another bench', records: { ...records, places: [...records.places, { kind: 'bench', capacity: 1 }] } },
    { change: 'another spray area', records: { ...records, places: [...records.places, { kind: 'sprayArea', capacity: 1 }] } },
    { change: 'two more places on the cure rack', records: { ...records, places: [...records.places, { kind: 'cureRack', capacity: 2 }] } },
    { change: 'a heated spray area (paint weather every day)', records: { ...records, paintWindows: everyDay } },
    { change: 'all awaited parts on hand', records: { ...records, tasks: records.tasks.map((task) => ({ ...task, awaited: [] })) } },
  ];
  return changes.map(({ change, records: changed }) => {
    const { count } = moreThatFit(changed, route, by);
    return { change, moreThatFit: count, gained: count - today };
  });
}

/** Each weekday's last period an hour longer, as far as the day goes. */
function longer(hours: PlanRecords['openingHours']): PlanRecords['openingHours'] {
  const last = new Map(hours.map((period) => [period.weekday, period.closes]));
  for (const { weekday, closes } of hours) if (closes > last.get(weekday)!) last.set(weekday, closes);
  const hourOn = (time: string) => (time >= '23:00' ? '24:00' : `${String(Number(time.slice(0, 2)) + 1).padStart(2, '0')}${time.slice(2)}`);
  return hours.map((period) => (period.closes === last.get(period.weekday) ? { ...period, closes: hourOn(period.closes) } : period));
}

export const readinessQueries = [
  query({
    name: 'readiness',
    summary: 'All jobs against the first snow: who is ready, who is late, what binds, how many more fit',
    rest: { method: 'GET', path: '/readiness' },
    input: z.strictObject({}),
    output: Readiness,
    run: readReadiness,
  }),
];
