import { describe, expect, it } from '@jest/globals';
import { normalQuantile } from '../../statistics/index.js';
import { keyOf, Random, uniformFor } from '../../statistics/random.js';
import {
  compareSchedules,
  makeSchedule,
  pertMean,
  pertVariance,
  type Problem,
  simulate,
  type SimulationInput,
  type Task,
} from '../index.js';
import { LengthSampler, type OwnLength } from './lengths.js';
import { normalBelow } from './pert.js';

const alone = (
  tasks: (Partial<Task> & { id: string; durationMinutes: number })[],
  more: Partial<Problem> = {},
): Problem => ({
  horizonMinutes: 1_000_000,
  resources: [{ id: 'person', capacity: 1 }],
  tasks: tasks.map((task) => ({ jobId: 'job', demands: [], pausable: false, predecessors: [], ...task })),
  ...more,
});
const after = (taskId: string) => [{ taskId, minWaitMinutes: 0 }];
const threePoint = (lowMinutes: number, likelyMinutes: number, highMinutes: number): OwnLength => ({
  kind: 'three-point',
  lowMinutes,
  likelyMinutes,
  highMinutes,
});
const job = (input: SimulationInput, id = 'job') => simulate(input).jobs.find((j) => j.id === id)!;

describe('sampled lengths', () => {
  // Moments of beta-PERT: mean (a + 4m + b)/6, variance (μ − a)(b − μ)/7 (Vose 2008, "Risk Analysis", 3rd ed., PERT distribution).
  it.each([
    [5, 8, 17],
    [1, 4.5, 5],
    [2, 2, 10],
    [3, 9, 9],
    [7, 10, 13],
  ])('beta-PERT %d, %d, %d has its mean and variance', (a, m, b) => {
    const sampler = LengthSampler.of(threePoint(a, m, b), 'x');
    const values = Array.from({ length: 20000 }, (_, k) => sampler.quantile((k + 0.5) / 20000));
    const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
    const variance = values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length;
    expect(mean).toBeCloseTo((a + 4 * m + b) / 6, 1);
    expect(Math.abs(mean - (a + 4 * m + b) / 6)).toBeLessThan(0.004 * (b - a));
    expect(variance / (((mean - a) * (b - mean)) / 7)).toBeCloseTo(1, 1);
  });

  it('lognormal and past entries keep their median and range', () => {
    const lognormal = LengthSampler.of({ kind: 'lognormal', medianMinutes: 60, sigma: 0.5 }, 'x');
    expect(lognormal.quantile(0.5)).toBeCloseTo(60, 6);
    // One standard deviation up, Φ(1) = 0.8413 (standard normal table): 60·e^0.5 = 98.92.
    expect(lognormal.quantile(0.8413)).toBeCloseTo(60 * Math.exp(0.5), 0);
    const entries = LengthSampler.of({ kind: 'entries', minutes: [40, 10, 20] }, 'x');
    expect([0, 0.25, 0.5, 1].map((u) => entries.quantile(u))).toEqual([10, 15, 20, 40]);
    expect(entries.below(15)).toBeCloseTo(0.25, 2);
  });

  it('the normal quantile inverts the normal distribution', () => {
    for (const p of [0.001, 0.025, 0.3, 0.5, 0.9, 0.999]) expect(normalBelow(normalQuantile(p))).toBeCloseTo(p, 6);
    // Standard table: z(0.975) = 1.95996.
    expect(normalQuantile(0.975)).toBeCloseTo(1.95996, 4);
  });

  it('random numbers are spread evenly and do not repeat across scenarios or names', () => {
    for (const draw of [
      (k: number) => uniformFor(5, keyOf('task 7'), k),
      (k: number) => uniformFor(5, keyOf(`task ${k}`), 3),
      (
        (r) => () =>
          r.next()
      )(new Random(3)),
    ]) {
      const counts = new Array<number>(16).fill(0);
      for (let k = 0; k < 16000; k++) counts[Math.floor(draw(k) * 16)]!++;
      const chi = counts.reduce((sum, c) => sum + (c - 1000) ** 2 / 1000, 0);
      // Chi-square with 15 degrees of freedom exceeds 37.7 once in a thousand (standard table); the seeds are fixed.
      expect(chi).toBeLessThan(37.7);
    }
  });
});

describe('simulation', () => {
  // schematex.js.org PERT example, in minutes ×1000: mean 17.83.
  it('a chain has the sum of the PERT means', () => {
    const points = [
      [2000, 3000, 5000],
      [5000, 8000, 14000],
      [3000, 4000, 6000],
      [1000, 2000, 3000],
    ] as const;
    const tasks = points.map((_, k) => ({
      id: `t${k}`,
      durationMinutes: 1,
      predecessors: k === 0 ? [] : after(`t${k - 1}`),
    }));
    const lengths = Object.fromEntries(points.map(([a, m, b], k) => [`t${k}`, threePoint(a, m, b)]));
    const result = job({ problem: alone(tasks), scenarios: 4000, seed: 1, lengths });
    const deviation = Math.sqrt(
      points.reduce((sum, [a, m, b]) => sum + pertVariance({ lowMinutes: a, likelyMinutes: m, highMinutes: b }), 0),
    );
    // Four standard errors.
    expect(Math.abs(result.meanMinutes! - 17833)).toBeLessThan((4 * deviation) / Math.sqrt(4000));
    expect(result.chain.map((c) => [c.taskId, c.share])).toEqual([
      ['t0', 1],
      ['t1', 1],
      ['t2', 1],
      ['t3', 1],
    ]);
  });

  it('two parallel paths end later than either: the mean of the larger of two', () => {
    // Lengths 0…100 evenly spread: the larger of two has mean 2/3 of the range (order statistics of the uniform distribution).
    const even: OwnLength = { kind: 'entries', minutes: [0, 10000] };
    const result = simulate({
      problem: alone([
        { id: 'a', durationMinutes: 1 },
        { id: 'b', durationMinutes: 1 },
      ]),
      scenarios: 5000,
      seed: 2,
      lengths: { a: even, b: even },
    });
    expect(Math.abs(result.jobs[0]!.meanMinutes! - 6667)).toBeLessThan((4 * 2357) / Math.sqrt(5000));
    for (const task of result.tasks) expect(task.criticality).toBeCloseTo(0.5, 1);
    // P(max ≤ 5000) = 1/4; median of the larger = √½.
    const dated = job({
      problem: alone([
        { id: 'a', durationMinutes: 1 },
        { id: 'b', durationMinutes: 1 },
      ]),
      scenarios: 5000,
      seed: 2,
      lengths: { a: even, b: even },
      dates: [5000],
    });
    expect(dated.probabilityBy[0]!.probability).toBeCloseTo(0.25, 1);
    expect(dated.p50Minutes! / 10000).toBeCloseTo(Math.SQRT1_2, 1);
  });

  it('quantiles are those of the sample, by counting', () => {
    const { finishMinutes, ...result } = job({
      problem: alone([{ id: 'a', durationMinutes: 1 }]),
      scenarios: 200,
      seed: 3,
      lengths: { a: threePoint(0, 50, 1000) },
    });
    const sorted = [...finishMinutes].sort((a, b) => a - b);
    for (const [p, value] of [
      [0.1, result.p10Minutes],
      [0.5, result.p50Minutes],
      [0.8, result.p80Minutes],
      [0.95, result.p95Minutes],
    ] as const) {
      expect(sorted.filter((f) => f <= value!).length).toBeGreaterThanOrEqual(200 * p);
      expect(sorted.filter((f) => f < value!).length).toBeLessThan(200 * p);
    }
  });

  it('without uncertainty every scenario is the schedule itself', () => {
    const problem = alone([
      { id: 'a', durationMinutes: 30, demands: [{ resourceId: 'person', amount: 1 }] },
      { id: 'b', durationMinutes: 40, demands: [{ resourceId: 'person', amount: 1 }] },
    ]);
    const result = simulate({ problem, scenarios: 3, seed: 1 });
    const end = makeSchedule(problem).makespanMinutes;
    expect([...result.jobs[0]!.finishMinutes]).toEqual([end, end, end]);
    expect(result.resources).toEqual([{ id: 'person', load: 1, bindingShare: 0.5 }]);
    expect(result.jobs[0]!.chain).toEqual([
      { taskId: 'b', share: 1 },
      { taskId: 'a', share: 1 },
    ]); // the longer one is the more urgent
  });

  it('waits for the part, and for the weather of the sampled year', () => {
    const problem = alone(
      [
        { id: 'fit', durationMinutes: 10 },
        { id: 'paint', durationMinutes: 10, weatherId: 'dry', jobId: 'other' },
      ],
      { weather: [{ id: 'dry', windows: [] }] },
    );
    const year = (from: number) => [{ id: 'dry', windows: [{ startMinutes: from, endMinutes: from + 60 }] }];
    const result = simulate({
      problem,
      scenarios: 1000,
      seed: 4,
      arrivals: [{ id: 'belt', taskIds: ['fit'], minutes: [100, 900] }],
      weatherYears: [year(200), year(300)],
      // Snow follows the same year: painted at 210 or 310, snow at 205 or 315.
      deadlines: [{ id: 'snow', minutes: [205, 315], byWeatherYear: true }],
    });
    const [fit, paint] = [result.jobs.find((j) => j.id === 'job')!, result.jobs.find((j) => j.id === 'other')!];
    expect(new Set(fit.finishMinutes)).toEqual(new Set([110, 910]));
    expect(fit.meanMinutes).toBeGreaterThan(460);
    expect(fit.meanMinutes).toBeLessThan(560);
    expect(new Set(paint.finishMinutes)).toEqual(new Set([210, 310]));
    const late = [...paint.finishMinutes].filter((f) => f === 310).length / 1000;
    expect(paint.readiness).toEqual([{ deadlineId: 'snow', probability: late }]);
  });

  it('a task under way is not finished before now, and takes what is left given how long it has taken', () => {
    const even: OwnLength = { kind: 'entries', minutes: [0, 100] };
    const problem = alone([{ id: 'a', durationMinutes: 50, fixed: { startMinutes: 0 } }], { nowMinutes: 60 });
    const result = job({ problem, scenarios: 2000, seed: 5, lengths: { a: even } });
    expect(Math.min(...result.finishMinutes)).toBeGreaterThanOrEqual(60);
    // Evenly spread over 60…100.
    expect(result.meanMinutes).toBeGreaterThan(79);
    expect(result.meanMinutes).toBeLessThan(81);
  });

  it('says how often a job is not finished at all', () => {
    const result = job({
      problem: alone([{ id: 'a', durationMinutes: 1 }], { horizonMinutes: 1000 }),
      scenarios: 1000,
      seed: 6,
      lengths: { a: { kind: 'entries', minutes: [0, 2000] } },
    });
    expect(result.unfinishedShare).toBeCloseTo(0.5, 1);
    expect(result.p95Minutes).toBeNull();
    expect(result.p10Minutes).toBeGreaterThan(150);
  });

  it('two forecasts share their luck: dropping a job changes others only through what it held', () => {
    const on = [{ resourceId: 'person', amount: 1 }];
    const tasks = [
      { id: 'a', durationMinutes: 1, jobId: 'first', demands: on, priority: 2 },
      { id: 'b', durationMinutes: 1, jobId: 'second', demands: on, priority: 1 },
      { id: 'c', durationMinutes: 1, jobId: 'third' },
    ];
    const lengths = { a: threePoint(10, 20, 60), b: threePoint(10, 20, 60), c: threePoint(10, 20, 60) };
    const both = simulate({ problem: alone(tasks), scenarios: 300, seed: 7, lengths });
    const without = simulate({
      problem: alone(tasks.slice(1)),
      scenarios: 300,
      seed: 7,
      lengths: { b: lengths.b, c: lengths.c },
    });
    const [second, third] = compareSchedules(both, without).filter((d) => d.id !== 'first');
    // The second job gains exactly the first one's length in every scenario; the third does not notice.
    const meanOfFirst = both.jobs.find((j) => j.id === 'first')!.meanMinutes!;
    expect(second!.meanMinutes).toBeCloseTo(-meanOfFirst, 9);
    expect([second!.earlierShare, second!.probabilityLater]).toEqual([1, 0]);
    expect([third!.meanMinutes, third!.earlierShare, third!.probabilityLater]).toEqual([0, 0, 0]);
    expect(meanOfFirst).toBeGreaterThan(pertMean({ lowMinutes: 10, likelyMinutes: 20, highMinutes: 60 }) - 3);
  });

  it('the same seed gives the same forecast, another seed another', () => {
    const run = (seed: number) => [
      ...job({
        problem: alone([{ id: 'a', durationMinutes: 1 }]),
        scenarios: 50,
        seed,
        lengths: { a: threePoint(0, 500, 1000) },
      }).finishMinutes,
    ];
    expect(run(1)).toEqual(run(1));
    expect(run(1)).not.toEqual(run(2));
  });

  it('refuses models it cannot draw from, and can be stopped', () => {
    const problem = alone([{ id: 'a', durationMinutes: 1 }]);
    expect(() => simulate({ problem, scenarios: 1, seed: 1, lengths: { ghost: threePoint(1, 2, 3) } })).toThrow(
      'There is no task ghost',
    );
    expect(() => simulate({ problem, scenarios: 1, seed: 1, lengths: { a: threePoint(3, 2, 1) } })).toThrow(
      '0 ≤ low ≤ likely ≤ high',
    );
    expect(() => simulate({ problem, scenarios: 0, seed: 1 })).toThrow('at least 1');
    expect(() => simulate({ problem, scenarios: 1000, seed: 1, onProgress: () => false })).toThrow('Stopped after 100');
  });
});
