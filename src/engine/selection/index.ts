export {
  MAX_ENUMERATED,
  type ScoredSet,
  selectSubset,
  type Selection,
  type SelectionProblem,
} from './select-subset.js';
export { difference, type Difference, mean, quantileOf } from './paired.js';
