import { EngineError } from '../error.js';
import { at, last } from '../look-up.js';

/** A stretch of a coat's age, at reference conditions, in which the next coat may go on; both ends are inside. */
export interface RecoatWindow {
  fromMinutes: number;
  /** No latest moment when null or absent. */
  toMinutes?: number | null;
}

/** A printed column of a sheet's recoat table: the windows at temperatures from one to another, both included. */
export interface RecoatBand {
  minCelsius: number;
  maxCelsius: number;
  /** As many as at the other temperatures, in the same order. */
  windows: readonly RecoatWindow[];
}

/** How fast a coat comes to its windows, and how fast they run out, in a band; 1 is as at the sheet's reference. */
export interface RecoatRates {
  minCelsius: number;
  maxCelsius: number;
  opening: number;
  closing: number;
}

/** The windows at a temperature: those of the band it lies in, else of the nearest one. */
export function windowsAt(bands: readonly RecoatBand[], celsius: number): readonly RecoatWindow[] {
  const away = (band: RecoatBand): number => Math.max(band.minCelsius - celsius, celsius - band.maxCelsius, 0);
  return bands.reduce((nearest, band) => (away(band) < away(nearest) ? band : nearest)).windows;
}

/**
 * A printed table as rates beside the windows at reference. Where the windows of one band do not scale alike, the coat
 * comes to all of them as to the slowest and they run out as the fastest: never too early, never too late.
 * @param reference the windows at the sheet's reference temperature
 * @throws EngineError `bad-sheet` where bands meet or their windows are not of one pattern
 */
export function recoatRatesOf(reference: readonly RecoatWindow[], bands: readonly RecoatBand[]): RecoatRates[] {
  const sorted = [...bands].sort((a, b) => a.minCelsius - b.minCelsius);
  return sorted.map(({ minCelsius, maxCelsius, windows }, k) => {
    const path = `recoatTable[${k}]`;
    if (!(minCelsius < maxCelsius) || (k > 0 && minCelsius < at(sorted, k - 1).maxCelsius))
      throw new EngineError('bad-sheet', 'temperatures must stand in order and apart', path);
    const alike =
      windows.length === reference.length &&
      windows.every((window, w) => {
        const other = at(reference, w);
        return (
          window.fromMinutes > 0 === other.fromMinutes > 0 && (window.toMinutes == null) === (other.toMinutes == null)
        );
      });
    if (!alike)
      throw new EngineError(
        'bad-sheet',
        'must have the same windows as at the other temperatures, only longer or shorter',
        path,
      );
    const opening = windows.flatMap((window, w) =>
      window.fromMinutes > 0 ? [at(reference, w).fromMinutes / window.fromMinutes] : [],
    );
    const closing = windows.flatMap((window, w) => {
      const { toMinutes } = at(reference, w);
      return window.toMinutes == null || toMinutes == null ? [] : [toMinutes / window.toMinutes];
    });
    return {
      minCelsius,
      maxCelsius,
      opening: opening.length > 0 ? Math.min(...opening) : 1,
      closing: closing.length > 0 ? Math.max(...closing) : 1,
    };
  });
}

/**
 * The rate by a table. Inside a band as printed; between two bands opening goes as in the slower and closing as in the
 * faster of them; colder than the table the sheet's general rule takes over from its edge; hotter, opening goes no faster
 * than printed, and closing goes on by the general rule.
 * @param by the general rule: how much faster a coat dries at a temperature than at another
 */
export function tableRate(
  rates: readonly RecoatRates[],
  celsius: number,
  of: 'opening' | 'closing',
  by: (celsius: number, atCelsius: number) => number,
): number {
  const coldest = at(rates, 0);
  const hottest = last(rates);
  if (celsius < coldest.minCelsius) return coldest[of] * by(celsius, coldest.minCelsius);
  if (celsius > hottest.maxCelsius)
    return of === 'opening' ? hottest[of] : hottest[of] * by(celsius, hottest.maxCelsius);
  const k = rates.findIndex((one) => celsius <= one.maxCelsius);
  const above = at(rates, k);
  if (celsius >= above.minCelsius) return above[of];
  const below = at(rates, k - 1);
  return of === 'opening' ? Math.min(below[of], above[of]) : Math.max(below[of], above[of]);
}
