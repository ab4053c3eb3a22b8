/** Why a start was pushed later. */
export type Push =
  'now' | 'release' | 'link' | 'held' | 'gap' | 'closed' | 'sitting' | 'window' | 'resource' | 'excluded';
/** `bindKind` of a start decided by nothing but the present minute or a release. */
export const BOUND_BY_RELEASE = 0;
/** … by the link in `bindBy` (its wait or its forbidden interval). */
export const BOUND_BY_LINK = 1;
/** … by the resource in `bindBy`. */
export const BOUND_BY_RESOURCE = 2;
/** … by being held back for a follower. */
export const BOUND_BY_HOLD = 3;

/** Told of every push while a schedule is made; `by` is a link, a resource or -1, according to `push`. */
export type Trace = (task: number, push: Push, by: number, from: number, until: number) => void;
