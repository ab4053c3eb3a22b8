/** Why a start was pushed later. */
export type TraceStep =
  | 'now'
  | 'release'
  | 'link'
  | 'delayed'
  | 'forbidden-interval'
  | 'closed'
  | 'sitting'
  | 'window'
  | 'resource'
  | 'excluded';
/** `bindKind` of a start decided by nothing but the present minute or a release. */
export const BOUND_BY_RELEASE = 0;
/** … by the link in `bindBy` (its wait or its forbidden interval). */
export const BOUND_BY_LINK = 1;
/** … by the resource in `bindBy`. */
export const BOUND_BY_RESOURCE = 2;
/** … by being delayed for a follower. */
export const BOUND_BY_DELAY = 3;

/** Told of every step while a schedule is made; `by` is a link, a resource or -1, according to `step`. */
export type Trace = (task: number, step: TraceStep, by: number, from: number, until: number) => void;
