/** Surfaces as people write them: case and blanks make no other surface. */
import type { OperationContext } from '../platform/operation/operation.js';

export const surfaceKey = (surface: string): string => surface.trim().replace(/\s+/g, ' ').toLowerCase();

/** The surface as it was written first on the job, so that one surface has one name; as given where it is new. */
export async function surfaceOnJob(context: OperationContext, jobId: string, surface: string): Promise<string> {
  const written = await context.tx.coat.findMany({
    where: { jobId, archivedAt: null },
    select: { surface: true },
    orderBy: { createdAt: 'asc' },
  });
  const known = written.find((one) => surfaceKey(one.surface) === surfaceKey(surface));
  return known?.surface ?? surface.trim().replace(/\s+/g, ' ');
}
