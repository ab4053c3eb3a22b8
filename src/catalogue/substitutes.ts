/** Parts that may stand in for another: by what the shop has claimed, or by the rules for fasteners. */
import { type Joint, rankSubstitutes } from '../engine/fastener/index.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { byDesignation, fastenerOf, type FastenerPart } from './fastener-verdict.js';
import { named, onlyEqual, waysFor } from './substitutes.queries.js';

export interface ServingPart {
  partId: string;
  name: string;
  kind: 'interchange' | 'equivalentFastener';
  allowed: boolean;
  why: string[];
}

/** Refused ones are shown so that nobody asks for them again; the nearest are enough. */
const REFUSED_SHOWN = 5;

/**
 * @param part the row of the part that is wanted
 * @param joint what the joint asks for, for fasteners
 */
export async function servingParts(call: Call, part: Presentable, joint: Joint = {}): Promise<ServingPart[]> {
  const claimed = await claimedParts(call, part);
  const equivalents = await equivalentFasteners(call, part, joint);
  return [...claimed, ...equivalents.filter((one) => !claimed.some((claim) => claim.partId === one.partId))];
}

async function claimedParts(call: Call, part: Presentable): Promise<ServingPart[]> {
  const ways = await waysFor(call, part.id);
  const ids = [part.id as string, ...ways.flatMap((way) => way.path.map((step) => step.partId))];
  const parts = await call.tx.part.findMany({
    where: { id: { in: ids } },
    select: { id: true, name: true, fastener: true, designedToFail: true },
  });
  const names = new Map(parts.map((one) => [one.id, one.name]));
  return ways.map((way) => {
    const offered = parts.find((one) => one.id === way.partId);
    const { refused, why } = offered ? byDesignation(part as FastenerPart, offered) : { refused: false, why: [] };
    return {
      partId: way.partId,
      name: names.get(way.partId) ?? '',
      kind: 'interchange',
      allowed: !part.designedToFail && !refused && way.contradictedBy.length === 0,
      why: [named(way.why, names), ...why, ...(part.designedToFail ? [onlyEqual] : [])],
    };
  });
}

/** The other fasteners of the catalogue that lie in a bin, judged by the engine's rules; the allowed ones first. */
export async function equivalentFasteners(call: Call, part: Presentable, joint: Joint): Promise<ServingPart[]> {
  const wanted = fastenerOf(part);
  if (!wanted) return [];
  const others = await call.tx.part.findMany({
    where: {
      id: { not: part.id },
      retiredAt: null,
      fastener: { not: null },
      stock: { some: { retiredAt: null, quantity: { gt: 0 } } },
    },
    orderBy: { name: 'asc' },
  });
  const ranked = rankSubstitutes(
    wanted,
    others.map((other) => ({ other, fastener: fastenerOf(other)! })),
    joint,
  );
  const allowed = ranked.filter((one) => one.verdict.allowed);
  const refused = ranked.filter((one) => !one.verdict.allowed).slice(0, REFUSED_SHOWN);
  return [...allowed, ...refused].map(({ other, verdict }) => ({
    partId: other.id,
    name: other.name,
    kind: 'equivalentFastener',
    allowed: verdict.allowed,
    why: [`${verdict.offered} for ${verdict.wanted}.`, ...verdict.reasons],
  }));
}
