/**
 * The domains of the starts, as bounds that only tighten, and the record of how they did.
 *
 * Every start `s` has two bounded quantities: number `2i` is `s`, number `2i + 1` is `−s`; both have an upper bound only.
 * A literal is a pair (quantity, value) and says "quantity ≤ value"; its opposite is (quantity ^ 1, −value − 1). So every
 * bound is a literal without a variable of its own (lazy clause generation: Ohrimenko, Stuckey & Codish 2009, Constraints
 * 14:357–391).
 */
export class Trail {
  /** Present upper bounds. */
  readonly bound: Int32Array;
  /** Upper bounds that hold without any decision. */
  readonly root: Int32Array;
  /** Latest event of each quantity; -1 for none. */
  readonly last: Int32Array;
  // One entry an event: the quantity, its new and its former bound, the event before it of the same quantity, and why.
  quantity = new Int32Array(1024);
  value = new Int32Array(1024);
  former = new Int32Array(1024);
  previous = new Int32Array(1024);
  reason = new Int32Array(1024);
  length = 0;
  /** Where the events of each level begin; level 0 has none of its own. */
  readonly levels: number[] = [];

  constructor(tasks: number) {
    this.bound = new Int32Array(2 * tasks);
    this.root = new Int32Array(2 * tasks);
    this.last = new Int32Array(2 * tasks).fill(-1);
  }

  /** Records a tighter bound. Whether the domain is empty then is for the caller to see. */
  push(quantity: number, value: number, reason: number): void {
    const at = this.length;
    if (at === this.value.length) this.grow();
    this.quantity[at] = quantity;
    this.value[at] = value;
    this.former[at] = this.bound[quantity]!;
    this.previous[at] = this.last[quantity]!;
    this.reason[at] = reason;
    this.last[quantity] = at;
    this.bound[quantity] = value;
    this.length = at + 1;
  }

  /** Takes the latest event back; returns its quantity. */
  pop(): number {
    const at = --this.length;
    const quantity = this.quantity[at]!;
    this.bound[quantity] = this.former[at]!;
    this.last[quantity] = this.previous[at]!;
    return quantity;
  }

  /** Without decisions: makes the present bounds those that always hold. */
  settle(): void {
    for (let at = 0; at < this.length; at++) this.last[this.quantity[at]!] = -1;
    this.length = 0;
    this.root.set(this.bound);
  }

  /** The event that first made a literal true that is true now; -1 when it always is. */
  eventOf(quantity: number, value: number): number {
    if (this.root[quantity]! <= value) return -1;
    const { previous, former } = this;
    let at = this.last[quantity]!;
    while (former[at]! <= value) at = previous[at]!;
    return at;
  }

  /** The bound as it was before event `at`. */
  boundBefore(quantity: number, at: number): number {
    const { previous, value } = this;
    let event = this.last[quantity]!;
    while (event >= at) event = previous[event]!;
    return event < 0 ? this.root[quantity]! : value[event]!;
  }

  /** The level of an event. */
  levelOf(at: number): number {
    const { levels } = this;
    let low = 0;
    let high = levels.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (levels[middle]! <= at) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  private grow(): void {
    const longer = (array: Int32Array): Int32Array<ArrayBuffer> => {
      const copy = new Int32Array(2 * array.length);
      copy.set(array);
      return copy;
    };
    this.quantity = longer(this.quantity);
    this.value = longer(this.value);
    this.former = longer(this.former);
    this.previous = longer(this.previous);
    this.reason = longer(this.reason);
  }
}

/** Why a bound was tightened: three kinds in the two lowest bits, a number above them; a decision has none. */
export const DECISION = -1;
export const BY_LAG = 0;
export const BY_CLAUSE = 1;
export const BY_PEAK = 2;
