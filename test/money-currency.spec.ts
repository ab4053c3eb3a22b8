import { describe, expect, it } from '@jest/globals';
import currencyCodesPackage from 'currency-codes';
import { currencyCodes, minorUnits } from '../src/engine/money/index.js';

interface Listed {
  code: string;
  digits: number;
}
const listed = (currencyCodesPackage as unknown as { data: Listed[] }).data;

// ISO 4217 marks these "N.A." for minor units (metals, bond units, the test code, special drawing rights, no
// currency); the npm package stores 0 for want of a better value. They are no money of account for a shop.
const WITHOUT_MINOR_UNITS = 'XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA XXX'.split(' ');

describe('minor units by ISO 4217', () => {
  it('agrees with the npm list of ISO 4217 on every currency', () => {
    const expected = listed
      .filter(({ code }) => !WITHOUT_MINOR_UNITS.includes(code))
      .map(({ code, digits }) => [code, digits] as const);
    expect(expected.length).toBeGreaterThan(160);
    for (const [code, digits] of expected) expect([code, minorUnits(code)]).toEqual([code, digits]);
    expect([...currencyCodes]).toEqual(expected.map(([code]) => code).sort());
  });

  it('refuses codes without minor units', () => {
    for (const code of WITHOUT_MINOR_UNITS)
      expect(() => minorUnits(code)).toThrow(expect.objectContaining({ code: 'unknown-currency' }));
  });

  // The trap: locale data gives these fewer decimals than ISO (measured with the ICU of Node 20). Were the table
  // taken from Intl, a shop keeping books in forints would lose its fillér. Newer ICU may shrink the list, never IQD's
  // three decimals by ISO.
  it('keeps the decimals that Intl drops', () => {
    for (const code of 'AFN ALL COP HUF IDR IRR KPW LAK LBP MGA MMK PKR SOS SYP YER'.split(' '))
      expect([code, minorUnits(code)]).toEqual([code, 2]);
    expect(minorUnits('IQD')).toBe(3);
    const intl = (code: string): number =>
      new Intl.NumberFormat('en', { style: 'currency', currency: code }).resolvedOptions().maximumFractionDigits!;
    expect(currencyCodes.some((code) => intl(code) !== minorUnits(code))).toBe(true);
  });
});
