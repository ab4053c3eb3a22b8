import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { computeReservationPrice, netOfSale, priceForNet, type SellingTerms } from './index.js';

const plainTerms: SellingTerms = { tax: { kind: 'none' }, purchasePrice: '0' };

describe('finish or sell as it stands', () => {
  // OpenStax, Principles of Accounting vol. 2 §10.5 (m68085): what was spent before does not count.
  it.each([
    ['Luxury Leathers', '900000', '1215000', '85000', 'finish', '230000'],
    ["Ainsley's Apples", '160000', '290000', '200000', 'sellAsIs', '-70000'],
    ['Mallory rework', '22', '38', '11', 'finish', '5'],
    ['Ralston frozen yogurt', '8000', '9000', '0', 'finish', '1000'],
    ['Ralston ice cream', '12000', '11000', '0', 'sellAsIs', '-1000'],
    ['Underground Food beef', '3.00', '6.50', '2.80', 'finish', '0.7'],
  ])('%s', (_, asIs, finished, cost, decision, gain) => {
    // Finishing is right when the finished price clears the price below which selling as it stands is better, whatever
    // was spent before.
    const [least, other] = ['0', '999.99'].map((spent) =>
      computeReservationPrice({ sellAsIs: asIs }, { spent, toFinish: cost }, plainTerms, 'USD'),
    );
    const over = new Decimal(finished).minus(least!.reservationPrice);
    expect([over.greaterThan(0) ? 'finish' : 'sellAsIs', over.toString()]).toEqual([decision, gain]);
    expect(other!.reservationPrice.equals(least!.reservationPrice)).toBe(true);
  });
});

describe('net of a sale and back', () => {
  it('takes tax, fee and fixed cost off', () => {
    // Margin scheme 20 % on 700 − 400: 50 (autovat.co.uk worked example 1); 3 % of 700 is 21; the run is 15.
    const terms: SellingTerms = {
      tax: { kind: 'marginScheme', ratePercent: 20 },
      purchasePrice: '400',
      fixedCost: '15',
      percentCost: 3,
    };
    expect(netOfSale('700', terms, 'GBP').toFixed(2)).toBe('614.00');
    expect(priceForNet('614', terms, 'GBP').toFixed(2)).toBe('700.00');
    expect(netOfSale('700', { ...terms, tax: { kind: 'salesTax', ratePercent: 8 } }, 'USD').toFixed(2)).toBe('664.00');
    expect(() => netOfSale('1', { ...plainTerms, percentCost: 100 }, 'USD')).toThrow(
      expect.objectContaining({ code: 'bad-number' }),
    );
  });

  it('finds the least price that is enough', () => {
    fc.assert(
      fc.property(
        fc.nat(2_000_000),
        fc.nat(300_000),
        fc.constantFrom('none', 'salesTax', 'marginScheme'),
        fc.nat(30),
        (cents, bought, kind, fee) => {
          const terms: SellingTerms = {
            tax: kind === 'none' ? { kind } : { kind: kind as 'salesTax', ratePercent: 23 },
            purchasePrice: new Decimal(bought).div(100),
            percentCost: fee,
            fixedCost: '12.34',
          };
          const target = new Decimal(cents).div(100);
          const price = priceForNet(target, terms, 'USD');
          expect(netOfSale(price, terms, 'USD').greaterThanOrEqualTo(target)).toBe(true);
          // Net may stand still for a cent where tax and fee round up together, hence two.
          if (price.greaterThan('0.02'))
            expect(netOfSale(price.minus('0.03'), terms, 'USD').lessThan(target)).toBe(true);
        },
      ),
    );
  });
});

describe('reservation price', () => {
  it('is where the best alternative is as good, with what finishing still takes on top', () => {
    const answer = computeReservationPrice(
      { partOut: '120', keep: '90', scrap: '15' },
      { spent: '140', toFinish: '35' },
      { ...plainTerms, fixedCost: '10' },
      'USD',
    );
    expect(answer.reservationPrice.toFixed(2)).toBe('165.00');
    expect(answer.better).toBe('partOut');
    expect(answer.belowCashCost).toBe(true);
    expect(answer.cashBack.toFixed(2)).toBe('185.00');
    expect(answer.reasons.join(' ')).toMatch(/loss in cash/);
  });

  it('does not move with what was spent, and says when the cash is back', () => {
    const at = (spent: string) => computeReservationPrice({ keep: '300' }, { spent, toFinish: '0' }, plainTerms, 'USD');
    expect(at('50').reservationPrice.equals(at('900').reservationPrice)).toBe(true);
    expect([at('50').belowCashCost, at('900').belowCashCost]).toEqual([false, true]);
    expect(() => computeReservationPrice({}, { spent: '0', toFinish: '0' }, plainTerms, 'USD')).toThrow(
      expect.objectContaining({ code: 'no-alternative' }),
    );
  });
});
