import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { systemWarnings } from './compatibility.js';
import { type PaintCan, paintNeed } from './paint-need.js';

const can = (change: Partial<PaintCan> = {}): PaintCan => ({
  id: 'colour',
  volumeSolidsPercent: 48,
  dryFilmMicrometres: 35,
  lossPercent: 30,
  containerLitres: 0.946,
  containerPrice: new Decimal('24.50'),
  ...change,
});

describe('paint needed', () => {
  it('is area × film ÷ solids ÷ (1 − loss), in whole containers after what is left', () => {
    // 4.2 m² at 48 %, 35 µm: 13.714 m²/L (the data sheet of coloramacoatings.com prints 13.7), 9.6 with 30 % lost: 0.4375 L a coat.
    const [need] = paintNeed({
      squareMetres: [3, 1.2],
      coats: [{ productId: 'colour' }, { productId: 'colour' }],
      products: [can()],
      leftovers: [
        { productId: 'colour', litres: 0.2 },
        { productId: 'colour', litres: 0.1 },
      ],
    });
    expect(need).toMatchObject({
      coats: 2,
      squareMetres: 4.2,
      litres: 0.875,
      leftoverLitres: 0.3,
      fromLeftoverLitres: 0.3,
      containersToBuy: 1,
    });
    expect(need!.remainingLitres).toBeCloseTo(0.3 + 0.946 - 0.875, 9);
    expect(need!.purchaseCost.toString()).toBe('24.5');
    expect(need!.paintCost.toDecimalPlaces(2).toString()).toBe('22.66');
  });

  it('buys nothing when enough is left, and one can for exactly one can', () => {
    const plain = can({ volumeSolidsPercent: 50, dryFilmMicrometres: 50, lossPercent: 0, containerLitres: 1 });
    expect(
      paintNeed({
        squareMetres: [5],
        coats: [{ productId: 'colour' }],
        products: [plain],
        leftovers: [{ productId: 'colour', litres: 1 }],
      })[0],
    ).toMatchObject({ litres: 0.5, containersToBuy: 0, remainingLitres: 0.5 });
    // 0.1 + 0.2 and seven times a third: sums that binary fractions overshoot.
    expect(
      paintNeed({ squareMetres: Array<number>(100).fill(0.1), coats: [{ productId: 'colour' }], products: [plain] })[0]!
        .containersToBuy,
    ).toBe(1);
    expect(
      paintNeed({ squareMetres: [10 / 3, 10 / 3, 10 / 3], coats: [{ productId: 'colour' }], products: [plain] })[0]!
        .containersToBuy,
    ).toBe(1);
  });

  it("takes a coat's own film, and sums by product", () => {
    const products = [can(), can({ id: 'primer', volumeSolidsPercent: 60, dryFilmMicrometres: 75, lossPercent: 0 })];
    const needs = paintNeed({
      squareMetres: [8],
      coats: [{ productId: 'primer', dryFilmMicrometres: 150 }, { productId: 'colour' }, { productId: 'primer' }],
      products,
    });
    // 60 % at 75 µm covers 8 m² a litre (table, scribd 290710110): 2 L for the thick coat, 1 L for the plain one.
    expect(needs.map(({ productId, coats }) => [productId, coats])).toEqual([
      ['primer', 2],
      ['colour', 1],
    ]);
    expect(needs[0]!.litres).toBe(3);
  });

  it('never leaves a job short, nor buys a can it does not open', () => {
    const litres = fc.double({ min: 0, max: 5, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0.01, max: 30, noNaN: true }), { minLength: 1, maxLength: 5 }),
        fc.integer({ min: 0, max: 90 }),
        litres,
        (squareMetres, lossPercent, left) => {
          const [need] = paintNeed({
            squareMetres,
            coats: [{ productId: 'colour' }],
            products: [can({ lossPercent })],
            leftovers: [{ productId: 'colour', litres: left }],
          });
          expect(need!.remainingLitres).toBeGreaterThanOrEqual(-1e-9);
          if (need!.containersToBuy > 0) expect(need!.remainingLitres).toBeLessThan(0.946);
        },
      ),
    );
  });

  it('refuses unknown products and areas that are none', () => {
    expect(() => paintNeed({ squareMetres: [1], coats: [{ productId: 'no' }], products: [] })).toThrow(
      expect.objectContaining({ code: 'unknown-id', path: 'coats[0].productId' }),
    );
    expect(() => paintNeed({ squareMetres: [1, 0], coats: [], products: [] })).toThrow(
      expect.objectContaining({ path: 'squareMetres[1]' }),
    );
    expect(() =>
      paintNeed({
        squareMetres: [1],
        coats: [{ productId: 'colour' }],
        products: [can()],
        leftovers: [{ productId: 'colour', litres: -1 }],
      }),
    ).toThrow(expect.objectContaining({ path: 'leftovers[0].litres' }));
  });
});

describe('coats on each other', () => {
  const alkyd = { name: 'Norvane red', family: 'Alkyd', role: 'colour' as const, incompatibleFamilies: [] };
  const lacquer = {
    name: 'Pikestone lacquer',
    family: 'lacquer',
    role: 'clear' as const,
    incompatibleFamilies: ['alkyd '],
  };
  const epoxy = { name: 'Hallgrim primer', family: 'epoxy', role: 'primer' as const, incompatibleFamilies: [] };

  it('are warned of where either sheet says so, once', () => {
    expect(systemWarnings([epoxy, alkyd, lacquer])).toEqual([
      {
        code: 'incompatible-families',
        detail: 'Pikestone lacquer over Norvane red: the sheet of Pikestone lacquer names Alkyd as not compatible',
      },
    ]);
    expect(systemWarnings([lacquer, { ...alkyd, role: 'clear' }, lacquer, { ...alkyd, role: 'clear' }])).toHaveLength(
      2,
    );
    // Not next to each other: nothing meets.
    expect(systemWarnings([alkyd, { ...epoxy, role: 'colour' }, lacquer])).toEqual([]);
  });

  it('are warned of out of order', () => {
    expect(systemWarnings([alkyd, epoxy])).toMatchObject([{ code: 'roles-out-of-order' }]);
    expect(systemWarnings([])).toEqual([]);
  });
});
