/** Parts that may stand in for another, by what the shop has claimed or by the rules for fasteners. */
import type { Call, Presentable } from '../platform/operation/operation.js';

export interface ServingPart {
  partId: string;
  name: string;
  kind: 'interchange' | 'equivalentFastener';
  allowed: boolean;
  why: string[];
}

const onlyEqual = 'It is made to break before the machine does: only its exact equal may stand in for it.';

/** @param part the row of the part that is wanted */
export async function servingParts(call: Call, part: Presentable): Promise<ServingPart[]> {
  const claims = await call.tx.interchange.findMany({
    where: { retiredAt: null, OR: [{ servesForId: part.id }, { partId: part.id, bothWays: true }] },
    include: { part: true, servesFor: true },
    orderBy: [{ confidence: 'desc' }, { id: 'asc' }],
  });
  return claims.map((claim) => {
    const other = claim.partId === part.id ? claim.servesFor : claim.part;
    return {
      partId: other.id,
      name: other.name,
      kind: 'interchange' as const,
      allowed: !part.designedToFail,
      why: [
        `${other.name} serves for ${part.name} (${claim.evidence}, confidence ${claim.confidence} of 5${claim.provenHere ? ', proven here' : ''}).`,
        ...(claim.conditions ? [`Only so: ${claim.conditions}.`] : []),
        ...(part.designedToFail ? [onlyEqual] : []),
      ],
    };
  });
}
