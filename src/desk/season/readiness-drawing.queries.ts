/** The shop's readiness as a drawing: when the snow comes, and where each machine for it stands on that curve. */
import { currentPlan } from '../../plan/background/current-plan.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { drawFirstSnow } from '../../season/first-snow-chart.js';
import { schedulesForSnow } from './readiness.queries.js';

/** A title may be as long as a sentence; its beginning tells which machine it is. */
const short = (title: string): string => (title.length > 40 ? `${title.slice(0, 39).trimEnd()}…` : title);

/** @returns an SVG document that reads aloud and prints */
export async function readinessDrawing(context: OperationContext): Promise<string> {
  const outlook = await planSnowOutlook(context);
  const plan = await currentPlan(context);
  // Marked where it is finished with four chances in five, since a median is missed every other time.
  const jobs = schedulesForSnow(plan).flatMap((job) => {
    const day = job.p80Date;
    return day === null || job.nextTask === null
      ? []
      : [{ label: `Job ${job.jobNumber} ${short(job.jobTitle)}`, day, ready: job.probabilityBeforeSnow }];
  });
  return drawFirstSnow({
    seasonLabel: outlook.seasonLabel ?? '',
    event: `${outlook.thresholdMillimetres} mm`,
    points: outlook.curve,
    medianDate: outlook.medianDate,
    today: context.today,
    jobs,
  });
}
