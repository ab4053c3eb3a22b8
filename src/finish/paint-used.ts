/** What a coat took of its can, and what its job is charged with for that. */
import { Decimal } from 'decimal.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { practicalSpreadingSquareMetresPerLitre } from '../engine/cure/index.js';
import { roundAmount } from '../engine/money/index.js';
import { figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { dayIn } from '../platform/operation/execute.js';

const decimalsOfLitres = 4;

/**
 * @param coat with `litresUsed` as stated, or `squareMetres`, and `dryFilmMicrometres` where it was measured
 * @returns litres as stated, or area × film ÷ solids ÷ (1 − loss); null where neither litres nor area is known
 */
export function litresOf(coat: Presentable, product: Presentable): Decimal | null {
  if (coat.litresUsed != null) return figure(coat.litresUsed);
  if (coat.squareMetres == null) return null;
  const spreading = practicalSpreadingSquareMetresPerLitre(
    Number(product.volumeSolidsPercent),
    Number(coat.dryFilmMicrometres ?? product.dryFilmMicrometres),
    Number(product.lossPercent),
  );
  // A coat took some paint, however little.
  return Decimal.max(
    figure(coat.squareMetres).div(spreading).toDecimalPlaces(decimalsOfLitres),
    new Decimal(10).pow(-decimalsOfLitres),
  );
}

/** Charges the coat's job with its paint, at the can's price by the litre; a coat that nobody measured is not charged. */
export async function chargePaint(call: Call, coat: Presentable): Promise<void> {
  if (coat.litresUsed === null) return;
  const { name, containerPrice, containerLitres } = coat.product;
  const amount = roundAmount(figure(containerPrice).times(coat.litresUsed).div(containerLitres), call.shop.currency);
  if (amount.isZero()) return;
  const description = `${figure(coat.litresUsed)} L ${name}, coat on ${coat.surface}`;
  await writeEntry(call, {
    jobId: coat.jobId,
    kind: 'consumable',
    amount: amount.toFixed(),
    occurredOn: dayIn(coat.appliedAt, call.shop.timeZone),
    description,
    sourceId: coat.id,
  });
}

/** Takes back what was charged for a coat, if anything was. */
export async function unchargePaint(call: Call, coatId: string, reason: string): Promise<void> {
  const standing = await call.tx.ledgerEntry.findFirst({
    where: { sourceId: coatId, kind: 'consumable', reversesId: null, reversedBy: null },
  });
  if (standing) await reverseEntry(call, standing.id, reason);
}
