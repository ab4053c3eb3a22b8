import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { marginSchemeGlobal, marginSchemeItem, salesTax, taxOnSale, type TaxScheme } from './index.js';

describe('second-hand margin scheme, item by item', () => {
  it.each([
    // gov.uk "VAT margin schemes", copied at eastcambs.gov.uk/content/vat-margin-schemes: 16.67 % (one-sixth) of 500.
    ['1500', '2000', '20', '500', '83.33'],
    // autovat.co.uk worked examples 1 to 3; the third makes a loss and owes nothing.
    ['400', '700', '20', '300', '50.00'],
    ['8500', '12000', '20', '3500', '583.33'],
    ['1200', '950', '20', '-250', '0.00'],
    // supplyit.ie: 50 × 23/123 (its label "23 % of 50" is wrong, its figure right).
    ['100', '150', '23', '50', '9.35'],
    // percentninja.com takes 20 % of the margin and prints 12; a sixth of 60 is 10.
    ['240', '300', '20', '60', '10.00'],
    // Goods given to the shop for nothing: the whole price is margin.
    ['0', '120', '20', '120', '20.00'],
  ])('bought %s, sold %s at %s %%', (bought, sold, rate, margin, tax) => {
    const item = marginSchemeItem(bought, sold, rate, 'GBP');
    expect(item.margin.equals(margin)).toBe(true);
    expect(item.tax.toFixed(2)).toBe(tax);
    // Directive 2006/112/EC art. 315: the taxable amount is the margin less the tax in it.
    expect(item.taxableAmount.plus(item.tax).toFixed(2)).toBe(
      item.margin.isNegative() ? '0.00' : item.margin.toFixed(2),
    );
  });

  // VAT fractions as published: 20 % 1/6, 19 % 19/119, 21 % 21/121, 23 % 23/123, 25 % 1/5, 5 % 1/21.
  it.each([
    ['20', 6],
    ['25', 5],
    ['5', 21],
    ['19', 119 / 19],
    ['21', 121 / 21],
    ['23', 123 / 23],
  ])('VAT fraction at %s %%', (rate, divisor) => {
    expect(marginSchemeItem('0', '100000', rate, 'EUR').tax.toNumber()).toBeCloseTo(100000 / divisor, 2);
  });

  it('never sets a loss against another item', () => {
    const items = [marginSchemeItem('1200', '950', '20', 'GBP'), marginSchemeItem('400', '700', '20', 'GBP')];
    expect(Decimal.sum(...items.map((item) => item.tax)).toFixed(2)).toBe('50.00');
  });
});

describe('second-hand margin scheme, global accounting', () => {
  // goselfemployed.co: sales 20 000, purchases 8 000, tax a sixth of 12 000.
  it('taxes the period as one', () => {
    expect(marginSchemeGlobal([{ sales: '20000', purchases: '8000' }], '20', 'GBP')[0]!.tax.toFixed(2)).toBe('2000.00');
  });

  // Constructed on SI 1995/1268 art. 13(6), quoted in HMRC VATMARG03050: excess purchases are carried forward.
  it('carries an excess of purchases forward', () => {
    const [first, second, third] = marginSchemeGlobal(
      [
        { sales: '5000', purchases: '7000' },
        { sales: '9000', purchases: '4000' },
        { sales: '0', purchases: '0' },
      ],
      '20',
      'GBP',
    );
    expect(first!.tax.toFixed(2)).toBe('0.00');
    expect(first!.carriedForward.toFixed(2)).toBe('2000.00');
    expect(second!.margin.toFixed(2)).toBe('3000.00');
    expect(second!.tax.toFixed(2)).toBe('500.00');
    expect(second!.carriedForward.toFixed(2)).toBe('0.00');
    expect(third!.tax.toFixed(2)).toBe('0.00');
  });

  it('carries over several bad periods, and from before the first', () => {
    const settled = marginSchemeGlobal(
      [
        { sales: '0', purchases: '600' },
        { sales: '100', purchases: '200' },
        { sales: '1500', purchases: '0' },
      ],
      '20',
      'GBP',
      '100',
    );
    expect(settled.map((each) => each.carriedForward.toFixed(0))).toEqual(['700', '800', '0']);
    expect(settled[2]!.tax.toFixed(2)).toBe('116.67');
  });
});

describe('sales tax', () => {
  // Third decimal, up when it exceeds four: R.I. Gen. Laws §44-18.1-25; N.D.C.C. 57-39.4-25; K.S.A. 79-3676;
  // M.G.L. c.64I §5. The cases are worked from that rule.
  it.each([
    ['0.50', '7', '0.04'],
    ['10.07', '6.25', '0.63'],
    ['19.99', '8.25', '1.65'],
    ['1.15', '5', '0.06'],
    ['129.95', '6.875', '8.93'],
    // 0.3444 × … must not climb by rounding twice: 4.64 × 7.45 % = 0.34568 is 0.35, but 4.63 × 7.45 % = 0.344935 is 0.34.
    ['4.64', '7.45', '0.35'],
    ['4.63', '7.45', '0.34'],
  ])('%s at %s %% is %s', (price, rate, tax) => {
    expect(salesTax([price], rate, 'item', 'USD').tax.toFixed(2)).toBe(tax);
  });

  it('differs between item and invoice basis', () => {
    const three = ['0.50', '0.50', '0.50'];
    expect(salesTax(three, '7', 'item', 'USD').tax.toFixed(2)).toBe('0.12');
    expect(salesTax(three, '7', 'invoice', 'USD').tax.toFixed(2)).toBe('0.11');
  });

  it('mirrors a refund', () => {
    expect(salesTax(['-0.50'], '7', 'item', 'USD').tax.toFixed(2)).toBe('-0.04');
  });

  it('agrees with exact fractions for any price and rate', () => {
    fc.assert(
      fc.property(fc.nat(10_000_000), fc.nat(20_000), (cents, thousandths) => {
        const tax = salesTax([new Decimal(cents).div(100)], new Decimal(thousandths).div(1000), 'item', 'USD').tax;
        const product = BigInt(cents) * BigInt(thousandths); // in hundred-thousandths of a cent
        expect(tax.times(100).toFixed(0)).toBe(((product + 50_000n) / 100_000n).toString());
      }),
    );
  });
});

describe('one sale under each scheme', () => {
  const sold = (scheme: TaxScheme): ReturnType<typeof taxOnSale> => taxOnSale(scheme, '700', '400', 'GBP');
  it('leaves what it should', () => {
    const shown = (scheme: TaxScheme): unknown[] => {
      const taxed = sold(scheme);
      return [taxed.buyerPays.toFixed(2), taxed.tax.toFixed(2), taxed.netProceeds.toFixed(2), taxed.showsTax];
    };
    expect(shown({ kind: 'none' })).toEqual(['700.00', '0.00', '700.00', false]);
    expect(shown({ kind: 'salesTax', ratePercent: '6.25' })).toEqual(['743.75', '43.75', '700.00', true]);
    // Directive 2006/112/EC art. 325 as repeated by the Irish Revenue note: no tax shown on a margin scheme invoice.
    expect(shown({ kind: 'marginScheme', ratePercent: '20' })).toEqual(['700.00', '50.00', '650.00', false]);
  });

  it('refuses a rate out of range and an unknown scheme', () => {
    expect(() => sold({ kind: 'salesTax', ratePercent: '101' })).toThrow(expect.objectContaining({ code: 'bad-rate' }));
    expect(() => sold({ kind: 'salesTax', ratePercent: '-1' })).toThrow(
      expect.objectContaining({ code: 'bad-number' }),
    );
    expect(() => sold({ kind: 'other' } as unknown as TaxScheme)).toThrow(
      expect.objectContaining({ code: 'unknown-scheme' }),
    );
  });
});
