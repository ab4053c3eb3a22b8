/** What taking an option would make of the records that the plan is computed from. Pure: nothing is written. */
import type { Decimal } from 'decimal.js';
import { comingOf } from '../../plan/inputs/awaited-parts.js';
import type { AwaitedPart, PlanRecords, PlanTask } from '../../plan/inputs/records.js';
import { toDecimal } from '../../platform/money.js';
import type { Candidate, Shortage, Wanted } from './candidates.js';
import { reworkName, reworkShare } from './rework.js';

export interface OptionTaken {
  records: PlanRecords;
  /** The tasks that make or repair the parts here; none for any other option. */
  taskIds: string[];
}

/** @param records as they stand, the option not taken */
export function withOption(records: PlanRecords, shortage: Shortage, option: Candidate, wanted: Wanted): OptionTaken {
  switch (option.kind) {
    case 'otherSupplier': {
      const { arrival } = option;
      if (!arrival) return { records, taskIds: [] };
      const coming = { ...comingOf(arrival, records.today), orderLineId: null };
      return { records: withAwaited(records, shortage, (part) => [{ ...part, ...coming }]), taskIds: [] };
    }
    case 'rework':
      return withRework(
        withAwaited(records, shortage, () => []),
        shortage,
        wanted.reworkMinutes ?? 0,
      );
    default:
      // Whatever lies at hand: the parts are there today.
      return { records: withAwaited(records, shortage, () => []), taskIds: [] };
  }
}

function withAwaited(
  records: PlanRecords,
  { needs }: Shortage,
  change: (part: AwaitedPart) => AwaitedPart[],
): PlanRecords {
  const short = new Set(needs.map((need) => need.id));
  return {
    ...records,
    tasks: records.tasks.map((task) =>
      task.awaited.some((part) => short.has(part.needId))
        ? { ...task, awaited: task.awaited.flatMap((part) => (short.has(part.needId) ? change(part) : [part])) }
        : task,
    ),
  };
}

/** A task before each that waits, after the last of its job. */
function withRework(records: PlanRecords, { part, needs, quantity }: Shortage, minutes: number): OptionTaken {
  const taskIds: string[] = [];
  let { tasks } = records;
  for (const need of needs) {
    const missing = toDecimal(need.quantity).minus(need.quantityCovered);
    // Where the plan's records would have it: behind the last task of its job.
    const last = tasks.findLastIndex((task) => task.jobId === need.task.job.id);
    const made = reworkTask(`rework ${need.id}`, need.task.job.id, missing, part.name, {
      minutes: reworkShare(missing, minutes, quantity),
      position: (tasks[last]?.position ?? 0) + 1,
    });
    taskIds.push(made.id);
    const link = { predecessorId: made.id, minWaitMinutes: 0, forbidden: [], reason: null };
    tasks = tasks
      .map((task) => (task.id === need.taskId ? { ...task, links: [...task.links, link] } : task))
      .toSpliced(last + 1, 0, made);
  }
  return { records: { ...records, tasks }, taskIds };
}

const reworkTask = (
  id: string,
  jobId: string,
  quantity: Decimal,
  partName: string,
  { minutes, position }: { minutes: number; position: number },
): PlanTask => ({
  id,
  jobId,
  position,
  name: reworkName(quantity, partName),
  kind: 'repair',
  handsOnMinutes: minutes,
  minMinutes: minutes,
  maxMinutes: minutes,
  people: 1,
  placeKind: null,
  pausable: true,
  needsPaintWeather: false,
  cureMinutes: 0,
  cautions: [],
  startedAt: null,
  finishedAt: null,
  workedMinutes: 0,
  links: [],
  awaited: [],
  paint: null,
  paintReadyAt: null,
});
