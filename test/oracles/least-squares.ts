import { EngineError } from '../../src/engine/error.js';

export interface LeastSquares {
  coefficients: number[];
  standardErrors: number[];
  residualDeviation: number;
  /** Of a model whose first column is constant: regression sum of squares about the mean ÷ total about the mean. */
  rSquared: number;
  regressionSumOfSquares: number;
  residualSumOfSquares: number;
  fStatistic: number;
  freedom: number;
  /** (XᵀX)⁻¹, so that its diagonal times the residual variance is the variance of each coefficient. */
  inverse: number[][];
}

/**
 * Ordinary least squares by Householder reflections of the column-scaled design (Golub, Numerische Mathematik 7, 1965):
 * the normal equations would square the condition number and lose half the digits.
 * @param rows one row of regressors per observation; put the constant first
 * @param y one response per row
 * @throws EngineError `too-few` with fewer rows than columns, `collinear` when a column adds nothing, `bad-number`
 */
export function leastSquares(rows: readonly (readonly number[])[], y: readonly number[]): LeastSquares {
  const n = rows.length;
  const p = rows[0]?.length ?? 0;
  if (p === 0 || n < p) throw new EngineError('too-few', `${n} observations cannot fix ${p} coefficients`);
  if (y.length !== n || rows.some((row) => row.length !== p))
    throw new EngineError('bad-number', 'every observation needs one response and the same regressors');
  if (rows.some((row) => !row.every(Number.isFinite)) || !y.every(Number.isFinite))
    throw new EngineError('bad-number', 'a regression needs finite numbers');

  const scale = Array.from({ length: p }, (_, j) => Math.hypot(...rows.map((row) => row[j]!)) || 1);
  const a = rows.map((row) => row.map((value, j) => value / scale[j]!));
  const rhs = [...y];
  for (let j = 0; j < p; j++) reflect(a, rhs, j);

  const r = a.slice(0, p);
  for (let j = 0; j < p; j++) {
    // Columns have unit length, so a pivot is the part of a column that the ones before it do not explain.
    if (Math.abs(r[j]![j]!) < 1e-13)
      throw new EngineError('collinear', `regressor ${j} is a combination of those before it`, `columns/${j}`);
  }
  const scaled = backSolve(r, rhs.slice(0, p));
  const inverseR = Array.from({ length: p }, (_, j) =>
    backSolve(
      r,
      Array.from({ length: p }, (_, i) => (i === j ? 1 : 0)),
    ),
  );
  const inverse = Array.from({ length: p }, (_, i) =>
    Array.from({ length: p }, (_, j) => {
      let sum = 0;
      for (let k = Math.max(i, j); k < p; k++) sum += inverseR[k]![i]! * inverseR[k]![j]!;
      return sum / (scale[i]! * scale[j]!);
    }),
  );

  const squares = (values: readonly number[]): number => values.reduce((sum, value) => sum + value * value, 0);
  const residual = squares(rhs.slice(p));
  const regression = squares(rhs.slice(1, p));
  const freedom = n - p;
  const variance = freedom > 0 ? residual / freedom : NaN;
  return {
    coefficients: scaled.map((value, j) => value / scale[j]!),
    standardErrors: inverse.map((row, j) => Math.sqrt(variance * row[j]!)),
    residualDeviation: Math.sqrt(variance),
    rSquared: regression / (regression + residual),
    regressionSumOfSquares: regression,
    residualSumOfSquares: residual,
    fStatistic: regression / (p - 1) / variance,
    freedom,
    inverse,
  };
}

/** One Householder reflection: zeroes column j below the diagonal, and turns the right-hand side with it. */
function reflect(a: number[][], rhs: number[], j: number): void {
  const n = a.length;
  const length = Math.hypot(...a.slice(j).map((row) => row[j]!));
  if (length === 0) return;
  const pivot = a[j]![j]!;
  const alpha = pivot > 0 ? -length : length;
  const v = a.slice(j).map((row) => row[j]!);
  v[0] = pivot - alpha;
  const half = length * (length + Math.abs(pivot));
  const turn = (get: (i: number) => number, set: (i: number, value: number) => void): void => {
    let dot = 0;
    for (let i = j; i < n; i++) dot += v[i - j]! * get(i);
    const factor = dot / half;
    for (let i = j; i < n; i++) set(i, get(i) - factor * v[i - j]!);
  };
  for (let column = j; column < a[0]!.length; column++)
    turn(
      (i) => a[i]![column]!,
      (i, value) => void (a[i]![column] = value),
    );
  turn(
    (i) => rhs[i]!,
    (i, value) => void (rhs[i] = value),
  );
}

function backSolve(r: readonly (readonly number[])[], b: readonly number[]): number[] {
  const x = [...b];
  for (let i = x.length - 1; i >= 0; i--) {
    for (let k = i + 1; k < x.length; k++) x[i]! -= r[i]![k]! * x[k]!;
    x[i]! /= r[i]![i]!;
  }
  return x;
}
