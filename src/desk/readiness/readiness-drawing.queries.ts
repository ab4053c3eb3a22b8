/** The shop's readiness as a drawing: when the snow comes, and where each machine for it stands on that curve. */
import type { Call } from '../../platform/operation/operation.js';
import { drawFirstSnow } from '../../season/first-snow-chart.js';
import { currentPlan } from '../../plan/background/current-plan.js';
import { forecastsForSnow } from './readiness.queries.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';

/** A title may be as long as a sentence; its beginning tells which machine it is. */
const short = (title: string): string => (title.length > 40 ? `${title.slice(0, 39).trimEnd()}…` : title);

/** @returns an SVG document that reads aloud and prints */
export async function readinessDrawing(call: Call): Promise<string> {
  const outlook = await planSnowOutlook(call);
  const plan = await currentPlan(call);
  // Marked where it is finished with four chances in five, since a median is missed every other time.
  const jobs = forecastsForSnow(plan).flatMap((job) => {
    const day = job.p80Day;
    return day === null || job.nextTask === null
      ? []
      : [{ label: `Job ${job.jobNumber} ${short(job.jobTitle)}`, day, ready: job.chanceBeforeSnow }];
  });
  return drawFirstSnow({
    seasonLabel: outlook.seasonLabel ?? '',
    event: `${outlook.thresholdMillimetres} mm`,
    points: outlook.curve,
    medianDay: outlook.medianDay,
    today: call.today,
    jobs,
  });
}
