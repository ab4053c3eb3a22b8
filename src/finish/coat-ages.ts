/** How old coats are by now, by the temperatures they may have seen. Pure. */
import { coatAge } from '../engine/cure/index.js';
import { type CoatFacts, scenariosFor } from './coat-status.js';
import { type CureRecords, CureWeather } from './cure-weather.js';

export interface AgesQuestion {
  coats: readonly CoatFacts[];
  records: CureRecords;
  nowMinute: number;
}

/** In the coats' order: the least age by which one dries, the greatest by which a window closes. */
export function coatAges({
  coats,
  records,
  nowMinute,
}: AgesQuestion): { equivalentMinutes: number; closingMinutes: number }[] {
  const weather = new CureWeather(records);
  return coats.map((coat) => {
    const { scenarios } = scenariosFor(coat, weather.at(coat.placeId), nowMinute);
    const ages = scenarios.map((course) => coatAge(coat.sheet, course, coat.appliedMinute, nowMinute));
    return {
      equivalentMinutes: Math.min(...ages.map((age) => age.equivalentMinutes)),
      closingMinutes: Math.max(...ages.map((age) => age.closingMinutes)),
    };
  });
}
