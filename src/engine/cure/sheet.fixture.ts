import type { DryingSheet } from './product.js';

/** An invented two-part primer: recoat within the hour, or not before two days. */
export const primer: DryingSheet = {
  name: 'Hallgrim zinc primer',
  referenceCelsius: 20,
  minCelsius: 5,
  maxCelsius: 35,
  touchMinutes: 120,
  handleMinutes: 480,
  assembleMinutes: 2880,
  fullMinutes: 10_080,
  recoatMinutes: [
    { fromMinutes: 0, toMinutes: 60 },
    { fromMinutes: 2880, toMinutes: null },
  ],
  sensitivity: { rateDoublingCelsius: 10 },
  dryFilmMicrometres: 50,
};
