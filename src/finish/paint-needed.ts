/** How much paint a job takes, and what of it is to be bought. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { type PaintCan, paintNeed, type ProductNeed as Need, systemWarnings } from '../engine/cure/index.js';
import { lookUp } from '../engine/look-up.js';
import { Invalid, NotFound } from '../platform/errors.js';
import { type OperationContext, query } from '../platform/operation/operation.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import type { CautionCode } from '../work/cautions.js';
import { asLayer } from './coat-warnings.js';
import { Leftover, PaintedArea, PaintNeed } from './finish.shapes.js';
import { typicalAreas } from './typical-areas.js';

interface Area {
  surface: string;
  squareMetres: number;
}

const withProducts = { coats: { orderBy: { position: 'asc' as const }, include: { product: true } } };
type SystemWithProducts = Stored<'coatingSystem', typeof withProducts>;

export const paintNeededQuery = query({
  name: 'paintNeeded',
  summary: 'How much paint a job, or given areas, take in a coating system, and what is to be bought',
  rest: { method: 'POST', path: '/paint-needed' },
  input: z.strictObject({
    systemId: id,
    jobId: id.nullish().meta({
      scalar: 'ID',
      description:
        "Coats already on this job's surfaces are not needed again; without areas its kind of machine stands for them.",
    }),
    areas: z.array(PaintedArea).min(1).max(50).nullish(),
    leftovers: z.array(Leftover).max(50).default([]),
  }),
  output: PaintNeed,
  async run(context, input) {
    const system = await findOne(context.tx.coatingSystem, 'coating system', input.systemId, withProducts);
    const reasons: string[] = [];
    const areas = input.areas ?? (await areasOfJob(context, input.jobId, reasons));
    const applied = await appliedCoats(context, input.jobId);
    const byId = new Map(system.coats.map((coat) => [coat.productId, coat.product]));
    const products = [...byId.values()];
    const needs = needsOf(system, areas, applied, products, input.leftovers, reasons);
    const total = (of: (need: Need) => Decimal): Decimal =>
      needs.reduce((sum, need) => sum.plus(of(need)), new Decimal(0));
    for (const product of products)
      reasons.push(
        `${product.name}: ${Number(product.volumeSolidsPercent)} % solids, ${Number(product.lossPercent)} % lost on the way.`,
      );
    return {
      systemId: system.id,
      areas,
      products: needs.map((need) => ({ ...need, name: lookUp(byId, need.productId).name })),
      purchaseCost: total((need) => need.purchaseCost),
      paintCost: total((need) => need.paintCost),
      dryFilmMicrometres: filmOf(system),
      warnings: systemWarnings(system.coats.map((coat) => asLayer(coat.product))),
      cautions: cautionsOf(products),
      reasons,
    };
  },
});

async function areasOfJob(
  context: OperationContext,
  jobId: string | null | undefined,
  reasons: string[],
): Promise<Area[]> {
  if (!jobId) throw new Invalid([{ detail: 'give areas, or a job whose machine stands for them', pointer: '/areas' }]);
  const job = await context.tx.job.findFirst({
    where: { id: jobId },
    select: { machine: { select: { kind: true, clearingWidthMillimetres: true } } },
  });
  if (!job) throw new NotFound('job', jobId);
  reasons.push(
    'No areas were given: they are what such a machine roughly has. Measure and send them for a better answer.',
  );
  return typicalAreas(job.machine.kind, job.machine.clearingWidthMillimetres);
}

/** How many coats already lie on each surface of a job. */
async function appliedCoats(context: OperationContext, jobId: string | null | undefined): Promise<Map<string, number>> {
  if (!jobId) return new Map();
  const job = await context.tx.job.findFirst({ where: { id: jobId }, select: { id: true } });
  if (!job) throw new NotFound('job', jobId);
  const rows = await context.tx.coat.groupBy({
    by: ['surface'],
    where: { jobId, archivedAt: null },
    _max: { coatNumber: true },
  });
  return new Map(rows.map((row) => [row.surface, row._max.coatNumber ?? 0]));
}

/** Surfaces that want the same coats are computed together, then the products' needs are added up. */
function needsOf(
  system: SystemWithProducts,
  areas: readonly Area[],
  applied: ReadonlyMap<string, number>,
  products: readonly Stored<'coatingProduct'>[],
  leftovers: { productId: string; litres: number }[],
  reasons: string[],
): Need[] {
  const cans = products.map(canOf);
  const groups = new Map<number, Area[]>();
  for (const area of areas) {
    const done = Math.min(applied.get(area.surface) ?? 0, system.coats.length);
    if (done > 0) reasons.push(`${area.surface}: ${done} of ${system.coats.length} coats are on already.`);
    groups.set(done, [...(groups.get(done) ?? []), area]);
  }
  // What one group leaves in opened containers is there for the next.
  let onHand = leftovers;
  const sums = new Map<string, Need>();
  for (const [done, its] of groups) {
    const coats = system.coats.slice(done).map((coat) => ({
      productId: coat.productId,
      dryFilmMicrometres: coat.dryFilmMicrometres === null ? null : Number(coat.dryFilmMicrometres),
    }));
    const needs = paintNeed({
      squareMetres: its.map((area) => area.squareMetres),
      coats,
      products: cans,
      leftovers: onHand,
    });
    onHand = [
      ...onHand.filter((one) => !needs.some((need) => need.productId === one.productId)),
      ...needs.map((need) => ({ productId: need.productId, litres: need.remainingLitres })),
    ];
    for (const need of needs) sums.set(need.productId, added(sums.get(need.productId), need));
  }
  return [...sums.values()];
}

function added(before: Need | undefined, more: Need): Need {
  if (!before) return more;
  return {
    ...before,
    coats: Math.max(before.coats, more.coats),
    squareMetres: new Decimal(before.squareMetres).plus(more.squareMetres).toNumber(),
    litres: new Decimal(before.litres).plus(more.litres).toNumber(),
    fromLeftoverLitres: new Decimal(before.fromLeftoverLitres).plus(more.fromLeftoverLitres).toNumber(),
    containersToBuy: before.containersToBuy + more.containersToBuy,
    remainingLitres: more.remainingLitres,
    purchaseCost: before.purchaseCost.plus(more.purchaseCost),
    paintCost: before.paintCost.plus(more.paintCost),
  };
}

const canOf = (product: Stored<'coatingProduct'>): PaintCan => ({
  id: product.id,
  volumeSolidsPercent: Number(product.volumeSolidsPercent),
  dryFilmMicrometres: Number(product.dryFilmMicrometres),
  lossPercent: Number(product.lossPercent),
  containerLitres: Number(product.containerLitres),
  containerPrice: new Decimal(String(product.containerPrice)),
});

const filmOf = (system: SystemWithProducts): number =>
  system.coats
    .reduce((sum, coat) => sum.plus(String(coat.dryFilmMicrometres ?? coat.product.dryFilmMicrometres)), new Decimal(0))
    .toNumber();

/** Every coat gives off vapour; alkyds and oils leave rags that heat themselves; some carry isocyanate. */
export function cautionsOf(products: readonly Stored<'coatingProduct'>[]): CautionCode[] {
  const oily = products.some((product) => /alkyd|oil|enamel/.test(product.family));
  const codes: CautionCode[] = ['solventVapour'];
  if (oily) codes.push('oilyRags');
  if (products.some((product) => product.isocyanate)) codes.push('isocyanate');
  return codes;
}
