export { clockRate, closingRate, type CureStage, dryingRate, type DryingSheet, type RecoatWindow, stagesOf, type TemperatureSensitivity, validateSheet } from './product.js';
export { constantCourse, courseFromReadings, joinCourses, type Reading, type TemperatureCourse, type TemperatureSpan, validateCourse } from './course.js';
export { coatAge, type CoatAge, minuteOfAge } from './clock.js';
export { recoatGaps, type RecoatAnswer, type RecoatGaps, type RecoatPeriod, type RecoatReason } from './recoat.js';
export { type CoatQuestion, type CoatStanding, coatStanding, type StageOutlook } from './standing.js';
export { comesBy, type LikelyMinute, type LikelyOptions, staysUntil } from './likely.js';
export { dryFilmMicrometres, practicalSpreadingSquareMetresPerLitre, spreadingSquareMetresPerLitre, thinnedSolidsPercent, wetFilmMicrometres } from './film.js';
export { paintNeed, type PaintCan, type PaintNeedQuestion, type ProductNeed } from './paint-need.js';
export { filmWarnings, type FinishWarning, type LayeredProduct, layerWarnings, systemWarnings } from './compatibility.js';
