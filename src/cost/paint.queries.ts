/** What the coats that open jobs still want will cost. */
import { Decimal } from 'decimal.js';
import { paintNeed } from '../engine/cure/index.js';
import { lookUp } from '../engine/look-up.js';
import { type RemainingCost, roundAmount } from '../engine/money/index.js';
import { typicalAreas } from '../finish/typical-areas.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { RemainingTask } from './remaining.queries.js';

export interface PaintEstimateToComplete extends RemainingCost {
  likely: Decimal;
  /** How it was computed, or why it was not and counts nothing. */
  reasons: string;
}

/** Areas are those of such a machine, not of this one: from seven tenths to half as much again. A judgement, no source. */
const AREAS = { low: 0.7, high: 1.5 };
const ROLES: Partial<Record<string, string>> = { prime: 'primer', colour: 'colour', clear: 'clear' };

/**
 * Paint for the coat tasks still open and without a coat, by job id; nothing for jobs without. No task says of what a
 * coat is; but the coats still to come are the last of a coating system, so where only one system of the shop ends in
 * just those coats, that is it. Areas are what such a machine roughly has. Two statements.
 */
export async function paintEstimateToComplete(
  context: OperationContext,
  tasksOf: ReadonlyMap<string, readonly RemainingTask[]>,
): Promise<Map<string, PaintEstimateToComplete>> {
  const wanted = new Map(
    [...tasksOf]
      .map(([jobId, tasks]) => [jobId, tasks.flatMap((task) => (task.coated ? [] : (ROLES[task.kind] ?? [])))] as const)
      .filter(([, roles]) => roles.length > 0),
  );
  if (wanted.size === 0) return new Map();
  const jobs = await context.tx.job.findMany({
    where: { id: { in: [...wanted.keys()] } },
    select: { id: true, machine: { select: { kind: true, clearingWidthMillimetres: true } } },
  });
  const systems = await context.tx.coatingSystem.findMany({
    where: { archivedAt: null },
    include: { coats: { orderBy: { position: 'asc' }, include: { product: true } } },
  });
  return new Map(
    jobs.map(({ id, machine }) => {
      const roles = lookUp(wanted, id);
      const fitting = systems.filter(
        ({ coats }) =>
          coats.length >= roles.length &&
          coats.slice(-roles.length).every((coat, index) => coat.product.role === roles[index]),
      );
      const coatWords = `${roles.length} ${roles.length === 1 ? 'coat' : 'coats'}`;
      const [system] = fitting;
      if (!system || fitting.length > 1)
        return [
          id,
          nothing(
            `paint for the ${coatWords} to come is not counted: ` +
              `${fitting.length === 0 ? 'no coating system ends' : 'more than one coating system ends'} in such coats`,
          ),
        ] as const;
      const coats = system.coats.slice(-roles.length);
      const needs = paintNeed({
        squareMetres: typicalAreas(machine.kind, machine.clearingWidthMillimetres).map((area) => area.squareMetres),
        coats: coats.map((coat) => ({
          productId: coat.productId,
          dryFilmMicrometres: coat.dryFilmMicrometres === null ? null : Number(coat.dryFilmMicrometres),
        })),
        products: coats.map(({ product }) => ({
          id: product.id,
          volumeSolidsPercent: Number(product.volumeSolidsPercent),
          dryFilmMicrometres: Number(product.dryFilmMicrometres),
          lossPercent: Number(product.lossPercent),
          containerLitres: Number(product.containerLitres),
          containerPrice: toDecimal(product.containerPrice),
        })),
      });
      const likely = Decimal.sum(...needs.map((need) => need.paintCost));
      const amount = (share: number): Decimal => roundAmount(likely.times(share), context.shop.currency);
      return [
        id,
        {
          what: 'paint',
          low: amount(AREAS.low),
          likely: amount(1),
          high: amount(AREAS.high),
          reasons: `paint for ${coatWords} of "${system.name}" on the areas that such a machine roughly has`,
        },
      ] as const;
    }),
  );
}

const nothing = (reasons: string): PaintEstimateToComplete => ({
  what: 'paint',
  low: new Decimal(0),
  likely: new Decimal(0),
  high: new Decimal(0),
  reasons,
});
