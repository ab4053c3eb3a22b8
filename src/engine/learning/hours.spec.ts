import { describe, expect, it } from '@jest/globals';
import { Random } from '../statistics/random.js';
import { expectedHoursFactor, type HoursEntry, learnHours, STATED_HOURS_PRIORS, typicalHoursFactor } from './hours.js';
import { Normals } from './normals.js';

const kinds = ['strip', 'derust', 'prime', 'colour', 'assemble', 'test'];

/** Entries of made-up machines whose truth is known. */
function entriesOf(
  seed: number,
  machines: number,
  { bias, season, machine, noise }: { bias: number; season: number; machine: number; noise: number },
): HoursEntry[] {
  const normals = new Normals(new Random(seed));
  const luck = season * normals.next();
  return Array.from({ length: machines }, (_, m) => {
    const own = machine * normals.next();
    return kinds.flatMap((taskKind) =>
      [0, 1].map((): HoursEntry => ({
        taskKind,
        machineId: `machine ${m}`,
        season: '2025',
        routeMinutes: 60,
        minutes: 60 * Math.exp(bias + luck + own + noise * normals.next()),
      })),
    );
  }).flat();
}

const mean = (list: number[]): number => list.reduce((sum, one) => sum + one, 0) / list.length;
const ask = { seed: 5, machineIds: [], season: '2026' };

describe('hours learnt from what tasks took', () => {
  it('without entries are what was believed before', () => {
    const { draws } = learnHours({ ...ask, entries: [], draws: 4000 });
    expect(mean(draws.map((one) => one.bias))).toBeCloseTo(STATED_HOURS_PRIORS.bias.mean, 1);
    // A scaled inverse chi-squared with ν degrees has the mean ν s² / (ν − 2): Gelman et al. 2013, appendix A.
    const { noise } = STATED_HOURS_PRIORS;
    expect(mean(draws.map((one) => one.noise ** 2))).toBeCloseTo((20 / 18) * noise.deviation ** 2, 1);
  });

  it('find the bias and the spreads that the entries were made with', () => {
    const entries = entriesOf(1, 60, { bias: 0.3, season: 0, machine: 0.25, noise: 0.4 });
    const { draws } = learnHours({ ...ask, entries });
    // 720 entries on 60 machines: the mean is known to 0.25 / √60 = 0.03; season's and kinds' spreads add some.
    expect(Math.abs(typicalHoursFactor({ draws, entries: 720 }, null, '2025') - Math.exp(0.3))).toBeLessThan(0.15);
    expect(Math.abs(mean(draws.map((one) => one.noise)) - 0.4)).toBeLessThan(0.04);
    expect(Math.abs(mean(draws.map((one) => one.machineDeviation)) - 0.25)).toBeLessThan(0.08);
  });

  it('cover what they are asked of as often as they say', () => {
    // Of forty made-up pasts, how often the true bias lies below the draws' middle, and within their middle four fifths.
    let below = 0;
    let within = 0;
    for (let k = 0; k < 40; k++) {
      const normals = new Normals(new Random(k, 9));
      const bias = 0.1 + 0.2 * normals.next();
      const entries = entriesOf(100 + k, 12, { bias, season: 0.07, machine: 0.13, noise: 0.35 });
      const sorted = learnHours({ ...ask, seed: k, entries, draws: 150 })
        .draws.map((one) => one.bias)
        .sort((a, b) => a - b);
      const rank = sorted.filter((one) => one < bias).length / sorted.length;
      if (rank < 0.5) below++;
      if (rank > 0.1 && rank < 0.9) within++;
    }
    // Binomial, forty times: 20 ± 3.2 and 32 ± 2.5; three of them.
    expect(Math.abs(below - 20)).toBeLessThanOrEqual(10);
    expect(Math.abs(within - 32)).toBeLessThanOrEqual(8);
  });

  it('know a machine that is under way, and give its expected hours', () => {
    const slow = kinds.map((taskKind): HoursEntry => ({
      taskKind,
      machineId: 'slow',
      season: '2026',
      routeMinutes: 60,
      minutes: 120,
    }));
    const others = entriesOf(3, 12, { bias: 0, season: 0, machine: 0.1, noise: 0.3 });
    const posterior = learnHours({ ...ask, machineIds: ['slow'], entries: [...others, ...slow] });
    const factor = (machineId: string) =>
      expectedHoursFactor(posterior, { taskKind: 'strip', machineId, season: '2026' });
    expect(factor('slow')).toBeGreaterThan(1.1 * factor('another'));
    expect(Object.keys(posterior.draws[0]!.machines)).toEqual(['slow']);
  });

  it('are the same for the same seed, and refuse an entry without minutes', () => {
    const entries = entriesOf(4, 3, { bias: 0, season: 0, machine: 0.1, noise: 0.3 });
    expect(learnHours({ ...ask, entries, draws: 20 })).toEqual(learnHours({ ...ask, entries, draws: 20 }));
    expect(() => learnHours({ ...ask, entries: [{ ...entries[0]!, minutes: 0 }] })).toThrow(/minutes above 0/);
  });

  it('take 200 entries in little time', () => {
    const entries = entriesOf(6, 17, { bias: 0, season: 0, machine: 0.1, noise: 0.3 });
    const from = process.cpuUsage().user;
    learnHours({ ...ask, entries });
    // 30 ms alone; generous for a busy machine.
    expect((process.cpuUsage().user - from) / 1000).toBeLessThan(400);
  });
});
