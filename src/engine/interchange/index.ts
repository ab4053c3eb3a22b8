export {
  type Claim,
  type Contradiction,
  contradictions,
  type Evidence,
  type Step,
  type Way,
  waysToServe,
} from './closure.js';
export { type Circumstances, type Conditions, describeConditions, holdsIn } from './conditions.js';
export { supersede, type Supersession, supersessionChain } from './supersession.js';
