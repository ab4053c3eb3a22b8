import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../../error.js';
import { pert, pertMean, pertVariance, type ThreePoint } from '../simulation/pert.js';
import { criticalPath, type PathTask } from './critical-path.js';

const tasks = (rows: string): PathTask[] =>
  rows
    .trim()
    .split('\n')
    .map((row) => {
      const [id, duration, before = '-'] = row.trim().split(/\s+/);
      return {
        id: id!,
        durationMinutes: Number(duration),
        predecessors: before === '-' ? [] : before.split(',').map((taskId) => ({ taskId })),
      };
    });

const table = (list: PathTask[]) =>
  Object.fromEntries(
    criticalPath(list).tasks.map((t) => [
      t.id,
      [
        t.earliestStartMinutes,
        t.earliestFinishMinutes,
        t.latestStartMinutes,
        t.latestFinishMinutes,
        t.totalFloatMinutes,
        t.freeFloatMinutes,
      ],
    ]),
  );

describe('critical path, published tables', () => {
  // wizedu 558936 (read); free floats computed in check-values.md section 6.2.
  it('school server: duration 27, path A-C-F-H-J, all 60 values', () => {
    const list = tasks('A 2 -\nB 4 A\nC 5 A\nD 2 B\nE 1 B\nF 8 B,C\nG 3 D,E\nH 5 F\nI 4 F\nJ 7 G,H,I');
    const result = criticalPath(list);
    expect(result.durationMinutes).toBe(27);
    expect(result.path).toEqual(['A', 'C', 'F', 'H', 'J']);
    expect(result.tasks.filter((t) => t.critical).map((t) => t.id)).toEqual(['A', 'C', 'F', 'H', 'J']);
    expect(table(list)).toEqual({
      A: [0, 2, 0, 2, 0, 0],
      B: [2, 6, 3, 7, 1, 0],
      C: [2, 7, 2, 7, 0, 0],
      D: [6, 8, 15, 17, 9, 0],
      E: [6, 7, 16, 17, 10, 1],
      F: [7, 15, 7, 15, 0, 0],
      G: [8, 11, 17, 20, 9, 9],
      H: [15, 20, 15, 20, 0, 0],
      I: [15, 19, 16, 20, 1, 1],
      J: [20, 27, 20, 27, 0, 0],
    });
  });

  /** `1-2 d7 0/7/2/9/2`: an arc from event 1 to event 2, its length, then ES/EF/LS/LF/TF. */
  const arcs = (text: string) => {
    const rows = text.split(' · ').map((row) => {
      const [, from, to, d, values] = /^(\d+)-(\d+) d(\d+) (.+)$/.exec(row.trim())!;
      return { id: `${from}-${to}`, from, to, d: Number(d), values: values!.split('/').map(Number) };
    });
    return {
      list: rows.map((row): PathTask => ({
        id: row.id,
        durationMinutes: row.d,
        predecessors: rows.filter((p) => p.to === row.from).map((p) => ({ taskId: p.id })),
      })),
      expected: Object.fromEntries(rows.map((row) => [row.id, row.values])),
    };
  };

  // Taylor, Introduction to Management Science, ch. 8 solutions (ar.scribd.com 47113515), pp. 114 and 115.
  it.each([
    [
      'A',
      20,
      '1-2 d7 0/7/2/9/2 · 1-3 d10 0/10/0/10/0 · 2-4 d6 7/13/9/15/2 · 3-4 d5 10/15/10/15/0 · ' +
        '3-5 d4 10/14/14/18/4 · 4-5 d3 15/18/15/18/0 · 5-6 d2 18/20/18/20/0',
    ],
    [
      'B',
      38,
      '1-2 d8 0/8/1/9/1 · 1-3 d10 0/10/0/10/0 · 1-4 d9 0/9/6/15/6 · 2-5 d6 8/14/9/15/1 · 2-6 d4 ' +
        '8/12/16/20/8 · 3-5 d5 10/15/10/15/0 · 4-5 d0 9/9/15/15/6 · 4-7 d7 9/16/20/27/11 · 5-7 d12 ' +
        '15/27/15/27/0 · 5-8 d15 15/30/16/31/1 · 6-9 d18 12/30/20/38/8 · 7-8 d4 27/31/27/31/0 · 8-9 d7 31/38/31/38/0',
    ],
  ])('Taylor problem %s: duration %d, all rows', (_, duration, text) => {
    const { list, expected } = arcs(text);
    expect(criticalPath(list).durationMinutes).toBe(duration);
    expect(Object.fromEntries(Object.entries(table(list)).map(([id, values]) => [id, values.slice(0, 5)]))).toEqual(
      expected,
    );
    if (duration === 20) expect(criticalPath(list).path).toEqual(['1-3', '3-4', '4-5', '5-6']);
  });

  it('counts waits and refuses a circle', () => {
    // By hand: 5 + 10 + 3.
    expect(
      criticalPath([
        { id: 'a', durationMinutes: 5, predecessors: [] },
        { id: 'b', durationMinutes: 3, predecessors: [{ taskId: 'a', minWaitMinutes: 10 }] },
      ]).durationMinutes,
    ).toBe(18);
    expect(() => criticalPath(tasks('A 1 B\nB 1 A'))).toThrow(EngineError);
  });
});

describe('PERT, published examples', () => {
  const network = (rows: string) =>
    rows
      .trim()
      .split('\n')
      .map((row) => {
        const [id, low, likely, high, before = '-'] = row.trim().split(/\s+/);
        const estimate: ThreePoint = {
          lowMinutes: Number(low),
          likelyMinutes: Number(likely),
          highMinutes: Number(high),
        };
        return {
          id: id!,
          estimate,
          predecessors: before === '-' ? [] : before.split(',').map((taskId) => ({ taskId })),
        };
      });
  const slack = (rows: ReturnType<typeof network>) =>
    Object.fromEntries(pert(rows).path.tasks.map((t) => [t.id, t.totalFloatMinutes]));

  // Taylor, Introduction to Management Science, worked example (flylib.com/books/en/3.287.1.117): only path 1-3-5-7 is given whole.
  it('Taylor: path 1-3-5-7, 24 weeks, variance 5, .9633 by week 28', () => {
    const rows = network('1 5 8 17\n2 7 10 13\n3 3 5 7 1\n4 1 3 5\n5 4 6 8 3\n6 3 3 3\n7 3 4 5 5');
    expect(rows.map((row) => pertMean(row.estimate))).toEqual([9, 10, 5, 3, 6, 3, 4]);
    for (const [i, variance] of [4, 1, 0.444, 0.444, 0.444, 0, 0.111].entries())
      expect(pertVariance(rows[i]!.estimate)).toBeCloseTo(variance, 3);
    const result = pert(rows);
    expect(result.path.path).toEqual(['1', '3', '5', '7']);
    expect(result.meanMinutes).toBe(24);
    expect(result.varianceMinutes2).toBeCloseTo(5, 10);
    // The book reads Z = 1.79 from a table (.9633); exact .96318.
    expect(result.probabilityBy(28)).toBeCloseTo(0.96318, 5);
    expect(result.probabilityBy(28)).toBeCloseTo(0.9633, 3);
  });

  // schematex.js.org PERT example.
  it('four in series: 17.83, σ 1.69', () => {
    const rows = network('A 2 3 5\nB 5 8 14 A\nC 3 4 6 B\nD 1 2 3 C');
    for (const [i, mean] of [3.17, 8.5, 4.17, 2].entries()) expect(pertMean(rows[i]!.estimate)).toBeCloseTo(mean, 2);
    expect(pert(rows).meanMinutes).toBeCloseTo(17.83, 2);
    expect(Math.sqrt(pert(rows).varianceMinutes2)).toBeCloseTo(1.69, 2);
  });

  // wizedu 717873: means and slacks of A–F read, the rest computed in check-values.md section 6.1.
  it('fourteen activities: 50.833, variance 11.1944, .89350 by 55', () => {
    const rows = network(`A 5 5 7
      B 1 2 5
      C 5 5 5 A
      D 4 8 13 A
      E 1 10 17 B,C
      F 1 5 7 D
      G 2 6 9 D
      H 4 4 6 E,F
      I 2 7 10 G,H
      J 2 4 7 I
      K 6 10 13 I
      L 2 6 6 J
      M 2 2 3 K
      N 7 7 12 L,M`);
    const means = [5.33, 2.33, 5, 8.17, 9.67, 4.67, 5.83, 4.33, 6.67, 4.17, 9.83, 5.33, 2.17, 7.83];
    for (const [i, mean] of means.entries()) expect(pertMean(rows[i]!.estimate)).toBeCloseTo(mean, 2);
    const expected = { A: 0, B: 8, C: 0, D: 1.83, E: 0, F: 1.83, G: 5, H: 0, I: 0, J: 2.5, K: 0, L: 2.5, M: 0, N: 0 };
    for (const [id, value] of Object.entries(expected)) expect(slack(rows)[id]).toBeCloseTo(value, 2);
    const result = pert(rows);
    expect(result.meanMinutes).toBeCloseTo(50.833, 3);
    expect(result.varianceMinutes2).toBeCloseTo(11.1944, 4);
    expect(result.probabilityBy(55)).toBeCloseTo(0.8935, 4);
  });

  // Heizer & Render, Operations Management, Milwaukee Paper (recalled by check-values.md, reproduced there).
  it('Milwaukee Paper: A-C-E-G-H, 15 weeks, variance 3.11, .7157 by 16, 99 % by 19.1', () => {
    const result = pert(
      network('A 1 2 3\nB 2 3 4\nC 1 2 3 A\nD 2 4 6 A,B\nE 1 4 7 C\nF 1 2 9 C\nG 3 4 11 D,E\nH 1 2 3 F,G'),
    );
    expect(result.path.path).toEqual(['A', 'C', 'E', 'G', 'H']);
    expect(result.meanMinutes).toBe(15);
    expect(result.varianceMinutes2).toBeCloseTo(3.11, 2);
    expect(Math.sqrt(result.varianceMinutes2)).toBeCloseTo(1.76, 2);
    // Z is rounded to .57 in the book (.7157); exact .71462.
    expect(result.probabilityBy(16)).toBeCloseTo(0.71462, 4);
    expect(result.probabilityBy(19.1)).toBeCloseTo(0.99, 3);
  });

  // Hillier & Lieberman, Reliable Construction (recalled by check-values.md, reproduced there).
  it('Reliable Construction: 44, variance 9, .8413 by 47', () => {
    const rows = network(`A 1 2 3
      B 2 3.5 8 A
      C 6 9 18 B
      D 4 5.5 10 C
      E 1 4.5 5 C
      F 4 4 10 E
      G 5 6.5 11 D
      H 5 8 17 E,G
      I 3 7.5 9 C
      J 3 9 9 F,I
      K 4 4 4 J
      L 1 5.5 7 J
      M 1 2 3 H
      N 5 5.5 9 K,L`);
    const result = pert(rows);
    expect(result.path.path).toEqual(['A', 'B', 'C', 'E', 'F', 'J', 'L', 'N']);
    expect(result.meanMinutes).toBeCloseTo(44, 10);
    expect(result.varianceMinutes2).toBeCloseTo(9, 10);
    expect(result.probabilityBy(47)).toBeCloseTo(0.8413, 4);
    const expected = { A: 0, B: 0, C: 0, D: 4, E: 0, F: 0, G: 4, H: 4, I: 2, J: 0, K: 1, L: 0, M: 4, N: 0 };
    for (const [id, value] of Object.entries(expected)) expect(slack(rows)[id]).toBeCloseTo(value, 10);
  });

  it('refuses an estimate out of order', () => {
    expect(() => pert(network('A 3 2 1'))).toThrow(EngineError);
  });
});
