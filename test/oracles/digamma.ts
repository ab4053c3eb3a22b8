/** Derivative of `logGamma` at `x` > 0: recurrence up to 10, then the asymptotic series (Abramowitz & Stegun 6.3.18). */
export function digamma(x: number): number {
  let shift = 0;
  let z = x;
  while (z < 10) shift -= 1 / z++;
  const r = 1 / (z * z);
  return shift + Math.log(z) - 0.5 / z - r * (1 / 12 - r * (1 / 120 - r * (1 / 252 - r * (1 / 240 - r / 132))));
}
