export { ageAt, type AgeingSheet, type AgeTable, ageTable, meanAgeTable, minuteOfAddedAge } from './age-table.js';
export { type CoatAge, coatAge, minuteOfAge } from './clock.js';
export { type CoatQuestion, type CoatStatus, coatStatus, type StageOutlook } from './coat-status.js';
export {
  filmWarnings,
  type FinishWarning,
  type LayeredProduct,
  layerWarnings,
  systemWarnings,
} from './compatibility.js';
export {
  constantCourse,
  courseFromReadings,
  joinCourses,
  type Reading,
  type TemperatureCourse,
  type TemperatureSpan,
  validateCourse,
} from './course.js';
export {
  dryFilmMicrometres,
  practicalSpreadingSquareMetresPerLitre,
  spreadingSquareMetresPerLitre,
  thinnedSolidsPercent,
  wetFilmMicrometres,
} from './film.js';
export { comesBy, type LikelyMinute, type LikelyOptions, staysUntil } from './likely.js';
export { type PaintCan, paintNeed, type PaintNeedQuestion, type ProductNeed } from './paint-need.js';
export {
  clockRate,
  closingRate,
  type CureStage,
  dryingRate,
  type DryingSheet,
  openingRate,
  type RecoatWindow,
  stagesOf,
  type TemperatureSensitivity,
  validateSheet,
} from './product.js';
export { type RecoatAnswer, recoatNow, type RecoatPeriod, type RecoatReason } from './recoat.js';
export { type RecoatBand, type RecoatRates, recoatRatesOf, windowsAt } from './recoat-table.js';
