/** A normal belief about an effect on the natural log of a price. */
export interface Belief {
  mean: number;
  deviation: number;
}

/** The effects that shift a log price, in the order of the design's columns. */
export const effectNames = [
  'conditionStep',
  'conditionCurvature',
  'askingPremium',
  'decadeOlder',
  'widthElasticity',
  'season',
  'yearSinceSeen',
  'equipment',
] as const;

export type EffectName = (typeof effectNames)[number];

/** What is believed of prices before the first comparable is seen. */
export interface PriceBeliefs {
  effects: Record<EffectName, Belief>;
  /** Standard deviations of the makers' and the models' own effects. */
  makerDeviation: number;
  modelDeviation: number;
  /** Spread of log prices of machines alike in all of the above: its median, and the standard deviation of its log. */
  noise: { median: number; logDeviation: number };
}

/**
 * Judgement, no source: a grade of condition is worth about a quarter, an asking price stands an eighth above what is
 * paid, ten years cost a fifth, a wider machine costs nearly in proportion, the season is worth an eighth, prices rise
 * two percent a year, a piece of equipment is worth a tenth; makers differ by a fifth, models of one maker by an eighth,
 * like machines by a quarter. They matter only until the shop's own comparables outweigh them.
 */
export const usualBeliefs: PriceBeliefs = {
  effects: {
    conditionStep: { mean: 0.25, deviation: 0.12 },
    conditionCurvature: { mean: 0, deviation: 0.05 },
    askingPremium: { mean: 0.12, deviation: 0.07 },
    decadeOlder: { mean: -0.2, deviation: 0.15 },
    widthElasticity: { mean: 0.8, deviation: 0.4 },
    season: { mean: 0.12, deviation: 0.09 },
    yearSinceSeen: { mean: -0.02, deviation: 0.03 },
    equipment: { mean: 0.1, deviation: 0.08 },
  },
  makerDeviation: 0.2,
  modelDeviation: 0.12,
  noise: { median: 0.25, logDeviation: 0.55 },
};
