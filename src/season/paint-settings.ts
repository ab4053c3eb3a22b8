/** Where and under which limits the shop paints, as the weather engine takes it. */
import { DEFAULT_PAINT_LIMITS, type PaintLimits, type PaintSettings, type Place } from '../engine/weather/index.js';
import { NotFound } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';

export interface PaintingPlace {
  words: string;
  place: Place;
}

/** The warmest kind of place first: whoever has a heated spray area sprays there. */
const shelters = ['heated', 'unheated', 'outdoors'] as const;

/** @throws NotFound for an id that is no place of the shop */
export async function paintingPlace(context: OperationContext, placeId?: string | null): Promise<PaintingPlace> {
  const select = { name: true, shelter: true, heatedToCelsius: true };
  const places = await context.tx.place.findMany({
    where: placeId ? { id: placeId } : { kind: 'sprayArea', archivedAt: null },
    select,
  });
  if (placeId && places.length === 0) throw new NotFound('place', placeId);
  const best = places.sort((a, b) => shelters.indexOf(a.shelter) - shelters.indexOf(b.shelter))[0];
  if (!best) return { words: 'outdoors, as the shop has no spray area on record', place: { shelter: 'outdoors' } };
  return { words: `${best.name} (${best.shelter})`, place: enginePlace(best) };
}

/** A stored place as the engine takes it. */
export function enginePlace(place: { shelter: 'outdoors' | 'unheated' | 'heated'; heatedToCelsius: unknown }): Place {
  return place.shelter === 'heated'
    ? { shelter: 'heated', heatedToCelsius: Number(place.heatedToCelsius) }
    : { shelter: place.shelter };
}

/** @throws NotFound for an id that is no coating product of the shop */
export async function productLimits(context: OperationContext, productId?: string | null): Promise<PaintLimits> {
  if (!productId) return DEFAULT_PAINT_LIMITS;
  const product = await context.tx.coatingProduct.findFirst({
    where: { id: productId },
    select: { minCelsius: true, maxCelsius: true, maxHumidityPercent: true, dewPointMarginCelsius: true },
  });
  if (!product) throw new NotFound('coating product', productId);
  return {
    minCelsius: Number(product.minCelsius),
    maxCelsius: Number(product.maxCelsius),
    maxHumidityPercent: Number(product.maxHumidityPercent),
    dewPointMarginCelsius: Number(product.dewPointMarginCelsius),
  };
}

/** The same by weekday, Monday first; null where the shop is closed. @returns undefined where no hours are entered */
export function paintingWeek(openingHours: unknown): PaintSettings['weekHours'] {
  const periods = openingHours as { weekday: number; opens: string; closes: string }[];
  if (periods.length === 0) return undefined;
  return [1, 2, 3, 4, 5, 6, 7].map(
    (weekday) => paintingHours(periods.filter((one) => one.weekday === weekday)) ?? null,
  );
}

/** From the first opening to the last closing of any weekday; nobody paints outside. */
export function paintingHours(openingHours: unknown): PaintSettings['hours'] {
  const periods = openingHours as { opens: string; closes: string }[];
  if (periods.length === 0) return undefined;
  const minute = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
  return {
    fromMinute: Math.min(...periods.map((one) => minute(one.opens))),
    toMinute: Math.max(...periods.map((one) => minute(one.closes))),
  };
}
