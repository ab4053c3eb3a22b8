import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import {
  costStatement,
  harvestBasis,
  type JobCostInput,
  landLines,
  marginStatement,
  splitAcquisition,
} from './index.js';

const nothing: JobCostInput = {
  acquisitionShare: '0',
  parts: [],
  consumables: [],
  selling: [],
  labour: [],
  space: { days: 0, costPerDay: 0 },
};

describe('cost of a job', () => {
  // OpenStax, Principles of Accounting vol. 2 §4.4–4.6 (Dinosaur Vinyl): beginning + direct material + direct labour +
  // overhead at 2.50 per labour dollar. Beginning cost stands for the acquisition, an hour for a dollar of labour, and
  // overhead for the space.
  it.each([
    ['SWM505', '1531', '0', 0, '1531'],
    ['POR143', '1000', '200', 150, '1725'],
    ['MAC001', '0', '700', 66, '931'],
    ['TRJ441', '0', '500', 150, '1025'],
  ])('job sheet %s', (_, begin, material, labour, expected) => {
    const statement = costStatement(
      {
        ...nothing,
        acquisitionShare: begin,
        parts: [material],
        labour: [{ minutes: labour * 60, hourlyValue: 1 }],
        space: { days: labour, costPerDay: '2.5' },
      },
      'USD',
    );
    expect(statement.fullCost.toFixed()).toBe(expected);
  });

  // OpenStax vol. 2 §4.4 exercises, inputs published: York Job 0325 = 70 + 2×20 + 2×10, Rulers Job 416 = 95 + 15×13 + 5×40.
  it.each([
    ['70', 2, 20, 2, 10, '130'],
    ['95', 15, 13, 5, 40, '490'],
  ])('exercise with material %s', (material, hours, hourlyValue, days, costPerDay, expected) => {
    const statement = costStatement(
      { ...nothing, parts: [material], labour: [{ minutes: hours * 60, hourlyValue }], space: { days, costPerDay } },
      'USD',
    );
    expect(statement.fullCost.toFixed()).toBe(expected);
  });

  it('keeps own time and space out of the cash cost, and paid labour in', () => {
    const statement = costStatement(
      {
        acquisitionShare: '150',
        parts: ['42.50', '-12.50'],
        consumables: ['18.75'],
        selling: ['10'],
        other: ['1.25'],
        labour: [
          { minutes: 600, hourlyValue: '25' },
          { minutes: 90, hourlyValue: '20', isPaidOut: true },
        ],
        space: { days: 40, costPerDay: '0.75' },
      },
      'USD',
    );
    expect(statement.cashCost.toFixed(2)).toBe('240.00'); // 150 + 30 + 18.75 + 10 + 1.25 + 30 paid
    expect(statement.fullCost.toFixed(2)).toBe('520.00'); // + 250 own time + 30 space
    expect([statement.ownMinutes.toNumber(), statement.paidMinutes.toNumber()]).toEqual([600, 90]);
    const margin = marginStatement(statement, '640', 'USD');
    expect(margin.cashMargin.toFixed(2)).toBe('400.00');
    expect(margin.fullMargin.toFixed(2)).toBe('120.00');
    expect(margin.earningsPerHour!.toFixed(2)).toBe('40.00');
    expect(margin.marginOnPrice!.toNumber()).toBe(0.1875);
    expect(margin.markupOnCost!.toNumber()).toBe(0.230769);
    expect(margin.overPurchase.amount.toFixed(2)).toBe('490.00');
    expect(margin.overPurchase.multiple!.toNumber()).toBeCloseTo(640 / 150, 6);
  });

  it('says nothing where a ratio has no meaning', () => {
    const margin = marginStatement(costStatement(nothing, 'USD'), '0', 'USD');
    expect([margin.marginOnPrice, margin.markupOnCost, margin.earningsPerHour, margin.overPurchase.multiple]).toEqual([
      null,
      null,
      null,
      null,
    ]);
  });

  it('refuses minutes and amounts that are none', () => {
    expect(() => costStatement({ ...nothing, labour: [{ minutes: -5, hourlyValue: 1 }] }, 'USD')).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'labour/0/minutes' }),
    );
    expect(() => costStatement({ ...nothing, parts: ['1.001'] }, 'USD')).toThrow(
      expect.objectContaining({ code: 'too-many-decimals', path: 'parts/0' }),
    );
    expect(() => costStatement({ ...nothing, acquisitionShare: '-1' }, 'USD')).toThrow(
      expect.objectContaining({ code: 'negative-amount' }),
    );
  });
});

describe('splitting an acquisition', () => {
  it('counts a machine without a stated value as the mean of the others', () => {
    expect(splitAcquisition('300', 'byValue', ['200', null, '100'], 'USD').map((share) => share.toFixed(2))).toEqual([
      '133.33',
      '100.00',
      '66.67',
    ]);
    expect(splitAcquisition('100', 'byValue', [null, null, '0'], 'USD').map((share) => share.toFixed(2))).toEqual([
      '33.34',
      '33.33',
      '33.33',
    ]);
    expect(splitAcquisition('100', 'equal', ['99', '1'], 'USD').map((share) => share.toFixed(2))).toEqual([
      '50.00',
      '50.00',
    ]);
  });
});

describe('landed cost of order lines', () => {
  const lines = [
    { quantity: 3, unitPrice: '1.35' },
    { quantity: 1, unitPrice: '38.90' },
    { quantity: '2.5', unitPrice: '0.333' },
  ];
  it('spreads shipping and tax to the cent', () => {
    const landed = landLines(lines, { shipping: '9.95', tax: '2.74', spread: 'byValue' }, 'USD');
    expect(landed.map((line) => line.goods.toFixed(2))).toEqual(['4.05', '38.90', '0.83']);
    // Worked by hand: 9.95 × 4.05/43.78 = 0.9205, × 38.90/43.78 = 8.8409, × 0.83/43.78 = 0.1886; one cent to the third (0.86 lost).
    expect(landed.map((line) => line.shippingShare.toFixed(2))).toEqual(['0.92', '8.84', '0.19']);
    expect(Decimal.sum(...landed.map((line) => line.landed)).toFixed(2)).toBe('56.47');
  });

  it('spreads equally when told to, and when everything was free', () => {
    expect(
      landLines(lines, { shipping: '9.95', tax: '0', spread: 'equal' }, 'USD').map((line) =>
        line.shippingShare.toFixed(2),
      ),
    ).toEqual(['3.32', '3.32', '3.31']);
    expect(
      landLines(
        [
          { quantity: 1, unitPrice: '0' },
          { quantity: 1, unitPrice: '0' },
        ],
        { shipping: '5', tax: '0', spread: 'byValue' },
        'USD',
      ).map((line) => line.landed.toFixed(2)),
    ).toEqual(['2.50', '2.50']);
    expect(landLines([], { shipping: '0', tax: '0', spread: 'equal' }, 'USD')).toEqual([]);
    expect(() => landLines([], { shipping: '5', tax: '0', spread: 'equal' }, 'USD')).toThrow(
      expect.objectContaining({ code: 'no-shares' }),
    );
  });
});

describe('harvest', () => {
  // Treas. Reg. §1.61-6(a) Example (2), text in Cal. Code Regs. 18 §24271(d): 25 000 for two parts worth 15 000 and
  // 10 000; part A, with 2 000 of depreciation allowed, sells for 20 000: the gain is 7 000.
  it('moves basis by relative value and leaves the rest', () => {
    const harvest = harvestBasis('25000', [{ quantity: 1, valueEach: '15000' }], '10000', 'USD');
    expect(harvest.parts[0]!.basis.toFixed(2)).toBe('15000.00');
    expect(harvest.left.toFixed(2)).toBe('10000.00');
    expect(new Decimal('20000').minus(harvest.moved.minus(2000)).toFixed(2)).toBe('7000.00');
  });

  it('leaves nothing on a donor whose rest is waste, and refuses a harvest of worthless parts from one', () => {
    const harvest = harvestBasis(
      '40',
      [
        { quantity: 2, valueEach: '12' },
        { quantity: 1, valueEach: '6' },
      ],
      '0',
      'USD',
    );
    expect(harvest.parts.map((part) => [part.basis.toFixed(2), part.unitCost.toFixed(2)])).toEqual([
      ['32.00', '16.00'],
      ['8.00', '8.00'],
    ]);
    expect(harvest.left.isZero()).toBe(true);
    expect(() => harvestBasis('40', [{ quantity: 1, valueEach: '0' }], '0', 'USD')).toThrow(
      expect.objectContaining({ code: 'no-weight' }),
    );
  });

  it('puts no more on a part off a donor than it is worth', () => {
    // Bought for 50; a part worth 40 goes, the rest is said to be worth 8; then one of 1 goes, and the rest is waste.
    const first = harvestBasis('50', [{ quantity: 1, valueEach: '40' }], '8', 'USD', 'worth');
    expect([first.moved.toFixed(2), first.left.toFixed(2)]).toEqual(['40.00', '10.00']); // by value alone 50 × 40/48 = 41.67
    const second = harvestBasis(first.left, [{ quantity: 2, valueEach: '0.50' }], '0', 'USD', 'worth');
    expect([second.moved.toFixed(2), second.parts[0]!.unitCost.toFixed(2), second.left.toFixed(2)]).toEqual([
      '1.00',
      '0.50',
      '9.00',
    ]);
    expect(second.reasons).toContain('at most what they are worth');
    // Under what they are worth nothing changes: the regulation's 15 000 of 25 000.
    expect(harvestBasis('25000', [{ quantity: 1, valueEach: '15000' }], '10000', 'USD', 'worth').moved.toFixed(2)).toBe(
      '15000.00',
    );
  });

  it.each(['all', 'worth'] as const)(
    'never makes or loses a cent, and visits one at a time agree with all at once (%s)',
    (most) => {
      const amounts = fc.array(fc.integer({ min: 1, max: 50_000 }), { minLength: 2, maxLength: 6 });
      fc.assert(
        fc.property(fc.nat(1_000_000), amounts, fc.nat(50_000), (basisCents, values, restValue) => {
          const basis = new Decimal(basisCents).div(100);
          const parts = values.map((value) => ({ quantity: 1, valueEach: new Decimal(value).div(100) }));
          const rest = new Decimal(restValue).div(100);
          const once = harvestBasis(basis, parts, rest, 'USD', most);
          expect(once.moved.plus(once.left).equals(basis)).toBe(true);
          let left = basis;
          parts.forEach((part, index) => {
            const stillThere = parts.slice(index + 1).reduce((sum, other) => sum.plus(other.valueEach), rest);
            const visit = harvestBasis(left, [part], stillThere, 'USD', most);
            expect(
              visit.parts[0]!.basis.minus(once.parts[index]!.basis)
                .abs()
                .lessThanOrEqualTo(new Decimal('0.01').times(parts.length)),
            ).toBe(true);
            left = visit.left;
          });
          expect(left.minus(once.left).abs().lessThanOrEqualTo(new Decimal('0.01').times(parts.length))).toBe(true);
        }),
      );
    },
  );
});
