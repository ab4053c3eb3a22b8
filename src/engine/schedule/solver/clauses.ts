import type { Trail } from './trail.js';

/** Entries in front of a clause's literals: how many there are, and how many levels they were on when learnt. */
const HEAD = 2;

/**
 * Learnt clauses: of each, one literal must be true. Two literals of every clause are watched (Moskewicz et al. 2001,
 * "Chaff", DAC:530–535), each with the bound at which it turns false.
 */
export class Clauses {
  pool = new Int32Array(4096);
  private end = 0;
  private offsets: number[] = [];
  /** Per quantity whose bound may make watched literals false: clause and value, in pairs. */
  private readonly watches: number[][];

  constructor(private readonly trail: Trail) {
    this.watches = Array.from(trail.bound, () => []);
  }

  get count(): number {
    return this.offsets.length;
  }

  lengthOf(clause: number): number {
    return this.pool[clause]!;
  }

  /** Where the literals of a clause begin: quantity and value, in pairs. */
  literalsOf(clause: number): number {
    return clause + HEAD;
  }

  /**
   * @param literals quantity and value, in pairs; the first is to become true now, the second was the latest to turn false.
   * @param levels how many levels the literals are on.
   */
  add(literals: readonly number[], levels: number): number {
    const clause = this.end;
    const size = HEAD + literals.length;
    while (this.end + size > this.pool.length) {
      const pool = new Int32Array(2 * this.pool.length);
      pool.set(this.pool);
      this.pool = pool;
    }
    this.pool[clause] = literals.length >> 1;
    this.pool[clause + 1] = levels;
    for (let k = 0; k < literals.length; k++) this.pool[clause + HEAD + k] = literals[k]!;
    this.end += size;
    this.offsets.push(clause);
    this.watch(clause, 0);
    this.watch(clause, 1);
    return clause;
  }

  private watch(clause: number, k: number): void {
    const at = clause + HEAD + 2 * k;
    this.watches[this.pool[at]! ^ 1]!.push(clause, -this.pool[at + 1]! - 1);
  }

  /**
   * Looks at the clauses that a fallen bound may have made false.
   * @param imply makes a literal true because of a clause; false when that empties a domain.
   * @returns -1; or the clause that is false; or -2 when `imply` refused.
   */
  propagate(
    quantity: number,
    former: number,
    value: number,
    imply: (quantity: number, value: number, clause: number) => boolean,
  ): number {
    const list = this.watches[quantity]!;
    const { pool } = this;
    const { bound } = this.trail;
    let kept = 0;
    let result = -1;
    let k = 0;
    for (; k < list.length; k += 2) {
      const clause = list[k]!;
      const limit = list[k + 1]!;
      if (limit < value || limit >= former) {
        list[kept++] = clause;
        list[kept++] = limit;
        continue;
      }
      const first = clause + HEAD;
      // The literal that turned false goes second.
      if ((pool[first]! ^ 1) === quantity && -pool[first + 1]! - 1 === limit) this.swap(first, first + 2);
      const q = pool[first]!;
      const v = pool[first + 1]!;
      list[kept++] = clause;
      list[kept++] = limit;
      if (bound[q]! <= v) continue;
      const end = first + 2 * pool[clause]!;
      let other = first + 4;
      while (other < end && bound[pool[other]! ^ 1]! <= -pool[other + 1]! - 1) other += 2;
      if (other < end) {
        kept -= 2;
        this.swap(first + 2, other);
        this.watch(clause, 1);
        continue;
      }
      if (bound[q ^ 1]! <= -v - 1) {
        result = clause;
        k += 2;
        break;
      }
      if (!imply(q, v, clause)) {
        result = -2;
        k += 2;
        break;
      }
    }
    for (; k < list.length; k++) list[kept++] = list[k]!;
    list.length = kept;
    return result;
  }

  private swap(a: number, b: number): void {
    const { pool } = this;
    const quantity = pool[a]!;
    const value = pool[a + 1]!;
    pool[a] = pool[b]!;
    pool[a + 1] = pool[b + 1]!;
    pool[b] = quantity;
    pool[b + 1] = value;
  }

  /** Without decisions: drops the half of the clauses that joined the most levels, and those that always hold. */
  reduce(): void {
    const { trail, pool, offsets } = this;
    const levels = offsets.map((clause) => pool[clause + 1]!).sort((a, b) => a - b);
    const limit = Math.max(2, levels[levels.length >> 1]!);
    const all = offsets.filter((clause) => pool[clause + 1]! <= limit);
    const old = pool.slice(0, this.end);
    this.end = 0;
    this.offsets = [];
    for (const list of this.watches) list.length = 0;
    for (const clause of all) {
      const literals: number[] = [];
      let holds = false;
      for (let k = 0; k < old[clause]!; k++) {
        const q = old[clause + HEAD + 2 * k]!;
        const v = old[clause + HEAD + 2 * k + 1]!;
        if (trail.root[q]! <= v) holds = true;
        if (trail.root[q ^ 1]! > -v - 1) literals.push(q, v);
      }
      // Shorter ones would already have been found by propagation.
      if (!holds && literals.length >= 4) this.add(literals, old[clause + 1]!);
    }
  }
}
