/** The same records with some jobs mended but not painted. Pure. */
import type { PlanRecords, PlanTask } from '../../plan/inputs/records.js';
import { isPureCure } from '../../plan/model/task-lengths.js';

const PAINT_KINDS = ['prime', 'colour', 'clear', 'cure'];
/** Work that is there only for the paint. */
const isPaintWork = (task: PlanTask): boolean =>
  PAINT_KINDS.includes(task.kind) || task.needsPaintWeather || isPureCure(task);

/** Whether a job has paint work that could be left out: some of it not begun, none of it done. */
export const canGoUnpainted = (tasks: readonly PlanTask[]): boolean =>
  tasks.some(isPaintWork) && tasks.every((task) => !isPaintWork(task) || (!task.startedAt && !task.finishedAt));

/** What followed a coat follows what came before it, without its wait. */
export function withoutPaint(records: PlanRecords, jobIds: readonly string[]): PlanRecords {
  if (jobIds.length === 0) return records;
  const named = new Set(jobIds);
  const left = new Map(
    records.tasks.filter((task) => named.has(task.jobId) && isPaintWork(task)).map((task) => [task.id, task]),
  );
  const before = (link: PlanTask['links'][number]): PlanTask['links'] => {
    const gone = left.get(link.predecessorId);
    return gone ? gone.links.flatMap(before) : [link];
  };
  return {
    ...records,
    tasks: records.tasks
      .filter((task) => !left.has(task.id))
      .map((task) => {
        if (!named.has(task.jobId)) return task;
        const links = new Map(task.links.flatMap(before).map((link) => [link.predecessorId, link]));
        return { ...task, links: [...links.values()], paintReadyAt: null };
      }),
  };
}
