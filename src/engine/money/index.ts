/** Money: amounts in the minor unit, allocation, cost of a job, margin, tax. Data in, data out. */
export { currencyCodes, minorUnits } from './currency.js';
export { formatAmount, isBeyondWriting, parseAmount, roundAmount, type Amount, type RoundingMode } from './amount.js';
export { allocate, allocateEqually } from './allocate.js';
export { landedForReceipt, landLines, splitAcquisition, type GoodsLine, type LandedLine, type SpreadMethod } from './spread.js';
export { harvestBasis, type HarvestBasis, type HarvestedPart } from './harvest.js';
export {
  costStatement, haulCost, labourValue, marginStatement, spaceCost,
  type CostStatement, type JobCostInput, type Labour, type MarginStatement,
} from './cost.js';
export {
  marginSchemeGlobal, marginSchemeItem, salesTax, taxOnSale,
  type MarginSchemeItem, type MarginSchemePeriod, type MarginSchemeSettled, type TaxedSale, type TaxScheme,
} from './tax.js';
export { chanceCostAtMost, estimateAtCompletion, type CompletionEstimate, type RemainingCost } from './completion.js';
export { breakEven, marginOfMarkup, markupOfMargin, overheadRate, returnOnInvestment, underApplied, type BreakEven } from './shop-figures.js';
export { withdraw, type CostFlow, type StockLot } from './stock-cost.js';
