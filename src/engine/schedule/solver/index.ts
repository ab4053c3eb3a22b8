export { type LagSolution, minimiseMakespan } from './minimise.js';
export { type Lag, type LagProject, projectHorizon, verifyStarts } from './project.js';
export { LagSolver, type Outcome } from './solver.js';
