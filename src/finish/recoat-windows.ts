/** When the next coat may go on, as a product's data sheet says: rows of their own. */
import { type RecoatBand, recoatRatesOf, windowsAt } from '../engine/cure/index.js';
import { EngineError } from '../engine/error.js';
import { Invalid } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { RecoatTableWindow, RecoatWindow } from './finish.shapes.js';

/** A product's recoat windows as they follow each other, always fetched with it. */
export const withRecoatWindows = {
  recoatMinutes: { orderBy: { fromMinutes: 'asc' as const } },
  recoatTable: { orderBy: [{ minCelsius: 'asc' as const }, { fromMinutes: 'asc' as const }] },
};

interface TableRow {
  minCelsius: unknown;
  maxCelsius: unknown;
  fromMinutes: number;
  toMinutes?: number | null | undefined;
}

/** The rows of a printed table by column of temperatures, the coldest first. */
export function bandsOf(rows: readonly TableRow[]): RecoatBand[] {
  const bands = new Map<string, { minCelsius: number; maxCelsius: number; windows: RecoatWindow[] }>();
  for (const { minCelsius, maxCelsius, fromMinutes, toMinutes = null } of rows) {
    const key = `${Number(minCelsius)} ${Number(maxCelsius)}`;
    const band = bands.get(key) ?? { minCelsius: Number(minCelsius), maxCelsius: Number(maxCelsius), windows: [] };
    band.windows.push({ fromMinutes, toMinutes });
    bands.set(key, band);
  }
  return [...bands.values()]
    .map((band) => ({ ...band, windows: band.windows.sort((a, b) => a.fromMinutes - b.fromMinutes) }))
    .sort((a, b) => a.minCelsius - b.minCelsius);
}

/**
 * The windows at reference, from the table where none are given, and the table checked against them.
 * @throws Invalid
 */
export function requireRecoatWindows(
  given: readonly RecoatWindow[] | undefined,
  table: readonly RecoatTableWindow[],
  referenceCelsius: number,
): readonly RecoatWindow[] {
  const bands = bandsOf(table);
  const windows = given ?? (bands.length > 0 ? windowsAt(bands, referenceCelsius) : []);
  if (windows.length === 0)
    throw new Invalid([{ detail: 'is needed where there is no recoatTable', pointer: '/recoatMinutes' }]);
  const upsideDown = table.findIndex((one) => typeof one.toMinutes === 'number' && one.toMinutes <= one.fromMinutes);
  if (upsideDown >= 0)
    throw new Invalid([{ detail: 'must lie after fromMinutes', pointer: `/recoatTable/${upsideDown}/toMinutes` }]);
  try {
    recoatRatesOf(windows, bands);
  } catch (error) {
    if (!(error instanceof EngineError)) throw error;
    throw new Invalid([{ detail: error.message, pointer: '/recoatTable' }]);
  }
  return windows;
}

/** The table given replaces the one there was. */
export async function writeRecoatTable(
  context: OperationContext,
  productId: string,
  table: readonly RecoatTableWindow[],
): Promise<void> {
  await context.tx.recoatTableWindow.deleteMany({ where: { productId } });
  await context.tx.recoatTableWindow.createMany({
    data: table.map((window) => ({ shopId: context.shop.id, productId, ...window })),
  });
}

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
