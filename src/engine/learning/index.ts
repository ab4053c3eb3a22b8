export {
  type AbsencePriors,
  type AbsenceRecord,
  type AbsenceSample,
  expectedAbsentShare,
  sampleAbsences,
  STATED_ABSENCE_PRIORS,
} from './absence.js';
export {
  expectedFoundMinutes,
  type FoundWorkEntry,
  type FoundWorkPosterior,
  type FoundWorkPriors,
  learnFoundWork,
  STATED_FOUND_WORK_PRIORS,
} from './found-work.js';
export {
  expectedHoursFactor,
  type HoursDraw,
  type HoursEntry,
  type HoursPosterior,
  type HoursPriors,
  learnHours,
  STATED_HOURS_PRIORS,
  typicalHoursFactor,
} from './hours.js';
