/** Parts that may stand in for another: by what the shop has claimed, or by the rules for fasteners. */
import { type Joint, rankSubstitutes } from '../engine/fastener/index.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { byDesignation, fastenerOf, type FastenerPart } from './fastener-verdict.js';
import { named, onlyEqual, substitutesOf } from './substitutes.queries.js';

export interface SubstitutePart {
  partId: string;
  name: string;
  kind: 'interchange' | 'equivalentFastener';
  allowed: boolean;
  reasons: string[];
}

/** Refused ones are shown so that nobody asks for them again; the nearest are enough. */
const REFUSED_SHOWN = 5;

/**
 * @param part the row of the part that is wanted
 * @param joint what the joint asks for, for fasteners
 */
export async function substituteParts(
  context: OperationContext,
  part: FastenerPart & { id: string },
  joint: Joint = {},
): Promise<SubstitutePart[]> {
  const claimed = await claimedParts(context, part);
  const equivalents = await equivalentFasteners(context, part, joint);
  return [...claimed, ...equivalents.filter((one) => !claimed.some((claim) => claim.partId === one.partId))];
}

async function claimedParts(context: OperationContext, part: FastenerPart & { id: string }): Promise<SubstitutePart[]> {
  const ways = await substitutesOf(context, part.id);
  const ids = [part.id, ...ways.flatMap((way) => way.path.map((step) => step.partId))];
  const parts = await context.tx.part.findMany({
    where: { id: { in: ids } },
    select: { id: true, name: true, fastener: true, designedToFail: true },
  });
  const names = new Map(parts.map((one) => [one.id, one.name]));
  return ways.map((way) => {
    const offered = parts.find((one) => one.id === way.partId);
    const { refused, reasons } = offered ? byDesignation(part, offered) : { refused: false, reasons: [] };
    return {
      partId: way.partId,
      name: names.get(way.partId) ?? '',
      kind: 'interchange',
      allowed: !part.designedToFail && !refused && way.contradictedBy.length === 0,
      reasons: [named(way.reasons, names), ...reasons, ...(part.designedToFail ? [onlyEqual] : [])],
    };
  });
}

/** The other fasteners of the catalogue that lie in a bin, judged by the engine's rules; the allowed ones first. */
export async function equivalentFasteners(
  context: OperationContext,
  part: FastenerPart & { id: string },
  joint: Joint,
): Promise<SubstitutePart[]> {
  const wanted = fastenerOf(part);
  if (!wanted) return [];
  const others = await context.tx.part.findMany({
    where: {
      id: { not: part.id },
      archivedAt: null,
      fastener: { not: null },
      stock: { some: { archivedAt: null, quantity: { gt: 0 } } },
    },
    orderBy: { name: 'asc' },
  });
  const ranked = rankSubstitutes(
    wanted,
    others.flatMap((other) => {
      const fastener = fastenerOf(other);
      return fastener ? [{ other, fastener }] : [];
    }),
    joint,
  );
  const allowed = ranked.filter((one) => one.verdict.allowed);
  const refused = ranked.filter((one) => !one.verdict.allowed).slice(0, REFUSED_SHOWN);
  return [...allowed, ...refused].map(({ other, verdict }) => ({
    partId: other.id,
    name: other.name,
    kind: 'equivalentFastener',
    allowed: verdict.allowed,
    reasons: [`${verdict.offered} for ${verdict.wanted}.`, ...verdict.reasons],
  }));
}
