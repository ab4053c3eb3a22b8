export {
  contradictions, waysToServe, type Claim, type Contradiction, type Evidence, type Step, type Way,
} from './closure.js';
export { describeConditions, holdsIn, type Circumstances, type Conditions } from './conditions.js';
export { supersede, supersessionChain, type Supersession } from './supersession.js';
