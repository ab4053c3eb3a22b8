/** When the paint on jobs has cured, for the plan. Pure. */
import { minuteOfAge } from '../engine/cure/index.js';
import { quantile } from '../engine/weather/index.js';
import { type CoatFacts, LIKELY, scenariosFor, type StatusQuestion } from './coat-status.js';
import { CureWeather, momentAt, type PlaceCourses } from './cure-weather.js';

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

/** By job; jobs without coats are not in it. */
export function jobsCuring({ coats, records, nowMinute, assemblyWaitMinutes }: StatusQuestion): Map<string, JobCuring> {
  const weather = new CureWeather(records);
  const byJob = new Map<string, CoatFacts[]>();
  for (const coat of coats) byJob.set(coat.jobId, [...(byJob.get(coat.jobId) ?? []), coat]);
  return new Map(
    [...byJob].map(([jobId, its]) => [
      jobId,
      jobCuring(
        its.map((coat) => likelyStages(coat, weather.of(coat), nowMinute)),
        its,
        assemblyWaitMinutes,
        weather.endMinute,
      ),
    ]),
  );
}

interface LikelyStages {
  handle: number;
  assemble: number;
  full: number;
}

function likelyStages(coat: CoatFacts, known: PlaceCourses, nowMinute: number): LikelyStages {
  const { sheet, appliedMinute } = coat;
  const { scenarios } = scenariosFor(coat, known, nowMinute);
  const likely = (target: number): number =>
    quantile(
      scenarios.map((course) => minuteOfAge(sheet, course, appliedMinute, target) ?? Infinity),
      LIKELY,
    ) ?? Infinity;
  return {
    handle: likely(sheet.handleMinutes),
    assemble: likely(sheet.assembleMinutes),
    full: likely(sheet.fullMinutes),
  };
}

function jobCuring(
  stages: readonly LikelyStages[],
  coats: readonly CoatFacts[],
  waitMinutes: number,
  endMinute: number,
): JobCuring {
  const latest = (of: (one: LikelyStages) => number): number => Math.max(...stages.map(of));
  const moment = (minute: number): Date | null => (minute === Infinity ? null : momentAt(minute));
  const lastAppliedMinute = Math.max(...coats.map((coat) => coat.appliedMinute));
  const assemble = latest((one) => one.assemble);
  return {
    handleAt: moment(latest((one) => one.handle)),
    assembleAt: moment(assemble),
    fullAt: moment(latest((one) => one.full)),
    assemblyReadyAt: momentAt(Math.max(Math.min(assemble, endMinute), lastAppliedMinute + waitMinutes)),
    beyondHorizon: assemble === Infinity,
    lastAppliedAt: new Date(lastAppliedMinute * 60_000),
    coats: coats.length,
  };
}
