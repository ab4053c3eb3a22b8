export { emptyDay, type StationDay, stationRecord, type StationRecord } from './record.js';
export { DEFAULT_QUANTILE_TYPE, quantile, type QuantileType } from './quantile.js';
export { productLimit, type ProductLimitStep, survivalAfter, type Watched } from './product-limit.js';
export { type EventRule, findSeasons, firstSnowRule, lastFrostRule, type Measure, type Season, seasonLabel, seasonSpan, seasonStartYear, type SeasonStatus, validateRule } from './first-event.js';
export { type Bootstrap } from './bootstrap.js';
export { chanceBy, type EventDistribution, eventDistribution, type Outlook, eventOutlook, type OutlookQuantile, type OutlookQuestion, eventQuantile, givenNoneBy } from './outlook.js';
export { findTrend, type Trend, type TrendPoint } from './trend.js';
export { dewPointCelsius, frostPointCelsius, relativeHumidityPercent } from './dew-point.js';
export { decidePaint, DEFAULT_PAINT_LIMITS, type PaintConditions, type PaintDecision, type PaintLimits, type PaintRefusal } from './paint-decision.js';
