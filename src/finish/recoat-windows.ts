/** When the next coat may go on, as a product's data sheet says: rows of their own. */
import type { OperationContext } from '../platform/operation/operation.js';
import type { RecoatWindow } from './finish.shapes.js';

/** A product's recoat windows as they follow each other, always fetched with it. */
export const withRecoatWindows = { recoatMinutes: { orderBy: { fromMinutes: 'asc' as const } } };

/** The windows given replace all there were. */
export async function writeRecoatWindows(
  context: OperationContext,
  productId: string,
  windows: readonly RecoatWindow[],
): Promise<void> {
  await context.tx.recoatWindow.deleteMany({ where: { productId } });
  await context.tx.recoatWindow.createMany({
    data: windows.map((window) => ({ shopId: context.shop.id, productId, ...window })),
  });
}
