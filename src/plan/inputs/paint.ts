/** The coats of the plan's tasks: those that are on, and those to expect, with the clocks they age by. */
import type { AgeWindow } from '../../engine/schedule/index.js';
import { type PaintProduct, paintProducts, taskCoats } from '../../finish/paint-clocks.queries.js';
import { roleOfKind } from '../../finish/paint-roles.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { vapourMinutesOf } from '../../work/room-air.js';
import type { PlanPaint, PlanRecords } from './records.js';

export interface PlanPaints {
  byKind: PlanRecords['paints'];
  /** By task, of those whose coat is on record. */
  byTask: Map<string, PlanPaint>;
  clocks: Pick<PlanRecords['clocks'][number], 'id' | 'sheet' | 'place'>[];
}

/** @param ventilated whether the air of every spray area is drawn off */
export async function planPaints(
  context: OperationContext,
  jobIds: readonly string[],
  ventilated: boolean,
): Promise<PlanPaints> {
  const products = await paintProducts(context);
  const byId = new Map(products.map((product) => [product.id, product]));
  const paintOf = (product: PaintProduct): PlanPaint => ({
    productName: product.name,
    clockId: product.clock.id,
    recoatClockId: product.recoatClock?.id ?? null,
    recoatMinutes: openEnded(product),
    assembleMinutes: product.assembleMinutes,
    vapourMinutes: vapourMinutesOf(product.vapourMinutes, ventilated),
    known: null,
  });
  const byKind: PlanRecords['paints'] = {};
  for (const [kind, role] of Object.entries(roleOfKind)) {
    // Which can is taken is not known before; the one that takes longest keeps the date.
    const slowest = products
      .filter((product) => product.role === role)
      .sort((a, b) => b.assembleMinutes - a.assembleMinutes)[0];
    if (slowest) byKind[kind] = paintOf(slowest);
  }
  const byTask = new Map<string, PlanPaint>();
  for (const { taskId, productId, known, sanded } of await taskCoats(context, jobIds)) {
    const product = byId.get(productId);
    if (product)
      byTask.set(taskId, {
        ...paintOf(product),
        ...(sanded ? { recoatMinutes: [{ fromMinutes: 0, toMinutes: null }] } : {}),
        known,
      });
  }
  const clocks = new Map(
    products
      .flatMap(({ clock, recoatClock }) => (recoatClock ? [clock, recoatClock] : [clock]))
      .map((clock) => [clock.id, clock]),
  );
  return { byKind, byTask, clocks: [...clocks.values()] };
}

/** A sheet whose last window shuts leaves sanding: from then on, once it is hard enough to be handled. */
function openEnded({ recoatMinutes, handleMinutes }: PaintProduct): AgeWindow[] {
  const last = recoatMinutes.at(-1);
  if (!last || last.toMinutes === null) return recoatMinutes;
  return [...recoatMinutes, { fromMinutes: Math.max(last.toMinutes, handleMinutes), toMinutes: null }];
}
