export type { Fastener } from './designation.js';
export { type ClearanceHoles, clearanceHoles, type Drill, tapDrill } from './dimensions.js';
export { deriveFacts, type FastenerFacts } from './facts.js';
export { type ParsedDesignation, parseDesignation } from './parse.js';
export { printDesignation, printLength, printThread } from './print.js';
export {
  type Cited,
  citedStressArea,
  KSI,
  type Loads,
  loadsOf,
  POUND_FORCE,
  type Strength,
  strengthOf,
  tensileStressArea,
} from './strength.js';
export {
  type Joint,
  judgeSubstitute,
  rankSubstitutes,
  type RuleFinding,
  type SubstituteVerdict,
} from './substitute.js';
export { INCH, sameThread, type Series, type Thread } from './threads.js';
export { CLAMP_SHARE, NUT_FACTORS, type Surface, tighteningTorque, type Torque, type TorqueOptions } from './torque.js';
export { type Drive, type Finish, type Grade, type Head, isNut } from './vocabulary.js';
export { acrossFlats, type Flats, noWrenchReason } from './wrench.js';
