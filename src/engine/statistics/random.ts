/**
 * Seeded pseudo-random numbers: sfc32 (Doty-Humphrey's Small Fast Counting generator, PractRand 2010), chosen for speed in
 * inner loops; passes PractRand and BigCrush by its author's account.
 */
export class Random {
  private a: number;
  private b: number;
  private c: number;
  private counter = 1;

  /** @param stream separate streams of one seed do not resemble each other. */
  constructor(seed: number, stream = 0) {
    this.a = seed | 0;
    this.b = Math.floor(seed / 2 ** 32) | 0;
    this.c = stream | 0;
    for (let k = 0; k < 15; k++) this.bits();
  }

  /** 32 random bits as a signed integer. */
  bits(): number {
    const sum = (((this.a + this.b) | 0) + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = (this.c << 21) | (this.c >>> 11);
    this.c = (this.c + sum) | 0;
    return sum;
  }

  /** Uniform in [0, 1). */
  next(): number {
    return (this.bits() >>> 0) / 4294967296;
  }

  /** Uniform integer in [0, limit). */
  below(limit: number): number {
    return (((this.bits() >>> 0) * limit) / 4294967296) | 0;
  }
}

/** A 32-bit key for a name, for `uniformFor`: FNV-1a. */
export function keyOf(name: string): number {
  let hash = 0x811c9dc5;
  for (let k = 0; k < name.length; k++) hash = Math.imul(hash ^ name.charCodeAt(k), 0x01000193);
  return hash;
}

/**
 * The random number of one thing in one scenario, uniform in (0, 1): the same whatever else is drawn, so that two
 * forecasts of nearly the same shop share their luck (common random numbers). Two rounds of MurmurHash3's finaliser.
 */
export function uniformFor(seed: number, key: number, scenario: number): number {
  let h = key ^ Math.imul(seed | 0, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  h = (h ^ (h >>> 16)) + Math.imul(scenario + 1, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (((h ^ (h >>> 16)) >>> 0) + 0.5) / 4294967296;
}
