/** Work that was found after a job's first estimate: tasks added since, with what they took. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { labourByTask } from '../work/labour.js';

export interface FoundSince {
  taskIds: ReadonlySet<string>;
  /** Worked on them so far. */
  minutes: number;
  /** Charged to the job for them so far. */
  parts: Decimal;
}

/** By job id; none for a job without such tasks. Three statements at most. */
export async function foundSince(
  context: OperationContext,
  estimates: readonly { jobId: string; since: Date }[],
): Promise<Map<string, FoundSince>> {
  if (estimates.length === 0) return new Map();
  const tasks = await context.tx.task.findMany({
    where: { OR: estimates.map(({ jobId, since }) => ({ jobId, createdAt: { gt: since } })), archivedAt: null },
    select: { id: true, jobId: true },
  });
  if (tasks.length === 0) return new Map();
  const ids = tasks.map(({ id }) => id);
  const worked = await labourByTask(context, ids);
  const charged = await context.tx.ledgerEntry.findMany({
    where: { partNeed: { taskId: { in: ids } } },
    select: { amount: true, jobId: true },
  });
  return new Map(
    [...new Set(tasks.map(({ jobId }) => jobId))].map((jobId) => {
      const own = tasks.filter((task) => task.jobId === jobId).map(({ id }) => id);
      return [
        jobId,
        {
          taskIds: new Set(own),
          minutes: own.reduce((sum, id) => sum + (worked.get(id)?.minutes ?? 0), 0),
          parts: Decimal.sum(
            0,
            ...charged.filter((entry) => entry.jobId === jobId).map(({ amount }) => toDecimal(amount)),
          ),
        },
      ];
    }),
  );
}
