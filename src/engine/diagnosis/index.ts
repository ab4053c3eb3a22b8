export {
  type Access,
  accessFor,
  type Component,
  componentGroups,
  type ComponentPosition,
  componentPositions,
  ComponentTree,
  type Minutes,
  type TypicalWear,
} from './component.js';
export {
  type Found,
  type FoundOnJob,
  type JobTask,
  type Knowledge,
  nameOf,
  type Proposal,
  proposalsOf,
  type RouteStep,
  type Verdict,
  type WorkVerdict,
  workVerdicts,
} from './proposal.js';
export { replaceOrLeave } from './replace-or-leave.js';
export { rustScale, type RustStep } from './rust.js';
export { isWanted, type JobScope, jobScopes, scopePaints, scopeReasons } from './scope.js';
export { bridgesOver } from './skip.js';
export { projectWear, type WearProjection } from './wear.js';
export { isApart, type NewLink, type NewTask, sharedAccess, type WorkAdded, workOf } from './work.js';
