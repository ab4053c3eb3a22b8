export {
  accessFor,
  type Access,
  type Component,
  componentGroups,
  componentPositions,
  type ComponentPosition,
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
  workVerdicts,
  type WorkVerdict,
} from './proposal.js';
export { replaceOrLeave } from './replace-or-leave.js';
export { type RustStep, rustScale } from './rust.js';
export { isWanted, type JobScope, jobScopes, scopePaints, scopeReasons } from './scope.js';
export { bridgesOver } from './skip.js';
export { projectWear, type WearProjection } from './wear.js';
export { isApart, type NewLink, type NewTask, sharedAccess, type WorkAdded, workOf } from './work.js';
