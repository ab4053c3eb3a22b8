/** What was found on open jobs and not decided on, in money: as likely as such proposals are accepted. */
import { Decimal } from 'decimal.js';
import { jobsWithOpenFindings, openProposals } from '../diagnosis/proposals/open-proposals.js';
import { labourValue, roundAmount } from '../engine/money/index.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { LikelyWorkCost } from './completion.js';
import { likelyPrices } from './remaining.queries.js';

/** By job id; nothing for jobs where all is decided. */
export async function likelyWorkCosts(
  context: OperationContext,
  jobIds: readonly string[],
  hourlyValue: Decimal,
): Promise<Map<string, LikelyWorkCost>> {
  const open = await jobsWithOpenFindings(context, jobIds);
  if (open.length === 0) return new Map();
  const found = await openProposals(context, open);
  const partIds = [...new Set(found.flatMap(({ proposals }) => proposals.flatMap(({ part }) => part?.partId ?? [])))];
  const bins = await context.tx.stock.findMany({
    where: { partId: { in: partIds }, archivedAt: null, quantity: { gt: 0 } },
    select: { partId: true, unitCost: true },
    orderBy: { createdAt: 'desc' },
  });
  const paid = await likelyPrices(context, partIds);
  // What lies in a bin is taken before one is ordered.
  const priceOf = new Map([...paid, ...bins.map((bin) => [bin.partId, new Decimal(bin.unitCost.toString())] as const)]);
  const { currency } = context.shop;
  return new Map(
    found.flatMap(({ row, proposals, accessMinutes }): [string, LikelyWorkCost][] => {
      const works = proposals.filter((one) => one.probability > 0);
      if (works.length === 0) return [];
      const own = works.reduce((sum, one) => sum + one.minutes.likely, 0);
      const mean = own === 0 ? 0 : works.reduce((sum, one) => sum + one.probability * one.minutes.likely, 0) / own;
      const full = own + accessMinutes;
      const most = works.reduce((sum, one) => sum + one.minutes.max, 0) + accessMinutes * 2;
      const priceOfOne = (one: (typeof works)[number]): Decimal =>
        one.part ? (priceOf.get(one.part.partId) ?? new Decimal(0)).times(one.part.quantity) : new Decimal(0);
      const unpriced = works.filter((one) => one.verdict === 'replace' && !(one.part && priceOf.has(one.part.partId)));
      const parts = Decimal.sum(0, ...works.map(priceOfOne));
      return [
        [
          row.id,
          {
            labour: {
              what: 'likely work',
              low: new Decimal(0),
              likely: labourValue(Math.round(full * mean), hourlyValue, currency),
              high: labourValue(most, hourlyValue, currency),
            },
            parts: {
              what: 'likely parts',
              low: new Decimal(0),
              likely: roundAmount(
                Decimal.sum(0, ...works.map((one) => priceOfOne(one).times(one.probability))),
                currency,
              ),
              high: roundAmount(parts, currency),
            },
            reasons: [
              `${works.length} ${works.length === 1 ? 'proposal is' : 'proposals are'} not decided on: ` +
                `${works.map((one) => one.title.toLowerCase()).join(', ')}; counted by how often such are accepted here`,
              ...(unpriced.length > 0
                ? [
                    `the part is not counted, no price of it is known: ${unpriced.map((one) => one.component.toLowerCase()).join(', ')}`,
                  ]
                : []),
            ],
          },
        ],
      ];
    }),
  );
}
