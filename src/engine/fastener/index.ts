export type { Fastener } from './designation.js';
export { parseDesignation, type ParsedDesignation } from './parse.js';
export { printDesignation, printLength, printThread } from './print.js';
export { INCH, sameThread, type Series, type Thread } from './threads.js';
export { isNut, type Drive, type Finish, type Grade, type Head } from './vocabulary.js';
export { acrossFlats, clearanceHoles, tapDrill, type ClearanceHoles, type Drill, type Flats } from './dimensions.js';
export { deriveFacts, type FastenerFacts } from './facts.js';
export {
  citedStressArea, KSI, loadsOf, POUND_FORCE, strengthOf, tensileStressArea, type Cited, type Loads, type Strength,
} from './strength.js';
export { CLAMP_SHARE, NUT_FACTORS, tighteningTorque, type Surface, type Torque, type TorqueOptions } from './torque.js';
export {
  judgeSubstitute, rankSubstitutes, type Joint, type RuleFinding, type SubstituteVerdict,
} from './substitute.js';
