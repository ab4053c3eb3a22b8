/**
 * Cholesky factor of a symmetric positive definite matrix, of which only the lower triangle is read.
 * @returns a solver of A·x = b, and the log of the determinant
 */
export function choleskySolver(a: readonly (readonly number[])[]): {
  solve(b: readonly number[]): number[];
  logDeterminant: number;
} {
  const n = a.length;
  const l = new Float64Array(n * n);
  let logDeterminant = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i]![j]!;
      for (let k = 0; k < j; k++) sum -= l[i * n + k]! * l[j * n + k]!;
      l[i * n + j] = i === j ? Math.sqrt(sum) : sum / l[j * n + j]!;
    }
    logDeterminant += 2 * Math.log(l[i * n + i]!);
  }
  return {
    logDeterminant,
    solve(b) {
      const x = [...b];
      for (let i = 0; i < n; i++) {
        for (let k = 0; k < i; k++) x[i]! -= l[i * n + k]! * x[k]!;
        x[i]! /= l[i * n + i]!;
      }
      for (let i = n - 1; i >= 0; i--) {
        for (let k = i + 1; k < n; k++) x[i]! -= l[k * n + i]! * x[k]!;
        x[i]! /= l[i * n + i]!;
      }
      return x;
    },
  };
}
