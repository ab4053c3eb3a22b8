import { EngineError } from '../error.js';

/** Solids of a paint after thinning: `VS / (100 + thinner) · 100`, thinner in per cent of the paint's volume. */
export function thinnedSolidsPercent(volumeSolidsPercent: number, thinnerPercent: number): number {
  within(volumeSolidsPercent, 0, 100, 'volumeSolidsPercent');
  if (!(thinnerPercent >= 0 && thinnerPercent <= 1000))
    throw new EngineError(
      'out-of-range',
      `thinner must be between 0 and 1000 %, not ${thinnerPercent}`,
      'thinnerPercent',
    );
  return (volumeSolidsPercent / (100 + thinnerPercent)) * 100;
}

/** Area one litre covers at a dry film, without loss: `10 · VS% / film` m²/L. */
export function spreadingSquareMetresPerLitre(volumeSolidsPercent: number, dryFilmMicrometres: number): number {
  within(volumeSolidsPercent, 0, 100, 'volumeSolidsPercent');
  positive(dryFilmMicrometres, 'dryFilmMicrometres');
  return (10 * volumeSolidsPercent) / dryFilmMicrometres;
}

/** The same when `lossPercent` of the paint ends elsewhere: overspray, pot, hose. */
export function practicalSpreadingSquareMetresPerLitre(
  volumeSolidsPercent: number,
  dryFilmMicrometres: number,
  lossPercent: number,
): number {
  return spreadingSquareMetresPerLitre(volumeSolidsPercent, dryFilmMicrometres) * keptShare(lossPercent);
}

/** The wet film that dries to `dryFilmMicrometres`: `film · 100 / VS%`. */
export function wetFilmMicrometres(dryFilmMicrometres: number, volumeSolidsPercent: number): number {
  positive(dryFilmMicrometres, 'dryFilmMicrometres');
  within(volumeSolidsPercent, 0, 100, 'volumeSolidsPercent');
  return (dryFilmMicrometres * 100) / volumeSolidsPercent;
}

/** The dry film a measured wet film leaves. */
export function dryFilmMicrometres(wetFilm: number, volumeSolidsPercent: number): number {
  positive(wetFilm, 'wetFilmMicrometres');
  within(volumeSolidsPercent, 0, 100, 'volumeSolidsPercent');
  return (wetFilm * volumeSolidsPercent) / 100;
}

/** Share of the paint that ends on the work. */
export function keptShare(lossPercent: number): number {
  if (!(lossPercent >= 0 && lossPercent < 100))
    throw new EngineError('out-of-range', `loss must be at least 0 and below 100 %, not ${lossPercent}`, 'lossPercent');
  return 1 - lossPercent / 100;
}

function within(value: number, above: number, most: number, path: string): void {
  if (!(value > above && value <= most))
    throw new EngineError('out-of-range', `${path} must be above ${above} and at most ${most}, not ${value}`, path);
}

function positive(value: number, path: string): void {
  if (!(value > 0 && Number.isFinite(value)))
    throw new EngineError('out-of-range', `${path} must be above 0, not ${value}`, path);
}
