/** Money: amounts in the minor unit, allocation, cost of a job, margin, tax. Data in, data out. */
export { allocate, allocateEqually } from './allocate.js';
export { type Amount, isBeyondWriting, parseAmount, roundAmount, type RoundingMode } from './amount.js';
export {
  type CompletionEstimate,
  estimateAtCompletion,
  probabilityCostAtMost,
  type RemainingCost,
} from './completion.js';
export {
  type CostStatement,
  costStatement,
  haulCost,
  type JobCostInput,
  type Labour,
  labourValue,
  type MarginStatement,
  marginStatement,
  spaceCost,
} from './cost.js';
export { currencyCodes, minorUnits } from './currency.js';
export { type HarvestBasis, harvestBasis, type HarvestedPart } from './harvest.js';
export { RateHistory, type ShopRates } from './rates.js';
export { type BreakEven, breakEven, overheadRate, returnOnInvestment, underApplied } from './shop-figures.js';
export { type GoodsLine, type LandedLine, landLines, splitAcquisition, type SpreadMethod } from './spread.js';
export {
  marginSchemeGlobal,
  type MarginSchemeItem,
  marginSchemeItem,
  type MarginSchemePeriod,
  type MarginSchemeSettled,
  salesTax,
  type TaxedSale,
  taxOnSale,
  type TaxScheme,
} from './tax.js';
