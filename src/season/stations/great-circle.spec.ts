import { expect, it } from '@jest/globals';
import { greatCircleKilometres } from './great-circle.js';

it('measures over the ground', () => {
  // Rosetta Code, "Haversine formula" (recalled): 36.12 N 86.67 W to 33.94 N 118.40 W is 2887.26 km on a sphere of 6372.8 km.
  const nashville = { latitude: 36.12, longitude: -86.67 };
  const losAngeles = { latitude: 33.94, longitude: -118.4 };
  expect(greatCircleKilometres(nashville, losAngeles)).toBeCloseTo((2887.26 * 6371.0088) / 6372.8, 1);
  // A quarter and a half of the way round, from the definition of the radius alone.
  expect(greatCircleKilometres({ latitude: 0, longitude: 0 }, { latitude: 90, longitude: 17 })).toBeCloseTo(
    (Math.PI / 2) * 6371.0088,
    6,
  );
  expect(greatCircleKilometres({ latitude: 0, longitude: -90 }, { latitude: 0, longitude: 90 })).toBeCloseTo(
    Math.PI * 6371.0088,
    6,
  );
  expect(greatCircleKilometres(nashville, nashville)).toBe(0);
});
