/** What the engine found, in sentences a person can act on. */
import { minutesInWords } from '../../engine/durations.js';
import type { Reason, ScheduledTask } from '../../engine/schedule/index.js';
import { daysBetween } from '../../platform/days.js';
import type { PlanTask } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';

const resourceWords: Record<string, string> = {
  people: 'somebody to do it',
  bench: 'the bench',
  sprayArea: 'the spray area',
  cureRack: 'the cure rack',
};

export interface Naming {
  local: LocalMinutes;
  /** Tasks by id, with their job's number. */
  tasks: Map<string, PlanTask & { jobNumber: number }>;
}

/** Waits shorter than this are the ordinary run of a day's work. */
export const WAIT_WORTH_TELLING_MINUTES = 720;

export function partWords(part: PlanTask['awaited'][number]): string {
  const what = `${part.quantity} × ${part.partName}`;
  if (!part.ordered) return `${what}, not ordered yet (ordered today it would come about ${part.expectedDate})`;
  const from = part.supplierName ? ` from ${part.supplierName}` : '';
  return `${what}${from}${part.backOrdered ? ', back-ordered' : ''}, expected ${part.expectedDate}`;
}

/** Why a task starts when it does: the last thing it waited for, which decided, and how long nobody was in after that. */
export function startReason(task: ScheduledTask, naming: Naming): string {
  if (task.fixed) return 'it has begun';
  const reason = decisive(task.reasons);
  const reached = naming.local.dayOf(reason?.untilMinutes ?? task.reasons[0]?.untilMinutes ?? task.startMinutes);
  const starts = naming.local.dayOf(task.startMinutes);
  if (!reason) return starts === reached ? 'nothing holds it back' : `waits until somebody is in, ${starts}`;
  if (starts === reached) return reasonWords(task.id, reason, naming);
  // A wait that was over before closing time is not what the task starts late for.
  const over = reason.kind === 'predecessor' && reason.waitMinutes < WAIT_WORTH_TELLING_MINUTES;
  const words = over ? `follows ${nameOf(reason.taskId, naming)}` : reasonWords(task.id, reason, naming);
  return daysBetween(reached, starts) > 1 ? `${words}, and nobody is in until ${starts}` : words;
}

/** Closing hours only round a start up to the next opening; what came before them is the cause. */
export function decisive(reasons: readonly Reason[]): Reason | undefined {
  return reasons.findLast((reason) => reason.kind !== 'now' && reason.kind !== 'closed');
}

function reasonWords(taskId: string, reason: Reason, naming: Naming): string {
  const until = naming.local.dayOf(reason.untilMinutes);
  const task = naming.tasks.get(taskId);
  switch (reason.kind) {
    case 'now':
    case 'closed':
      return 'nothing holds it back';
    case 'release': {
      const latest = [...(task?.awaited ?? [])].sort((a, b) => (a.expectedDate < b.expectedDate ? 1 : -1))[0];
      if (latest) return `waits for ${partWords(latest)}`;
      return task?.paintReadyAt ? `waits until ${until} for the paint to cure` : `waits until ${until}`;
    }
    case 'predecessor': {
      const before = nameOf(reason.taskId, naming);
      return reason.waitMinutes > 0
        ? `waits ${minutesInWords(reason.waitMinutes)} after ${before}`
        : `follows ${before}`;
    }
    case 'forbidden':
      return `waits ${minutesInWords(reason.toMinutes)} after ${nameOf(reason.taskId, naming)}, whose first recoat window it misses`;
    case 'window':
      return `waits for weather fit for paint, likely ${until}`;
    case 'resource': {
      // The last one is the one that let it in; where somebody came back to work, nobody is to be named.
      const holder = reason.untilBack
        ? undefined
        : naming.tasks.get(reason.heldBy.at(-1)?.replace(/\/cure$/, '') ?? '');
      const held = holder ? `, held by ${holder.name.toLowerCase()} on job ${holder.jobNumber}` : '';
      return `waits for ${resourceWords[reason.resourceId] ?? reason.resourceId.replace(/^people: /, '')}${held}`;
    }
    case 'excluded':
      return (
        `waits until ${reason.taskIds.map((id) => nameOf(id, naming)).join(' and ') || 'other work'} ` +
        `no longer share${reason.taskIds.length > 1 ? '' : 's'} the air of the room`
      );
    case 'delayed':
      return 'is held back so that the next coat falls into its recoat window';
  }
}

function nameOf(taskId: string, naming: Naming): string {
  const cure = taskId.endsWith('/cure');
  const task = naming.tasks.get(taskId.replace(/\/cure$/, ''));
  if (!task) return 'the task before it';
  return cure ? `the cure after ${task.name.toLowerCase()}` : task.name.toLowerCase();
}
