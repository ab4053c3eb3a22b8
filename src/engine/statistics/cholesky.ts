/** Lower triangle L of a symmetric positive definite matrix, with L·Lᵀ = `matrix`. */
export function factor(matrix: readonly (readonly number[])[]): number[][] {
  const lower: number[][] = [];
  for (let i = 0; i < matrix.length; i++) {
    const row: number[] = [];
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!;
      for (let k = 0; k < j; k++) sum -= row[k]! * (lower[j] ?? row)[k]!;
      row.push(i === j ? Math.sqrt(sum) : sum / lower[j]![j]!);
    }
    lower.push(row);
  }
  return lower;
}

/** Solves L·Lᵀ·x = `right` by the two triangles. */
export function solve(lower: readonly (readonly number[])[], right: readonly number[]): number[] {
  const x = [...right];
  for (let i = 0; i < x.length; i++) {
    for (let k = 0; k < i; k++) x[i]! -= lower[i]![k]! * x[k]!;
    x[i]! /= lower[i]![i]!;
  }
  for (let i = x.length - 1; i >= 0; i--) {
    for (let k = i + 1; k < x.length; k++) x[i]! -= lower[k]![i]! * x[k]!;
    x[i]! /= lower[i]![i]!;
  }
  return x;
}
