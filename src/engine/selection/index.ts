export { type Difference, difference, mean, quantileOf } from './paired.js';
export {
  MAX_ENUMERATED,
  type ScoredSet,
  type Selection,
  type SelectionProblem,
  selectSubset,
} from './select-subset.js';
