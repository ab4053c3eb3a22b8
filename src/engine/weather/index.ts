export { type Backtest, type BacktestScore, backtestSeasons } from './backtest.js';
export { type Bootstrap } from './bootstrap.js';
export { airCelsiusAtHumidity, dewPointCelsius, frostPointCelsius, relativeHumidityPercent } from './dew-point.js';
export {
  type EventRule,
  findSeasons,
  firstSnowRule,
  lastFrostRule,
  type Measure,
  type Season,
  seasonLabel,
  seasonSpan,
  seasonStartYear,
  type SeasonStatus,
  validateRule,
} from './first-event.js';
export {
  type EventDistribution,
  eventDistribution,
  eventOutlook,
  eventQuantile,
  givenNoneBy,
  type Outlook,
  type OutlookQuantile,
  type OutlookQuestion,
  probabilityBy,
} from './outlook.js';
export {
  type MinuteSpan,
  paintDate,
  type PaintDay,
  type PaintDayRefusal,
  paintDays,
  type PaintSettings,
  type PaintWindow,
  paintWindows,
} from './paint-days.js';
export {
  decidePaint,
  DEFAULT_PAINT_LIMITS,
  type PaintConditions,
  type PaintDecision,
  type PaintLimits,
  type PaintRefusal,
} from './paint-decision.js';
export {
  type FortnightProbability,
  type LastPaintDay,
  lastPaintDay,
  type PaintDaysLeft,
  paintDaysLeft,
  type PaintQuestion,
  type PaintWait,
  probabilityByFortnight,
  waitForPaintWindow,
} from './paint-outlook.js';
export {
  airCelsiusThrough,
  type DayCurve,
  dayDewPointCelsius,
  DEFAULT_DAY_CURVE,
  type Place,
  placeCelsiusThrough,
  placeTemperatures,
  STEP_MINUTES,
} from './place.js';
export { productLimit, type ProductLimitStep, survivalAfter, type Watched } from './product-limit.js';
export { DEFAULT_QUANTILE_TYPE, quantile, type QuantileType } from './quantile.js';
export { emptyDay, type StationDay, type StationRecord, stationRecord } from './record.js';
export { findTrend, type Trend, type TrendPoint } from './trend.js';
export {
  drawWeatherYears,
  type Horizon,
  weatherPath,
  type WeatherYear,
  type WeatherYearQuestion,
  weatherYears,
} from './weather-year.js';
