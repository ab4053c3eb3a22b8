/** Nest's name for what every transport is given to perform operations with. */
export const APP_CONTEXT = Symbol('performing');
