/** Nest's name for what every transport is given to perform operations with. */
export const PERFORMING = Symbol('performing');
