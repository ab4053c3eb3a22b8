import { type Compiled, NEVER } from '../problem/compile.js';
import { Usage } from './usage.js';

/**
 * What is in use of every resource while a schedule is made. What happened already, and what is away, is laid down once
 * and copied from then on.
 */
export class Occupancy {
  private readonly usage: Usage[];

  constructor(private readonly compiled: Compiled) {
    this.usage = compiled.resourceIds.map(
      (_, r) => new Usage(compiled.resourceCalendar[r]?.totalOpen ?? compiled.horizon),
    );
    for (const { resource, start, finish, amount } of compiled.reductions) this.use(resource, start, finish, amount);
    for (const [i, { fixed }] of compiled.tasks.entries()) {
      if (fixed?.finishMinutes !== undefined) this.occupy(i, fixed.startMinutes, fixed.finishMinutes);
    }
    for (const usage of this.usage) usage.keep();
  }

  /** Takes out all that was added since the beginning. */
  clear(): void {
    for (let r = 0; r < this.usage.length; r++) this.usage[r]!.restore();
  }

  /** Lets task `i` have what it needs over `[start, finish)`; for `sign` -1, takes it out again. */
  occupy(i: number, start: number, finish: number, sign: 1 | -1 = 1): void {
    const { demandFrom, demandResource, demandAmount } = this.compiled;
    for (let k = demandFrom[i]!; k < demandFrom[i + 1]!; k++) {
      this.use(demandResource[k]!, start, finish, sign * demandAmount[k]!);
    }
  }

  private use(r: number, start: number, finish: number, amount: number): void {
    const calendar = this.compiled.resourceCalendar[r];
    if (calendar) this.usage[r]!.add(calendar.openBefore(start), calendar.openBefore(finish), amount);
    else this.usage[r]!.add(start < 0 ? 0 : start, finish < 0 ? 0 : finish, amount);
  }

  /**
   * Whether demand number `k` (see `demandFrom`) finds room over `[start, finish)`.
   * @returns -1 if so; else the minute from which there is room for `minutes` of work; `NEVER` if there is none.
   */
  conflictEnd(k: number, start: number, finish: number, minutes: number): number {
    const { demandResource, demandAmount, resourceCalendar, capacity } = this.compiled;
    const r = demandResource[k]!;
    const limit = capacity[r]! - demandAmount[k]!;
    const calendar = resourceCalendar[r];
    if (!calendar) return this.usage[r]!.nextRoom(start, finish, limit, minutes);
    const until = this.usage[r]!.nextRoom(calendar.openBefore(start), calendar.openBefore(finish), limit, minutes);
    if (until < 0) return -1;
    const minute = calendar.minuteOf(until);
    return minute < 0 ? NEVER : minute;
  }
}
