import { type Compiled, NEVER } from '../problem/compile.js';

/**
 * What is known of a schedule in the making: tasks that need the same find no room where one of them has just looked in
 * vain. Without it, each of a hundred jobs would walk through the same full days again. Holds until something is taken out.
 */
export class InfeasibilityCache {
  /** Kinds of tasks: the same resources, calendar and windows. */
  private readonly kindOf: Int32Array;
  /** Per kind: no task of `minutes` or more can start in `[from, to)`; the resource to blame, and until when, or -1. */
  readonly minutes: Int32Array;
  readonly from: Int32Array;
  readonly to: Int32Array;
  readonly resource: Int32Array;
  readonly until: Int32Array;

  constructor({ tasks }: Compiled) {
    const { kindOf, kinds } = kindsOf(tasks);
    this.kindOf = kindOf;
    this.minutes = new Int32Array(kinds);
    this.from = new Int32Array(kinds);
    this.to = new Int32Array(kinds);
    this.resource = new Int32Array(kinds);
    this.until = new Int32Array(kinds);
    this.forget();
  }

  /** To be called whenever something is taken out. */
  forget(): void {
    this.minutes.fill(NEVER);
  }

  /** The kind of task `i` if it cannot start at `start` for what is known, else -1. */
  excludes(i: number, start: number, minutes: number): number {
    const kind = this.kindOf[i]!;
    return minutes >= this.minutes[kind]! && start >= this.from[kind]! && start < this.to[kind]! ? kind : -1;
  }

  /** Task `i` looked for `minutes` from `from` on and found its place at `to`; `until` is -1 where no resource was to blame. */
  note(i: number, minutes: number, from: number, to: number, resource: number, until: number): void {
    const kind = this.kindOf[i]!;
    this.minutes[kind] = minutes;
    this.from[kind] = from;
    this.to[kind] = to;
    this.resource[kind] = resource;
    this.until[kind] = until;
  }
}

/** Worked out once for all generators of the same tasks. */
const known = new WeakMap<Compiled['tasks'], { kindOf: Int32Array; kinds: number }>();

function kindsOf(tasks: Compiled['tasks']): { kindOf: Int32Array; kinds: number } {
  let found = known.get(tasks);
  if (!found) {
    const kinds = new Map<string, number>();
    const kindOf = Int32Array.from(tasks, ({ pausable, weatherId, windows, demands, exclusions }) => {
      const needs = demands.map(({ resourceId, amount }) => [resourceId, amount]).sort();
      const key = JSON.stringify([pausable, weatherId, windows, needs, exclusions]);
      const kind = kinds.get(key) ?? kinds.size;
      kinds.set(key, kind);
      return kind;
    });
    found = { kindOf, kinds: kinds.size };
    known.set(tasks, found);
  }
  return found;
}
