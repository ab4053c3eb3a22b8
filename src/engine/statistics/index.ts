export { gammaLower, gammaQuantile, gammaUpper, logGamma, trigamma } from './gamma.js';
export { normalCdf, normalDensity, normalHazard, normalQuantile, normalTail } from './normal.js';
export { betaLower, studentCdf, studentLogDensity, studentQuantile, studentTail } from './student.js';
