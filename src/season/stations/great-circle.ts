export interface Coordinates {
  latitude: number;
  longitude: number;
}

/** Mean radius of the Earth, IUGG: (2a + b) / 3 of the GRS 80 ellipsoid (Moritz 2000, J. Geodesy 74:128, recalled). */
const earthRadiusKilometres = 6371.0088;
const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** Distance over the ground in kilometres, by the haversine formula on a sphere: within 0.6 % of the ellipsoid's. */
export function greatCircleKilometres(a: Coordinates, b: Coordinates): number {
  const across =
    Math.sin(radians(b.latitude - a.latitude) / 2) ** 2 +
    Math.cos(radians(a.latitude)) *
      Math.cos(radians(b.latitude)) *
      Math.sin(radians(b.longitude - a.longitude) / 2) ** 2;
  return 2 * earthRadiusKilometres * Math.asin(Math.min(1, Math.sqrt(across)));
}
