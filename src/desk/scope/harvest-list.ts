/** What to take off a machine before the rest is scrap: parts that open jobs, bins and past use need. */
import { Decimal } from 'decimal.js';
import { likelyPrices } from '../../cost/remaining.queries.js';
import { treeOf } from '../../diagnosis/components/index.js';
import { roundAmount } from '../../engine/money/index.js';
import { toDecimal } from '../../platform/money.js';
import { groupBy } from '../../platform/operation/group-by.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { completeStock } from '../../stock/reservations.js';

export interface HarvestItem {
  partId: string;
  partName: string;
  quantity: number;
  neededOnJobs: number;
  shortInBins: number;
  usedInAYear: number;
  takeMinutes: number;
  unitValue: Decimal | null;
  value: Decimal | null;
  reasons: string[];
}

/** A used part is worth this share of a new one. A judgement, no source. */
const USED_SHARE = 0.5;
/** How far back use counts, and how much of it is worth keeping: a year's. */
const YEARS = 2;
/** To take a part off that no component is known for. */
const USUAL_MINUTES = 15;

/** Five statements. Parts made to fail are left: only a new one is the exact equal. */
export async function harvestList(
  context: OperationContext,
  machine: { id: string; kind: string },
): Promise<HarvestItem[]> {
  const { tx } = context;
  const parts = (
    await tx.part.findMany({
      where: { archivedAt: null, designedToFail: false, fastener: null },
      orderBy: [{ name: 'asc' }],
    })
  ).filter((part) => part.fits.some((kind) => kind === machine.kind));
  const ids = parts.map((part) => part.id);
  const needs = await tx.partNeed.findMany({
    where: { partId: { in: ids }, archivedAt: null, task: { archivedAt: null } },
    select: {
      partId: true,
      quantity: true,
      usedDate: true,
      stockId: true,
      orderLineId: true,
      task: { select: { job: { select: { machineId: true, closedDate: true, archivedAt: true } } } },
    },
  });
  const bins = await completeStock(
    context,
    await tx.stock.findMany({ where: { partId: { in: ids }, archivedAt: null } }),
  );
  const prices = await likelyPrices(context, ids);
  const worn = await tx.finding.findMany({
    where: {
      machineId: machine.id,
      archivedAt: null,
      OR: [{ verdict: { in: ['replace', 'remove', 'repair'] } }, { rustGrade: { gte: 4 } }],
    },
    select: { componentCode: true, component: true },
  });
  const tree = treeOf(machine.kind);
  const since = new Date(context.now.getTime() - YEARS * 365.25 * 86_400_000);
  const needsOf = groupBy(needs, (need) => need.partId);
  return parts
    .flatMap((part): HarvestItem[] => {
      const component = componentNamed(part.name, tree);
      if (
        worn.some((one) =>
          one.componentCode ? one.componentCode === component?.code : mentions(part.name, one.component),
        )
      )
        return [];
      const all = needsOf.get(part.id) ?? [];
      const sum = (of: typeof all): number => of.reduce((total, need) => total + Number(need.quantity), 0);
      const neededOnJobs = sum(
        all.filter(
          ({ usedDate, stockId, orderLineId, task }) =>
            !usedDate &&
            !stockId &&
            !orderLineId &&
            !task.job.closedDate &&
            !task.job.archivedAt &&
            task.job.machineId !== machine.id,
        ),
      );
      const usedInAYear = sum(all.filter((need) => need.usedDate && need.usedDate >= since)) / YEARS;
      const free = bins
        .filter((bin) => bin.partId === part.id)
        .reduce((total, bin) => total + bin.quantityFree.toNumber(), 0);
      const shortInBins = Math.max(0, Number(part.reorderPoint ?? 0) - free);
      const wanted = neededOnJobs + Math.max(shortInBins, usedInAYear - free, 0);
      // There is one of most things on a machine.
      const quantity = Math.min(1, Math.ceil(wanted));
      if (quantity === 0) return [];
      const bin = bins.find((one) => one.partId === part.id);
      const price = prices.get(part.id) ?? (part.expectedPrice ? toDecimal(part.expectedPrice) : null);
      const unitValue = price
        ? roundAmount(price.times(USED_SHARE), context.shop.currency)
        : bin
          ? toDecimal(bin.unitCost)
          : null;
      const reach = component ? tree.reach([component.code]) : [];
      return [
        {
          partId: part.id,
          partName: part.name,
          quantity,
          neededOnJobs,
          shortInBins,
          usedInAYear: Math.round(usedInAYear * 10) / 10,
          takeMinutes: component
            ? (component.off?.take ??
                component.work.remove?.likely ??
                Math.round((component.work.replace?.likely ?? USUAL_MINUTES) / 2)) +
              reach.reduce((total, code) => total + (tree.get(code)?.off?.take ?? 0), 0)
            : USUAL_MINUTES,
          unitValue,
          value: unitValue && unitValue.times(quantity),
          reasons: [
            ...(neededOnJobs > 0 ? [`${neededOnJobs} needed on open jobs, neither on hand nor ordered`] : []),
            ...(shortInBins > 0 ? [`bins are ${shortInBins} short of the reorder point`] : []),
            ...(usedInAYear > 0 ? [`${Math.round(usedInAYear * 10) / 10} used in a year, ${free} free in bins`] : []),
            price
              ? `a used one is worth half of the ${price.toFixed()} of a new one: a judgement`
              : 'no price of it is known',
          ],
        },
      ];
    })
    .sort(
      (a, b) =>
        b.neededOnJobs - a.neededOnJobs || Number(b.value ?? 0) / b.takeMinutes - Number(a.value ?? 0) / a.takeMinutes,
    );
}

/** The component that a part's name speaks of: the longest of its names that stands in it. */
function componentNamed(partName: string, tree: ReturnType<typeof treeOf>) {
  const found = tree.components
    .flatMap((component) => [component.name, ...component.aliases].map((word) => ({ component, word })))
    .filter(({ word }) => mentions(partName, word))
    .sort((a, b) => b.word.length - a.word.length)[0];
  return found?.component ?? null;
}
const mentions = (text: string, word: string): boolean =>
  ` ${text.toLowerCase().replace(/[^a-z0-9]+/g, ' ')} `.includes(` ${word.toLowerCase()} `);
