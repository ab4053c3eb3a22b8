import { minutesInWords } from '../durations.js';
import { EngineError } from '../error.js';
import { DEFAULT_QUANTILE_TYPE, type QuantileType } from '../weather/quantile.js';
import { type CoatAge, coatAge, minuteOfAge } from './clock.js';
import { filmWarnings, type FinishWarning } from './compatibility.js';
import { joinCourses, type TemperatureCourse, validateCourse } from './course.js';
import { comesBy, type LikelyMinute } from './likely.js';
import { type CureStage, type DryingSheet, stagesOf, type TemperatureSensitivity, validateSheet } from './product.js';
import { type RecoatAnswer, recoatNow } from './recoat.js';

export interface CoatQuestion {
  sheet: DryingSheet;
  appliedMinute: number;
  nowMinute: number;
  /** As measured or intended; the sheet's own when absent. */
  dryFilmMicrometres?: number | null;
  /** When it was sanded, up to now. */
  sandedMinutes?: readonly number[];
  /** What is known of the temperatures, as far as it goes. */
  recorded: TemperatureCourse;
  /**
   * What may come, each as likely as the others (forecast, then one year of climate each); also fills what was
   * not recorded. At least one.
   */
  scenarios: readonly TemperatureCourse[];
  /** Shares of the scenarios by which a moment is told; 0.5 and 0.8 when absent. */
  probabilities?: readonly number[];
  quantileType?: QuantileType;
  /** The shop's own longest wait after a coat before assembly, as time on the clock; none when absent. */
  shopAssemblyWaitMinutes?: number | null;
}

export interface StageOutlook {
  stage: Exclude<CureStage, 'wet'>;
  /** What the sheet says, at its reference temperature. */
  sheetMinutes: number;
  /** Set once the stage is reached, whatever the scenario. */
  reachedMinute: number | null;
  likely: LikelyMinute[];
}

export interface CoatStatus {
  /** The last stage reached in every scenario. */
  stage: CureStage;
  /** The least over the scenarios, which differ only where the past was not recorded. */
  age: CoatAge;
  stages: StageOutlook[];
  recoat: RecoatAnswer;
  assembly: { likely: LikelyMinute[]; boundBy: 'sheet' | 'shop' };
  warnings: FinishWarning[];
  reasons: string[];
}

/**
 * Where one coat stands now and when it goes on.
 * @throws EngineError `bad-sheet`, `bad-course`, `out-of-range`
 */
export function coatStatus(question: CoatQuestion): CoatStatus {
  const {
    sheet,
    appliedMinute,
    nowMinute,
    quantileType = DEFAULT_QUANTILE_TYPE,
    probabilities = [0.5, 0.8],
  } = question;
  validateSheet(sheet);
  validateCourse(question.recorded, 'recorded');
  question.scenarios.forEach((one, k) => validateCourse(one, `scenarios[${k}]`));
  if (question.scenarios.length === 0)
    throw new EngineError('out-of-range', 'at least one temperature scenario is needed', 'scenarios');
  const courses = question.scenarios.map((one) => joinCourses([question.recorded, one]));
  const ages = courses.map((course) => coatAge(sheet, course, appliedMinute, nowMinute));
  const age = ages.reduce((least, one) => (one.equivalentMinutes < least.equivalentMinutes ? one : least));
  const options = { probabilities, quantileType };
  const stages = stagesOf(sheet).map(({ stage, minutes }): StageOutlook => {
    const moments = courses.map((course) => minuteOfAge(sheet, course, appliedMinute, minutes));
    const latest = Math.max(...moments.map((moment) => moment ?? Infinity));
    return {
      stage,
      sheetMinutes: minutes,
      reachedMinute: latest <= nowMinute ? latest : null,
      likely: comesBy(moments, options),
    };
  });
  const shopMinute = appliedMinute + (question.shopAssemblyWaitMinutes ?? 0);
  const bySheet = courses.map((course) => minuteOfAge(sheet, course, appliedMinute, sheet.assembleMinutes));
  return {
    stage: stages.findLast((one) => one.reachedMinute !== null)?.stage ?? 'wet',
    age,
    stages,
    recoat: recoatNow(sheet, courses, ages, appliedMinute, options, question.sandedMinutes),
    assembly: {
      likely: comesBy(
        bySheet.map((minute) => (minute === undefined ? undefined : Math.max(minute, shopMinute))),
        options,
      ),
      boundBy: bySheet.every((minute) => minute !== undefined && minute < shopMinute) ? 'shop' : 'sheet',
    },
    warnings: warningsOf(question, age),
    reasons: explain(question, age),
  };
}

function warningsOf({ sheet, dryFilmMicrometres }: CoatQuestion, age: CoatAge): FinishWarning[] {
  const warnings: FinishWarning[] = [];
  const warn = (wrong: boolean, code: string, detail: string) => wrong && warnings.push({ code, detail });
  warn(
    age.tooColdMinutes > 0,
    'too-cold',
    `It stood ${minutesInWords(age.tooColdMinutes)} below ${sheet.minCelsius} °C, the sheet's least; that ` +
      `time counts for nothing, and the sheet does not say whether the coat will be sound.`,
  );
  warn(
    age.tooHotMinutes > 0,
    'too-hot',
    `It stood ${minutesInWords(age.tooHotMinutes)} above ${sheet.maxCelsius} °C, the sheet's most; that time counts as at the most.`,
  );
  warn(
    age.unknownMinutes > 0,
    'temperature-unknown',
    `For ${minutesInWords(age.unknownMinutes)} no temperature is known; that time counts for nothing.`,
  );
  return [...warnings, ...filmWarnings(sheet.dryFilmMicrometres, dryFilmMicrometres)];
}

function explain({ sheet, scenarios, shopAssemblyWaitMinutes }: CoatQuestion, age: CoatAge): string[] {
  const reasons = [
    `${minutesInWords(age.elapsedMinutes)} since it was applied are worth ${minutesInWords(age.equivalentMinutes)} ` +
      `at ${sheet.referenceCelsius} °C, taking ${saySensitivity(sheet.sensitivity)}.`,
    `What is to come was computed over ${scenarios.length} course${scenarios.length === 1 ? '' : 's'} of temperature.`,
  ];
  if (shopAssemblyWaitMinutes)
    reasons.push(`The shop waits at least ${minutesInWords(shopAssemblyWaitMinutes)} before assembly.`);
  return reasons;
}

function saySensitivity(sensitivity: TemperatureSensitivity): string {
  if ('rateDoublingCelsius' in sensitivity)
    return `drying to double in speed every ${sensitivity.rateDoublingCelsius} °C`;
  if ('datumCelsius' in sensitivity) return `drying to go with the degrees above ${sensitivity.datumCelsius} °C`;
  return `an activation energy of ${sensitivity.activationKilojoulesPerMole} kJ/mol`;
}
