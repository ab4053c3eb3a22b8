import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import {
  breakEven,
  costStatement,
  haulCost,
  marginStatement,
  overheadRate,
  returnOnInvestment,
  underApplied,
} from './index.js';

// OpenStax, Principles of Accounting, vol. 2 Managerial §3.2, 3.5, 4.4–4.6, 9.4, 12.3 and vol. 1 Financial §10.1–10.3,
// unless another source stands beside a check. Where only an exercise's inputs are published, the answer is computed.
describe('overhead', () => {
  it.each([
    ['250000', 100_000, '2.5'],
    ['750000', 60_000, '12.5'],
    ['750000', 1_500_000, '0.5'],
    ['750000', 100_000, '7.5'],
  ])('%s over %d is %s', (cost, base, rate) => {
    expect(overheadRate(cost, base, 'USD').equals(rate)).toBe(true);
  });

  it('knows what the jobs did not bear', () => {
    expect(underApplied('209250', '33.50', 6240, 'USD').toFixed(0)).toBe('210'); // Kraken
    expect(underApplied('256500', '2.50', 100_000, 'USD').toFixed(0)).toBe('6500'); // Dinosaur Vinyl
    expect(underApplied('248000', '2.50', 100_000, 'USD').toFixed(0)).toBe('-2000');
    expect(() => overheadRate('1', 0, 'USD')).toThrow(expect.objectContaining({ code: 'bad-number' }));
  });
});

describe('the flow of cost through jobs', () => {
  // Dinosaur Vinyl: work in process 1 000 + 2 681 added − 1 025 left = 2 656 finished; sold jobs 1 531 and 931.
  it('adds up from job sheets to cost of sales', () => {
    const job = (begin: string, material: string, labour: number) =>
      costStatement(
        {
          acquisitionShare: begin,
          parts: [material],
          consumables: [],
          selling: [],
          labour: [{ minutes: labour * 60, hourlyValue: 1 }],
          space: { days: labour, costPerDay: '2.5' },
        },
        'USD',
      );
    const [swm, por, mac, trj] = [
      job('1531', '0', 0),
      job('1000', '200', 150),
      job('0', '700', 66),
      job('0', '500', 150),
    ] as const;
    const sum = (...statements: ReturnType<typeof job>[]) =>
      Decimal.sum(...statements.map((each) => each.fullCost)).toFixed(0);
    expect(sum(swm, por, mac, trj)).toBe('5212');
    expect(sum(por, mac)).toBe('2656');
    expect(sum(swm, mac)).toBe('2462');
    expect(por.fullCost.toFixed(0)).toBe('1725');
    expect(marginStatement(swm, '3500', 'USD').fullMargin.toFixed(0)).toBe('1969');
    expect(marginStatement(mac, '2000', 'USD').fullMargin.toFixed(0)).toBe('1069');
  });

  // K Company (§4.5): job totals 1 149 and 1 652.
  it.each([
    [375, 414, 360, 1149],
    [405, 667, 580, 1652],
  ])('K Company %d + %d + %d', (material, labour, overhead, expected) => {
    const statement = costStatement(
      {
        acquisitionShare: '0',
        parts: [`${material}`],
        consumables: [],
        selling: [],
        labour: [{ minutes: 60, hourlyValue: labour }],
        space: { days: 1, costPerDay: overhead },
      },
      'USD',
    );
    expect(statement.fullCost.toNumber()).toBe(expected);
  });
});

describe('break-even', () => {
  it.each([
    // price, variable, fixed, profit → units, sales
    ['100', '20', '18000', '0', 225, '22500'],
    ['100', '20', '18000', '16000', 425, '42500'],
    ['100', '20', '18000', '40000', 725, '72500'], // 24 000 after 40 % tax is 40 000 before
    ['35', '20', '3000', '0', 200, '7000'],
    ['90', '40', '85000', '0', 1700, '153000'],
  ])('price %s, variable %s, fixed %s, profit %s', (price, variable, fixed, profit, units, sales) => {
    const answer = breakEven(price, variable, fixed, 'USD', profit);
    expect([answer.units.toNumber(), answer.wholeUnits, answer.sales.toFixed(0)]).toEqual([units, units, sales]);
  });

  it('gives the contribution, the result off the break-even and the margin of safety', () => {
    const answer = breakEven('100', '20', '18000', 'USD');
    expect([answer.contribution.toFixed(0), answer.contributionRatio.toNumber()]).toEqual(['80', 0.8]);
    expect(answer.contribution.times(175).minus(18000).toNumber()).toBe(-4000);
    expect(answer.contribution.times(300).minus(18000).toNumber()).toBe(6000);
    const other = breakEven('90', '40', '85000', 'USD');
    expect(new Decimal(90).times(2500).minus(other.sales).toNumber()).toBe(72_000);
    // The text of §3.5 says 1 900 units are 171 000; its figure's 170 000 is a misprint.
    expect(new Decimal(90).times(1900).toNumber()).toBe(171_000);
    expect(breakEven('100', '30', '100', 'USD').wholeUnits).toBe(2);
    expect(() => breakEven('20', '20', '1', 'USD')).toThrow(expect.objectContaining({ code: 'no-contribution' }));
  });
});

describe('return on investment', () => {
  // Vol. 2 §12.3 rounds margin and turnover before it multiplies: 20 % × 1.75, 29 % × 1.43, 24 % × 1.14. One place there
  // divides the brownie's sales by 4 850 000; the mean of its assets is 4 835 000.
  it.each([
    ['1000000', '5000000', '2800000', '2900000', 35],
    ['2500000', '8500000', '5950000', '5950000', 42],
    ['1300000', '5500000', '4835000', '4835000', 27],
  ])('income %s on sales %s', (income, sales, opening, closing, percent) => {
    const answer = returnOnInvestment(income, sales, { opening, closing }, 'USD');
    expect(Math.round(answer.return.toNumber() * 100)).toBe(percent);
    expect(answer.margin.times(answer.turnover).toNumber()).toBeCloseTo(answer.return.toNumber(), 4);
  });

  // Vol. 2 §10.5 (Dr. Detail): 0.50 a mile for 5 miles is 2.50; the unit of distance does not matter.
  it('costs a haul', () => {
    expect(haulCost(5, '0.50', 'USD').toFixed(2)).toBe('2.50');
    expect(haulCost('37.5', '0.333', 'USD').toFixed(2)).toBe('12.49');
  });
});

describe('margin on price and markup on cost', () => {
  it.each([
    [10, 12.5, 0.25, 0.2],
    [10, 15, 0.5, 0.333333],
    [10, 20, 1, 0.5],
  ])('cost %d, price %d: markup %d is margin %d', (cost, price, markup, margin) => {
    const statement = marginStatement(costOnly(`${cost}`), `${price}`, 'USD');
    expect(statement.markupOnCost!.toNumber()).toBe(markup);
    expect(statement.marginOnPrice!.toNumber()).toBe(margin);
  });
});

const costOnly = (parts: string) =>
  costStatement(
    {
      acquisitionShare: '0',
      parts: [parts],
      consumables: [],
      selling: [],
      labour: [],
      space: { days: 0, costPerDay: 0 },
    },
    'USD',
  );
