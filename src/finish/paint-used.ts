/** What a coat took of its can, and what its job is charged with for that. */
import { Decimal } from 'decimal.js';
import { practicalSpreadingSquareMetresPerLitre } from '../engine/cure/index.js';
import { roundAmount } from '../engine/money/index.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { toDecimal } from '../platform/money.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { AnyDecimal } from '../platform/operation/row.js';
import type { Stored } from '../platform/operation/stored.js';

const decimalsOfLitres = 4;

type Figure = AnyDecimal | number | string;
interface PaintedFilm {
  litresUsed?: Figure | null | undefined;
  squareMetres?: Figure | null | undefined;
  dryFilmMicrometres?: Figure | null | undefined;
}

/**
 * @param coat with `litresUsed` as stated, or `squareMetres`, and `dryFilmMicrometres` where it was measured
 * @returns litres as stated, or area × film ÷ solids ÷ (1 − loss); null where neither litres nor area is known
 */
export function litresOf(coat: PaintedFilm, product: Stored<'coatingProduct'>): Decimal | null {
  if (coat.litresUsed != null) return toDecimal(coat.litresUsed);
  if (coat.squareMetres == null) return null;
  const spreading = practicalSpreadingSquareMetresPerLitre(
    Number(product.volumeSolidsPercent),
    Number(coat.dryFilmMicrometres ?? product.dryFilmMicrometres),
    Number(product.lossPercent),
  );
  // A coat took some paint, however little.
  return Decimal.max(
    toDecimal(coat.squareMetres).div(spreading).toDecimalPlaces(decimalsOfLitres),
    new Decimal(10).pow(-decimalsOfLitres),
  );
}

/** Charges the coat's job with its paint, at the can's price by the litre; a coat that nobody measured is not charged. */
export async function chargePaint(context: OperationContext, coat: Stored<'coat', { product: true }>): Promise<void> {
  if (coat.litresUsed === null) return;
  const { name, containerPrice, containerLitres } = coat.product;
  const amount = roundAmount(
    toDecimal(containerPrice).times(toDecimal(coat.litresUsed)).div(toDecimal(containerLitres)),
    context.shop.currency,
  );
  if (amount.isZero()) return;
  const description = `${toDecimal(coat.litresUsed)} L ${name}, coat on ${coat.surface}`;
  await writeEntry(context, {
    jobId: coat.jobId,
    kind: 'consumable',
    amount: amount.toFixed(),
    occurredDate: dayIn(coat.appliedAt, context.shop.timeZone),
    description,
    cause: { coatId: coat.id },
  });
}

/** Takes back what was charged for a coat, if anything was. */
export async function unchargePaint(context: OperationContext, coatId: string, reason: string): Promise<void> {
  const status = await context.tx.ledgerEntry.findFirst({
    where: { coatId, reversesId: null, reversedBy: null },
  });
  if (status) await reverseEntry(context, status.id, reason);
}
