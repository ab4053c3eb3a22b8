/** What a coat asks of the tasks that follow it: ages instead of fixed waits. Pure. */
import type { KnownAge, Predecessor, Task } from '../../engine/schedule/index.js';
import type { PlanPaint, PlanTask } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';
import { isPureCure } from './task-lengths.js';

/** A recorded coat's age, on the plan's minutes: as it dries, or as it comes to its recoat windows. */
export function knownAt(
  { known }: PlanPaint,
  local: LocalMinutes,
  by: 'drying' | 'recoat' = 'drying',
): { known?: KnownAge } {
  if (!known) return {};
  const { openingMinutes, dryingMinutes, closingMinutes } = known;
  return {
    known: {
      atMinutes: local.ofEpochMinute(known.atMinutes),
      dryingMinutes: by === 'recoat' ? (openingMinutes ?? dryingMinutes) : dryingMinutes,
      closingMinutes,
    },
  };
}

/**
 * The ages at which `task` may follow the coat that `before` puts on: the sheet's windows for the next coat, hard enough to
 * assemble for what is not a coat. Time on the rack has its own rule, see `cureOfPaint`.
 */
export function paintLink(before: PlanTask, task: PlanTask, local: LocalMinutes): Predecessor['ages'] {
  const { paint } = before;
  if (!paint?.clockId || isPureCure(task)) return undefined;
  return task.paint
    ? {
        clockId: paint.recoatClockId ?? paint.clockId,
        windows: paint.recoatMinutes,
        ...knownAt(paint, local, 'recoat'),
      }
    : {
        clockId: paint.clockId,
        windows: [{ fromMinutes: paint.assembleMinutes }],
        ...knownAt(paint, local),
      };
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
