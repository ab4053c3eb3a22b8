/** How old coats are by now, by the temperatures they may have seen. Pure. */
import { coatAge, recoatNow } from '../engine/cure/index.js';
import { type CoatFacts, scenariosFor } from './coat-status.js';
import { type CureRecords, CureWeather } from './cure-weather.js';

export interface AgesQuestion {
  coats: readonly CoatFacts[];
  records: CureRecords;
  nowMinute: number;
}

/** Only whether it may be coated is asked, not when. */
const NO_MOMENTS = { probabilities: [], quantileType: 'linear' as const };

/** In the coats' order: the least age by which one dries and comes to its windows, the greatest by which a window closes. */
export function coatAges({
  coats,
  records,
  nowMinute,
}: AgesQuestion): { equivalentMinutes: number; openingMinutes: number; closingMinutes: number; sanded: boolean }[] {
  const weather = new CureWeather(records);
  return coats.map((coat) => {
    const { scenarios } = scenariosFor(coat, weather.of(coat), nowMinute);
    const sanded = coat.sandedMinutes.filter((minute) => minute <= nowMinute);
    const ages = scenarios.map((course) => coatAge(coat.sheet, course, coat.appliedMinute, nowMinute));
    return {
      equivalentMinutes: Math.min(...ages.map((age) => age.equivalentMinutes)),
      openingMinutes: Math.min(...ages.map((age) => age.openingMinutes)),
      closingMinutes: Math.max(...ages.map((age) => age.closingMinutes)),
      sanded:
        sanded.length > 0 &&
        recoatNow(coat.sheet, scenarios, ages, coat.appliedMinute, NO_MOMENTS, sanded).code === 'sanded',
    };
  });
}
