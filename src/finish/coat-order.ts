/** Where a coat lies among those on its surface: they are numbered from the metal outward, in the order in which they went on. */
import { Refused } from '../platform/errors.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';

export interface CoatPlace {
  /** Absent while it is not recorded yet. */
  id?: string;
  jobId: string;
  surface: string;
  appliedAt: Date;
}

/** The next number above all coats that went on before it; those above make room for it. */
export async function placeByTime(context: OperationContext, coat: CoatPlace): Promise<number> {
  const others = await othersOn(context, coat);
  const number =
    1 + Math.max(0, ...others.filter((one) => one.appliedAt <= coat.appliedAt).map((one) => one.coatNumber));
  if (others.some((one) => one.coatNumber === number)) {
    await context.tx.coat.updateMany({
      where: { jobId: coat.jobId, surface: coat.surface, archivedAt: null, coatNumber: { gte: number } },
      data: { coatNumber: { increment: 1 }, version: { increment: 1 } },
    });
  }
  return number;
}

/** @throws Refused `coat-number-taken`; `coat-out-of-order` where a coat beneath went on later, or one above earlier */
export async function requirePlace(context: OperationContext, coat: CoatPlace, coatNumber: number): Promise<void> {
  const others = await othersOn(context, coat);
  if (others.some((one) => one.coatNumber === coatNumber)) {
    throw new Refused(
      'coat-number-taken',
      `Coat ${coatNumber} on "${coat.surface}" is recorded already. Leave coatNumber ` +
        `out to number a coat by when it went on, or archive the other.`,
    );
  }
  const wrong = others.find((one) =>
    one.coatNumber < coatNumber ? one.appliedAt > coat.appliedAt : one.appliedAt < coat.appliedAt,
  );
  if (!wrong) return;
  const [where, when] = wrong.coatNumber < coatNumber ? ['on top of', 'after'] : ['beneath', 'before'];
  const day = dayIn(wrong.appliedAt, context.shop.timeZone);
  throw new Refused(
    'coat-out-of-order',
    `It cannot lie ${where} coat ${wrong.coatNumber} on "${coat.surface}", which went on ${when} it, ` +
      `on ${day}. Mend appliedAt, or leave coatNumber out to number it by when it went on.`,
  );
}

const othersOn = (context: OperationContext, { id, jobId, surface }: CoatPlace): Promise<Stored<'coat'>[]> =>
  context.tx.coat.findMany({
    where: { jobId, surface, archivedAt: null, ...(id ? { id: { not: id } } : {}) },
    orderBy: { coatNumber: 'asc' },
  });
