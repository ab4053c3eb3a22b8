/** What a coat asks of the tasks that follow it: ages instead of fixed waits. Pure. */
import type { KnownAge, Predecessor, Task } from '../../engine/schedule/index.js';
import type { PlanPaint, PlanTask } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';
import { isPureCure } from './task-lengths.js';

/** A recorded coat's age, on the plan's minutes. */
export function knownAt({ known }: PlanPaint, local: LocalMinutes): { known?: KnownAge } {
  return known ? { known: { ...known, atMinutes: local.ofEpochMinute(known.atMinutes) } } : {};
}

/**
 * The ages at which `task` may follow the coat that `before` puts on: the sheet's windows for the next coat, hard enough to
 * assemble for what is not a coat. Time on the rack has its own rule, see `cureOfPaint`.
 */
export function paintLink(before: PlanTask, task: PlanTask, local: LocalMinutes): Predecessor['ages'] {
  const { paint } = before;
  if (!paint?.clockId || isPureCure(task)) return undefined;
  const windows = task.paint ? paint.recoatMinutes : [{ fromMinutes: paint.assembleMinutes }];
  return { clockId: paint.clockId, windows, ...knownAt(paint, local) };
}

/** Time on the rack ends when the coats before it bear assembly; the route's own minutes hold beside that. */
export function cureOfPaint(
  task: PlanTask,
  byId: ReadonlyMap<string, PlanTask>,
  local: LocalMinutes,
): Pick<Task, 'cure'> {
  for (const link of task.links) {
    const before = byId.get(link.predecessorId);
    const paint = before?.paint;
    if (before && paint?.clockId)
      return {
        cure: {
          clockId: paint.clockId,
          ageMinutes: paint.assembleMinutes,
          sinceTaskId: before.id,
          ...knownAt(paint, local),
        },
      };
  }
  return {};
}
