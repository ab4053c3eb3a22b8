/** Nest's name for what every transport is given to execute operations with. */
export const APP_CONTEXT = Symbol('app context');
