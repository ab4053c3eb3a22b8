/** Random numbers of the simulated worlds: a generator of their own, so that nothing is shared with what is checked. */
export class Dice {
  private status: number;

  constructor(seed: number, ...more: number[]) {
    let status = Math.imul(seed | 0, 0x9e3779b1) ^ 0x5bf03635;
    for (const one of more) status = Math.imul(status ^ (one + 0x7f4a7c15), 0x85ebca6b) ^ (status >>> 13);
    this.status = status | 0;
    for (let k = 0; k < 5; k += 1) this.uniform();
  }

  /** In (0, 1): mulberry32 (Tommy Ettinger, public domain), with the ends cut off. */
  uniform(): number {
    this.status = (this.status + 0x6d2b79f5) | 0;
    let t = Math.imul(this.status ^ (this.status >>> 15), 1 | this.status);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4_294_967_296;
  }

  normal(): number {
    return Math.sqrt(-2 * Math.log(this.uniform())) * Math.cos(2 * Math.PI * this.uniform());
  }

  /** Whole, both ends included. */
  whole(from: number, to: number): number {
    return from + Math.floor(this.uniform() * (to - from + 1));
  }

  between(from: number, to: number): number {
    return from + this.uniform() * (to - from);
  }

  pick<T>(list: readonly T[]): T {
    return list[Math.floor(this.uniform() * list.length)]!;
  }

  happens(probability: number): boolean {
    return this.uniform() < probability;
  }
}
