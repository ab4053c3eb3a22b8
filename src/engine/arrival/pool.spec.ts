import { describe, expect, it } from '@jest/globals';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { factor, solve } from '../statistics/cholesky.js';
import { normalDensity, normalQuantile } from '../statistics/index.js';
import { combine, meanOf, observe, predict, type Predictive, probabilityAbove } from './belief.js';
import { beliefFor, learnPool, type Observation } from './pool.js';

const PRIOR = { meanLog: 2, weight: 0.4, variance: 0.12, freedom: 6 };
let next = 0;
const seen = (supplierId: string, family: string, log: number): Observation => ({
  lineId: `${next++}`,
  supplierId,
  family,
  log,
  atLeast: false,
});

describe('the prior that the rest of the shop gives', () => {
  it('is the stated one, widened by how far suppliers and families may differ, when nothing is known', () => {
    const pool = learnPool([], PRIOR);
    const { prior, receipts } = beliefFor(pool, 'A', 'belt');
    const { supplier, family, pairing } = pool.spread;
    expect(receipts).toBe(0);
    expect(prior.meanLog).toBe(2);
    expect(prior.weight).toBeCloseTo(1 / (1 / 0.4 + supplier + family + pairing), 12);
    expect(prior.variance).toBe(0.12);
  });

  it('is the best linear prediction from another family of the supplier, worked by hand', () => {
    const logs = [2.9, 3.1, 3.0, 3.2];
    const pool = learnPool(
      logs.map((y) => seen('A', 'belt', y)),
      PRIOR,
    );
    const { supplier, family, pairing } = pool.spread;
    const whole = 2.5 + supplier + family + pairing;
    const shared = 2.5 + supplier;
    const { prior } = beliefFor(pool, 'A', 'cable');
    expect(prior.meanLog).toBeCloseTo(2 + (shared / (whole + 1 / 4)) * (3.05 - 2), 12);
    expect(prior.weight).toBeCloseTo(1 / (whole - shared ** 2 / (whole + 1 / 4)), 12);
  });

  it('then takes the pairing’s own receipts by the conjugate update, leaving out the line that is asked about', () => {
    const rows = [2.9, 3.1, 3.0].map((y) => seen('A', 'belt', y));
    const pool = learnPool([...rows, seen('B', 'belt', 2)], PRIOR);
    const all = beliefFor(pool, 'A', 'belt');
    const expected = predict(observe(all.prior, [2.9, 3.1, 3.0]));
    expect(probabilityAbove(all.predictive, 3)).toBeCloseTo(probabilityAbove(expected, 3), 12);
    const without = beliefFor(pool, 'A', 'belt', rows[1]!.lineId);
    expect(without.receipts).toBe(2);
    expect(probabilityAbove(without.predictive, 3)).toBeCloseTo(
      probabilityAbove(predict(observe(all.prior, [2.9, 3.0])), 3),
      12,
    );
  });

  it('tells from the history whether suppliers or families differ', () => {
    const generator = xoroshiro128plus(5);
    const normal = () => normalQuantile(0.0005 + 0.999 * uniformFloat64(generator));
    const shop = (supplierSpread: number, familySpread: number) => {
      const suppliers = Array.from({ length: 6 }, () => supplierSpread * normal());
      const families = Array.from({ length: 6 }, () => familySpread * normal());
      return learnPool(
        suppliers.flatMap((s, i) =>
          families.flatMap((f, j) => [0, 1, 2].map(() => seen(`S${i}`, `F${j}`, 2 + s + f + 0.3 * normal()))),
        ),
        PRIOR,
      ).spread;
    };
    expect(shop(0.8, 0.05).supplier).toBeGreaterThan(4 * shop(0.05, 0.8).supplier);
    expect(shop(0.05, 0.8).family).toBeGreaterThan(4 * shop(0.8, 0.05).family);
  });

  it('reads lines still out of another family as a sign of a slow supplier', () => {
    const out = Array.from({ length: 5 }, (): Observation => ({
      lineId: `${next++}`,
      supplierId: 'A',
      family: 'belt',
      log: 4,
      atLeast: true,
    }));
    const slow = beliefFor(learnPool(out, PRIOR), 'A', 'cable').prior.meanLog;
    expect(slow).toBeGreaterThan(PRIOR.meanLog + 0.5);
  });
});

describe('combining two estimates', () => {
  const normal = (meanLog: number, sd: number): Predictive => ({
    nodes: [{ probability: 1, meanLog, sd, scale: sd, weight: Infinity }],
  });

  it('of two normals is their precision-weighted mean', () => {
    const [node] = combine(normal(1, 0.5), { meanLog: 2, sd: 1 }).predictive.nodes;
    expect(node!.meanLog).toBeCloseTo((4 * 1 + 1 * 2) / 5, 12);
    expect(node!.scale).toBeCloseTo(1 / Math.sqrt(5), 12);
  });

  it('of a mixture is the product of the densities, by numerical integration', () => {
    const mixture: Predictive = {
      nodes: [
        { probability: 0.7, meanLog: 1, sd: 0.3, scale: 0.3, weight: Infinity },
        { probability: 0.3, meanLog: 1.4, sd: 0.9, scale: 0.9, weight: Infinity },
      ],
    };
    const density = (y: number) =>
      mixture.nodes.reduce((sum, n) => sum + (n.probability * normalDensity((y - n.meanLog) / n.scale)) / n.scale, 0) *
      normalDensity((y - 2) / 0.6);
    let [all, above, first] = [0, 0, 0];
    for (let y = -8; y < 12; y += 0.001) {
      all += density(y);
      first += y * density(y);
      if (y > 1.5) above += density(y);
    }
    const { predictive: joint, logSupport } = combine(mixture, { meanLog: 2, sd: 0.6 });
    // The support lacks the normal density's 1/√2π; the integral here lacks the estimate's 1/0.6.
    expect(Math.exp(logSupport) / Math.sqrt(2 * Math.PI)).toBeCloseTo((all * 0.001) / 0.6, 4);
    expect(meanOf(joint).meanLog).toBeCloseTo(first / all, 4);
    expect(probabilityAbove(joint, 1.5)).toBeCloseTo(above / all, 3);
  });
});

describe('Cholesky', () => {
  it('solves what multiplying back confirms', () => {
    const matrix = [
      [4, 2, 0.6],
      [2, 5, 1],
      [0.6, 1, 3],
    ];
    const x = solve(factor(matrix), [1, -2, 3]);
    matrix.forEach((row, i) => expect(row.reduce((sum, a, k) => sum + a * x[k]!, 0)).toBeCloseTo([1, -2, 3][i]!, 12));
  });
});
