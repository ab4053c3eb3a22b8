/** When the paint on the shop's jobs has cured, for the plan. */
import { minuteOfAge } from '../engine/cure/index.js';
import { quantile } from '../engine/weather/index.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { coatsOfJobs } from './coat-warnings.js';
import { CureWeather, minuteOf, momentAt, type PlaceCourses } from './cure-weather.js';
import { assemblyWaitOf, LIKELY, scenariosFor, sheetOf } from './standing.js';

export interface JobCuring {
  /** When every coat on the job is as hard as that, as likely as not; null beyond half a year. */
  handleAt: Date | null;
  assembleAt: Date | null;
  fullAt: Date | null;
  /** When it may be assembled, with the shop's own wait after the last coat. */
  assemblyReadyAt: Date;
  /** The paint will not be hard enough within the days looked at; `assemblyReadyAt` is only the end of those. */
  beyondHorizon: boolean;
  lastAppliedAt: Date;
  coats: number;
}

/**
 * When the paint on each job lets it be handled and assembled, for the plan. Jobs without coats are not in it. A
 * constant number of statements, whatever the number of jobs.
 */
export async function curing(call: Call, jobIds: readonly string[]): Promise<Map<string, JobCuring>> {
  const coats = jobIds.length === 0 ? [] : await coatsOfJobs(call, jobIds);
  if (coats.length === 0) return new Map();
  const wait = await assemblyWaitOf(call);
  const weather = await CureWeather.read(call, coats);
  const byJob = new Map<string, Presentable[]>();
  for (const coat of coats) byJob.set(coat.jobId, [...(byJob.get(coat.jobId) ?? []), coat]);
  return new Map([...byJob].map(([jobId, its]) => [jobId, jobCuring(its.map((coat) => likelyStages(call, coat, weather.at(coat.placeId))), its, wait, weather.endMinute)]));
}

interface LikelyStages {
  handle: number;
  assemble: number;
  full: number;
}

function likelyStages(call: Call, coat: Presentable, known: PlaceCourses): LikelyStages {
  const sheet = sheetOf(coat.product);
  const appliedMinute = minuteOf(coat.appliedAt);
  const { scenarios } = scenariosFor(sheet, known, appliedMinute, minuteOf(call.now));
  const likely = (target: number): number => quantile(scenarios.map((course) => minuteOfAge(sheet, course, appliedMinute, target) ?? Infinity), LIKELY) ?? Infinity;
  return { handle: likely(sheet.handleMinutes), assemble: likely(sheet.assembleMinutes), full: likely(sheet.fullMinutes) };
}

function jobCuring(stages: readonly LikelyStages[], coats: readonly Presentable[], waitMinutes: number, endMinute: number): JobCuring {
  const latest = (of: (one: LikelyStages) => number): number => Math.max(...stages.map(of));
  const moment = (minute: number): Date | null => (minute === Infinity ? null : momentAt(minute));
  const lastAppliedAt = new Date(Math.max(...coats.map((coat) => coat.appliedAt.getTime())));
  const assemble = latest((one) => one.assemble);
  return {
    handleAt: moment(latest((one) => one.handle)),
    assembleAt: moment(assemble),
    fullAt: moment(latest((one) => one.full)),
    assemblyReadyAt: momentAt(Math.max(Math.min(assemble, endMinute), minuteOf(lastAppliedAt) + waitMinutes)),
    beyondHorizon: assemble === Infinity,
    lastAppliedAt,
    coats: coats.length,
  };
}
