import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { mean } from '../../engine/selection/index.js';
import { SaleCurves } from '../value/sale-curve.js';
import { type Choice, Scorer, UNCHANGED } from '../value/scorer.js';
import { choose } from './choose.js';
import { pricedMachine, smallMarket, smallQuestion } from './choose-fixtures.js';

describe('one resource and no uncertainty', () => {
  // Hand-worked: from Tuesday 15 September nine in the morning, one person of eight hours a day; 16 hours are done on
  // Wednesday at five in the afternoon, 1 day and 17 hours after midnight; 24 hours on Thursday at the same time.
  it('leaves proceeds less cash, own time and space until it is finished', () => {
    const question = smallQuestion([], [{ id: 'a', hours: 16, price: 100, cash: 30 }]);
    const choice: Choice = { bought: ['a'], treatments: {}, sequence: 'plan' };
    const outcome = new Scorer(question).outcome(choice, 0, 200);
    const own = outcome.machines.get('a')!;
    expect(new Set(own.finish)).toEqual(new Set([1440 + 17 * 60]));
    own.proceeds.forEach((proceeds, k) => {
      const days = (1440 + 17 * 60) / 1440;
      expect(own.margin[k]).toBeCloseTo(proceeds - 100 - 30 - 16 * 20 - 0.5 * days, 6);
      expect(own.cashMargin[k]).toBeCloseTo(proceeds - 130, 6);
      // Nothing comes in before both are paid.
      expect(outcome.cashNeeded[k]).toBeCloseTo(130, 6);
    });
  });

  it('draws sales whose mean is what the plan to sell expects', () => {
    const curve = new SaleCurves(smallMarket, new Decimal('0.5')).of(
      pricedMachine({ id: 'a', hours: 1 }).traits,
      pricedMachine({ id: 'a', hours: 1 }).terms,
    );
    const draws = Array.from({ length: 20_000 }, (_, k) => curve.draw(20, (k + 0.5) / 20_000).net);
    expect(mean(draws)).toBeCloseTo(curve.meanAt(20), 0);
    expect(curve.draw(20, 0.9).net).toBeGreaterThan(curve.draw(20, 0.1).net);
  });

  it('does first what loses most a day for its hours: of two alike the shorter one', () => {
    const question = smallQuestion(
      [],
      [
        { id: 'long', hours: 40, price: 10 },
        { id: 'short', hours: 8, price: 10 },
      ],
    );
    const outcome = new Scorer(question).outcome(
      { bought: ['long', 'short'], treatments: {}, sequence: 'worth' },
      0,
      1,
    );
    // Eight hours are Tuesday; forty more are Wednesday to Tuesday, a weekend between.
    expect(outcome.machines.get('short')!.finish[0]).toBe(17 * 60);
    expect(outcome.machines.get('long')!.finish[0]).toBe(7 * 1440 + 17 * 60);
  });

  it('counts as ready what is finished a margin before the snow', () => {
    const question = smallQuestion(
      [
        { id: 'early', hours: 8 },
        { id: 'late', hours: 8 * 60 },
      ],
      [],
    );
    const outcome = new Scorer(question).outcome(UNCHANGED, 0, 200);
    // The late one is ready in no winter but the one without snow, a quarter of them.
    expect(mean(outcome.ready)).toBeGreaterThan(1.15);
    expect(mean(outcome.ready)).toBeLessThan(1.35);
  });
});

describe('the choice', () => {
  const candidates = [
    { id: 'candidate/01', hours: 10, price: 60, cash: 20 },
    { id: 'candidate/02', hours: 12, price: 390, cash: 40 },
    { id: 'candidate/03', hours: 14, price: 20, cash: 60 },
  ];

  it('buys what pays and leaves what does not, and says up to the unchanged plan what each adds', () => {
    const answer = choose(smallQuestion([{ id: 'open', hours: 10 }], candidates, { changesJobs: false }));
    expect(answer.choice.bought).toEqual(['candidate/01', 'candidate/03']);
    expect(answer.best.gain.mean).toBeGreaterThan(0);
    const [first, dear] = answer.machines;
    expect(first!.gain.mean).toBeGreaterThan(4 * first!.gain.standardError);
    expect(dear!.isBought).toBe(false);
    expect(dear!.gain.mean).toBeLessThan(0);
    // Nothing bought, nothing changed is among what is compared, and gains nothing over itself.
    const nothing = answer.options.find(({ choice }) => choice.bought.length === 0)!;
    expect(nothing.gain).toEqual({ mean: 0, standardError: 0 });
    expect(answer.probabilityOfLoss).toBeLessThan(0.2);
  });

  it('keeps to the limits', () => {
    const within = (limits: Partial<Parameters<typeof choose>[0]['limits']>, floorSpace = {}) =>
      choose(
        smallQuestion([{ id: 'open', hours: 10 }], candidates, {
          limits: { maxCash: null, maxMachines: null, maxFloorSpace: null, ...limits },
          floorSpace,
          changesJobs: false,
        }),
      ).choice.bought;
    expect(within({ maxMachines: 1 })).toEqual([]);
    expect(within({ maxMachines: 2 })).toHaveLength(1);
    expect(within({ maxCash: 25 })).toEqual([]);
    expect(within({ maxCash: 95 })).toHaveLength(1);
    expect(within({ maxFloorSpace: 1 }, { 'candidate/01': 0.6, 'candidate/03': 1.2 })).toEqual(['candidate/01']);
  });

  it('makes no promise late', () => {
    const question = smallQuestion([{ id: 'promised', hours: 20 }], candidates, { promisedIds: ['promised'] });
    question.records.jobs[0]!.dueDate = '2026-09-17';
    const before = new Scorer(question).finishes(UNCHANGED, 0, 1).get('promised')![0];
    const { choice } = choose(question);
    expect(choice.bought.length).toBeGreaterThan(0);
    expect(new Scorer(question).finishes(choice, 0, 1).get('promised')![0]).toBe(before);
  });

  it('sells as it stands what does not pay to finish', () => {
    // Two hundred hours for a thrower of 400.
    const answer = choose(
      smallQuestion(
        [
          { id: 'hopeless', hours: 200 },
          { id: 'good', hours: 8 },
        ],
        [],
      ),
    );
    expect(answer.choice.treatments).toEqual({ hopeless: 'sellAsFound' });
    expect(answer.jobs.find((job) => job.jobId === 'hopeless')).toMatchObject({
      treatment: 'sellAsFound',
      p50After: null,
    });
  });

  it('is that of brute force over all sets on 10 small cases, with the plan itself as judge', () => {
    for (let seed = 1; seed <= 10; seed++) {
      const random = (k: number): number => ((seed * 7919 + k * 104_729) % 1000) / 1000;
      const offers = Array.from({ length: 4 }, (_, k) => ({
        id: `candidate/0${k + 1}`,
        hours: 6 + Math.round(60 * random(3 * k)),
        price: Math.round(300 * random(3 * k + 1)),
        cash: Math.round(60 * random(3 * k + 2)),
      }));
      const question = smallQuestion([{ id: 'open', hours: 30 }], offers, { changesJobs: false, seed }, false);
      const answer = choose(question);
      const scorer = new Scorer(question);
      const value = (bought: string[]): number =>
        Math.max(
          ...(['plan', 'worth'] as const).map((sequence) =>
            mean(scorer.margins({ bought, treatments: {}, sequence }, 0, 32)),
          ),
        );
      const sets = Array.from({ length: 16 }, (_, mask) =>
        offers.map(({ id }) => id).filter((__, k) => mask & (1 << k)),
      );
      const best = sets.reduce((a, b) => (value(b) > value(a) ? b : a));
      // Level sets may change places in fresh futures: then the difference is within its error there.
      const chosen = answer.choice.bought.join();
      if (chosen !== best.join()) {
        const fresh = (bought: string[]): number =>
          mean(scorer.margins({ bought, treatments: {}, sequence: 'worth' }, 32, 96));
        expect(fresh([...answer.choice.bought])).toBeGreaterThan(fresh(best) - 3);
      }
      expect(answer.exhaustive).toBe(true);
    }
  });

  it('is never worth less with a machine more to choose from, or with more hours', () => {
    const value = (count: number, hours: number): number => {
      const question = smallQuestion([{ id: 'open', hours: 30 }], candidates.slice(0, count), { changesJobs: false });
      const closes = `${String(9 + hours).padStart(2, '0')}:00`;
      question.records.openingHours = question.records.openingHours.map((one) => ({ ...one, closes }));
      return choose(question).best.margin;
    };
    expect(value(2, 8)).toBeGreaterThanOrEqual(value(1, 8));
    expect(value(3, 8)).toBeGreaterThanOrEqual(value(2, 8));
    expect(value(3, 10)).toBeGreaterThanOrEqual(value(3, 8));
  });
});
