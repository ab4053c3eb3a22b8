import type { Random } from '../statistics/random.js';

/** Normal, gamma and beta numbers from a seeded stream. */
export class Normals {
  private spare: number | null = null;

  constructor(private readonly random: Random) {}

  /** Uniform in (0, 1). */
  uniform(): number {
    return this.random.next() || 2 ** -33;
  }

  /** Standard normal: Box & Muller 1958, Annals of Mathematical Statistics 29:610–611. */
  next(): number {
    if (this.spare !== null) {
      const kept = this.spare;
      this.spare = null;
      return kept;
    }
    const radius = Math.sqrt(-2 * Math.log(this.uniform()));
    const angle = 2 * Math.PI * this.uniform();
    this.spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  }

  /** Gamma with scale 1: Marsaglia & Tsang 2000, ACM Transactions on Mathematical Software 26:363–372. */
  gamma(shape: number): number {
    if (shape < 1) return this.gamma(shape + 1) * this.uniform() ** (1 / shape);
    const d = shape - 1 / 3;
    const c = 1 / Math.sqrt(9 * d);
    for (;;) {
      const x = this.next();
      const v = (1 + c * x) ** 3;
      if (v > 0 && Math.log(this.uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
    }
  }

  chiSquared(degrees: number): number {
    return 2 * this.gamma(degrees / 2);
  }

  /** As the share of two gammas. */
  beta(a: number, b: number): number {
    const x = this.gamma(a);
    return x / (x + this.gamma(b));
  }
}
