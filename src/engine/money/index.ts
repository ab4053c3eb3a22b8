export { currencyCodes, minorUnits } from './currency.js';
export { formatAmount, parseAmount, roundAmount, type Amount, type RoundingMode } from './amount.js';
export { allocate, allocateEqually } from './allocate.js';
