import { existsSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { benchLags } from './bench/rcpsp-max.js';
import { referenceDirectory } from './psplib/read.js';
import { parseLagInstance } from './rcpsp-max/read.js';

const present = existsSync(path.join(referenceDirectory(), 'rcpspmax'));
if (!present) console.warn('skipped: reference data absent (rcpspmax)');
const withData = present ? describe : describe.skip;

// Instances: ProGen/max (Schwindt 1998), the public RCPSP/max sets. Whether each can be solved, and its least makespan:
// the published lists, confirmed with an exact solver (see the README of the reference data).
withData('RCPSP/max', () => {
  it.each([
    ['j10', 135],
    ['ubo10', 45],
    ['ubo20', 45],
  ])(
    '%s: every one of %d instances is solved to its published optimum, or proven to have no schedule',
    (set, instances) => {
      // Conflicts, not time: the slowest needs under two thousand, well below a second.
      const report = benchLags(set, { conflicts: 20000, milliseconds: Infinity });
      expect(report.instances).toBe(instances);
      expect(report.solvable).toBeGreaterThan(10);
      expect([report.feasible, report.proven]).toEqual([report.solvable, report.solvable]);
      expect(report.aboveOptimumPercent).toBe(0);
      expect(report.refuted).toBe(instances - report.solvable);
    },
  );
});

describe('the reader of RCPSP/max files', () => {
  const text = '1 1 0 0\n0 1 1 1 [0]\n1 1 2 2 0 [3] [-4]\n2 1 0\n0 1 0 0\n1 1 3 1\n2 1 0 0\n2\n';

  it('takes lags with their signs, lengths, demands and capacities', () => {
    expect(parseLagInstance('tiny', text)).toEqual({
      name: 'tiny',
      lags: [
        { from: 0, to: 1, minutes: 0 },
        { from: 1, to: 2, minutes: 3 },
        { from: 1, to: 0, minutes: -4 },
      ],
      durations: [0, 3, 0],
      demands: [[0], [1], [0]],
      capacities: [2],
    });
  });

  it('refuses what it does not know', () => {
    expect(() => parseLagInstance('x', text.replace('[-4]', ''))).toThrow('bad row');
    expect(() => parseLagInstance('x', text.replace('[3]', '[z]'))).toThrow('not a whole number');
    expect(() => parseLagInstance('x', text.replace('1 1 3 1\n', ''))).toThrow('lines for 1 tasks');
  });
});
