import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { lookUp } from '../look-up.js';
import { practicalSpreadingSquareMetresPerLitre } from './film.js';

/** A can as far as buying goes. */
export interface PaintCan {
  id: string;
  volumeSolidsPercent: number;
  /** The film its sheet recommends. */
  dryFilmMicrometres: number;
  lossPercent: number;
  containerLitres: number;
  containerPrice: Decimal;
}

export interface PaintNeedQuestion {
  /** Areas to be coated, each with every coat. */
  squareMetres: readonly number[];
  /** From the metal outward; without a film of its own a coat gets the one its sheet recommends. */
  coats: readonly { productId: string; dryFilmMicrometres?: number | null }[];
  products: readonly PaintCan[];
  /** What is left in opened containers; used up first. */
  leftovers?: readonly { productId: string; litres: number }[];
}

export interface ProductNeed {
  productId: string;
  coats: number;
  squareMetres: number;
  litres: number;
  leftoverLitres: number;
  /** Taken from opened containers. */
  fromLeftoverLitres: number;
  containersToBuy: number;
  /** In opened containers afterwards. */
  remainingLitres: number;
  /** Money laid out now: whole containers. */
  purchaseCost: Decimal;
  /** The paint used, at its price by the litre, bought or left over. */
  paintCost: Decimal;
}

/**
 * Paint a job needs: area × film ÷ solids ÷ (1 − loss) per coat, summed by product, less what is left, up to whole
 * containers. Costs are exact; rounding to the currency is the caller's.
 * @throws EngineError `unknown-id`, `out-of-range`
 */
export function paintNeed(question: PaintNeedQuestion): ProductNeed[] {
  const products = new Map(question.products.map((one) => [one.id, one]));
  const area = question.squareMetres.reduce((sum, one, k) => {
    if (!(one > 0 && Number.isFinite(one)))
      throw new EngineError('out-of-range', `an area must be above 0 m², not ${one}`, `squareMetres[${k}]`);
    return sum.plus(one);
  }, new Decimal(0));
  const litres = new Map<string, { coats: number; litres: Decimal }>();
  question.coats.forEach((coat, k) => {
    const product = products.get(coat.productId);
    if (!product) throw new EngineError('unknown-id', `there is no product ${coat.productId}`, `coats[${k}].productId`);
    const spreading = practicalSpreadingSquareMetresPerLitre(
      product.volumeSolidsPercent,
      coat.dryFilmMicrometres ?? product.dryFilmMicrometres,
      product.lossPercent,
    );
    const sofar = litres.get(product.id) ?? { coats: 0, litres: new Decimal(0) };
    litres.set(product.id, { coats: sofar.coats + 1, litres: sofar.litres.plus(area.dividedBy(spreading)) });
  });
  return [...litres].map(([id, need]) => productNeed(lookUp(products, id), need, area, question.leftovers ?? []));
}

function productNeed(
  product: PaintCan,
  need: { coats: number; litres: Decimal },
  area: Decimal,
  leftovers: readonly { productId: string; litres: number }[],
): ProductNeed {
  if (!(product.containerLitres > 0))
    throw new EngineError(
      'out-of-range',
      `a container must hold more than 0 L, not ${product.containerLitres}`,
      'containerLitres',
    );
  const leftover = leftovers.reduce((sum, one, k) => {
    if (!(one.litres >= 0))
      throw new EngineError(
        'out-of-range',
        `what is left must be at least 0 L, not ${one.litres}`,
        `leftovers[${k}].litres`,
      );
    return one.productId === product.id ? sum.plus(one.litres) : sum;
  }, new Decimal(0));
  // To the microlitre: a need of one litre and a rounding error must not buy two.
  const litres = need.litres.toDecimalPlaces(6);
  const fromLeftover = Decimal.min(litres, leftover);
  const containers = litres.minus(fromLeftover).dividedBy(product.containerLitres).ceil();
  return {
    productId: product.id,
    coats: need.coats,
    squareMetres: area.toNumber(),
    litres: litres.toNumber(),
    leftoverLitres: leftover.toNumber(),
    fromLeftoverLitres: fromLeftover.toNumber(),
    containersToBuy: containers.toNumber(),
    remainingLitres: leftover.plus(containers.times(product.containerLitres)).minus(litres).toNumber(),
    purchaseCost: product.containerPrice.times(containers),
    paintCost: product.containerPrice.times(litres).dividedBy(product.containerLitres),
  };
}
