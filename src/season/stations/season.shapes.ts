import { z } from 'zod';
import { choice, count, day, decimal, id, instant, shape } from '../../platform/shapes.js';
import { recordDate } from './stations.shapes.js';

export const QuantileType = choice('QuantileType', [
  'inverseEmpirical',
  'interpolatedEmpirical',
  'hazen',
  'weibull',
  'linear',
  'medianUnbiased',
  'normalUnbiased',
]);
const probability = decimal(0, 1);
const likely = day.nullable();

export const SeasonQuantile = shape(
  'SeasonQuantile',
  { probability: probability, day: likely, earliestLikelyDate: likely, latestLikelyDate: likely },
  'By this day it has come with this chance; the interval is where the day lies in nine ' +
    'of ten resamplings of the seasons. Null lies beyond the season.',
);
export const SeasonProbability = shape('SeasonProbability', { day, probability: probability.nullable() });
const SeasonStatus = choice('SeasonStatus', ['event', 'none', 'running', 'excluded']);
export const SnowSeason = shape('SnowSeason', {
  label: z.string(),
  status: SeasonStatus,
  day: recordDate.nullable(),
  millimetres: z.number().nullable(),
  reason: z.string().nullable(),
});
export const NoneSoFar = shape(
  'NoneSoFar',
  {
    noneByDate: day,
    seasonsAlike: count,
    quantiles: z.array(SeasonQuantile),
    probabilities: z.array(SeasonProbability),
    curve: z.array(SeasonProbability),
    probabilityNever: probability.nullable(),
  },
  'The same, given that none has fallen up to and with this day: from the seasons in which that was so.',
);
export const BacktestScore = shape('BacktestScore', {
  medianMissDays: z.number().meta({ description: 'By which the median missed, in the mean.' }),
  within80Share: probability.meta({
    scalar: 'Float',
    description: 'Came between the tenth and the ninetieth percentile; 0.8 is right.',
  }),
  lossDays: z
    .number()
    .meta({ description: 'Quantile loss at the tenths and the median, in the mean; less is better.' }),
});
export const SnowBacktest = shape(
  'SnowBacktest',
  { seasons: count, latestSeasons: count, all: BacktestScore, latest: BacktestScore },
  'Past seasons told from those before them alone: from all of them, and from the latest so many.',
);
export const FirstSnow = shape('FirstSnow', {
  stationId: id,
  stationName: z.string(),
  distanceKilometres: z.number(),
  thresholdMillimetres: z.number(),
  quantileType: QuantileType,
  seasonLabel: z.string(),
  startDate: day,
  endDate: day,
  happenedDate: likely.meta({
    scalar: 'Day',
    description: 'Set when the station already recorded the first snow of this season.',
  }),
  seasonsWithSnow: count,
  seasonsWithout: count,
  seasonsRunning: count,
  seasons: z.array(SnowSeason),
  earliest: SnowSeason.nullable(),
  latest: SnowSeason.nullable(),
  quantiles: z.array(SeasonQuantile),
  probabilities: z.array(SeasonProbability),
  curve: z
    .array(SeasonProbability)
    .meta({ description: 'The chance that it has snowed by the end of each day on which it rises.' }),
  probabilityNever: probability.nullable(),
  noneSoFar: NoneSoFar.nullable(),
  latestSeasons: count.nullable().meta({
    scalar: 'Int',
    description: 'So many of the latest seasons tell of the coming one; null: all on record.',
  }),
  trend: z
    .string()
    .nullable()
    .meta({ description: 'Where the records of all seasons support one at the level of 5 %, else null.' }),
  trendPValue: probability.meta({
    scalar: 'Float',
    description: 'How often chance alone would make a trend so strong (Mann and Kendall, two-sided).',
  }),
  backtest: SnowBacktest.nullable().meta({ description: 'Null where too few seasons are on record to tell.' }),
  reasons: z.array(z.string()),
});

export const FrostSeason = shape('FrostSeason', {
  label: z.string(),
  status: SeasonStatus,
  day: recordDate.nullable(),
  celsius: z.number().nullable(),
  reason: z.string().nullable(),
});
export const LastFrost = shape('LastFrost', {
  stationId: id,
  stationName: z.string(),
  distanceKilometres: z.number(),
  thresholdCelsius: z.number(),
  quantileType: QuantileType,
  seasonLabel: z.string(),
  seasons: z.array(FrostSeason),
  quantiles: z.array(SeasonQuantile),
  probabilities: z
    .array(SeasonProbability)
    .meta({ description: 'The chance that the last frost is over by the end of each day.' }),
  curve: z.array(SeasonProbability),
  trend: z.string().nullable(),
  reasons: z.array(z.string()),
});

export const PaintRefusal = choice('PaintRefusal', ['rain', 'cold', 'hot', 'damp', 'tooShort']);
export const PaintLimits = shape('PaintLimits', {
  minCelsius: z.number(),
  maxCelsius: z.number(),
  maxHumidityPercent: z.number(),
  dewPointMarginCelsius: z.number(),
});
export const PaintFortnight = shape(
  'PaintFortnight',
  {
    from: z.string().meta({ description: 'Month and day.' }),
    to: z.string(),
    years: count,
    observedDays: count,
    probability: probability.nullable(),
    minLikelyDays: z.number().nullable(),
    maxLikelyDays: z.number().nullable(),
  },
  'The chance that a day of these fourteen can be painted in, and how many of them could in a poor and ' +
    'in a good year: nine of ten years lie above the one, nine of ten below the other.',
);
export const PaintDaysQuantile = shape(
  'PaintDaysQuantile',
  { probability: probability, days: z.number().nullable() },
  'In so many of the years there are at most so many days.',
);
export const PaintDaysLeft = shape('PaintDaysLeft', {
  beforeDate: day,
  expected: z.number().nullable(),
  minDays: z.number().nullable(),
  maxDays: z.number().nullable(),
  quantiles: z.array(PaintDaysQuantile),
  years: count,
  weatherForecastDays: count,
});
export const LastPaintDayQuantile = shape(
  'LastPaintDayQuantile',
  { probability: probability, day: likely },
  'With this chance a day on which the shop works and a coat can go on still comes on this day or later; null: none comes.',
);
export const LastPaintDay = shape(
  'LastPaintDay',
  {
    untilDate: day.meta({ scalar: 'Day', description: 'How far was looked: to the middle of the winter.' }),
    continues: z.boolean().meta({ description: 'Paint weather does not end before that, as in a heated place.' }),
    quantiles: z.array(LastPaintDayQuantile),
    years: count,
  },
  'The last day before the winter on which a coat can go on.',
);
export const PaintWaitQuantile = shape('PaintWaitQuantile', { probability: probability, startsAt: instant.nullable() });
export const PaintWaitProbability = shape('PaintWaitProbability', { days: count, probability: probability.nullable() });
export const PaintWait = shape(
  'PaintWait',
  {
    windowMinutes: count,
    quantiles: z.array(PaintWaitQuantile),
    within: z.array(PaintWaitProbability),
    probabilityNone: probability.nullable(),
    years: count,
  },
  'Until paint weather next holds so long in one piece; begins at times at which the shop works.',
);
export const PaintWindow = shape('PaintWindow', { from: instant, to: instant });
export const PaintDayAhead = shape(
  'PaintDayAhead',
  {
    day,
    forecast: z.boolean(),
    probability: probability.nullable(),
    refusal: PaintRefusal.nullable(),
    windows: z.array(PaintWindow),
  },
  'A coming day: from the forecast where one was entered, else from climate.',
);
export const PaintWeather = shape('PaintWeather', {
  stationId: id,
  stationName: z.string(),
  distanceKilometres: z.number(),
  place: z.string(),
  limits: PaintLimits,
  fortnights: z.array(PaintFortnight),
  daysLeft: PaintDaysLeft,
  lastDay: LastPaintDay,
  wait: PaintWait,
  comingDays: z.array(PaintDayAhead),
  reasons: z.array(z.string()),
});
