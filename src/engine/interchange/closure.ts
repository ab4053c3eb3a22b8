import { EngineError } from '../error.js';
import { both, type Circumstances, type Conditions, describeConditions, holdsIn, noStricter } from './conditions.js';

/** How a claim is known, the surest first. */
export type Evidence = 'seenFitted' | 'measuredSame' | 'supplierSays';

/** That one part serves for another, or that it does not. */
export interface Claim {
  id: string;
  /** The part that serves… */
  partId: string;
  /** …for this one. */
  servesForId: string;
  bothWays?: boolean;
  conditions?: Conditions;
  evidence: Evidence;
  /** Chance that the claim is right, over 0 up to 1. */
  confidence: number;
  /** True: it was found not to serve. */
  refuted?: boolean;
}

/** One claim as a step of a path, in the direction in which it is used. */
export interface Step {
  claimId: string;
  partId: string;
  servesForId: string;
  evidence: Evidence;
  confidence: number;
}

/** One way in which a part serves for the wanted one. */
export interface Way {
  /** The part that serves. */
  partId: string;
  /** From it, claim by claim, to the wanted part. */
  path: Step[];
  /** Under which all claims of the path hold. */
  conditions: Conditions;
  /** Product of the claims' confidences: they are taken as independent. */
  confidence: number;
  /** True if each step was seen fitted: the weakest form of proof that still counts as proof. */
  seenFitted: boolean;
  /** Claims that say the opposite of some stretch of the path. */
  contradictedBy: string[];
  reasons: string;
}

/**
 * Every part that serves for the wanted one, by any chain of claims, the most trusted first. A part may come with
 * several ways, when a more trusted one holds under stricter conditions than another.
 * @param place leaves out ways whose conditions what is known of it excludes
 * @throws EngineError `bad-claim` for a claim of a part about itself or a confidence outside 0 to 1
 */
export function waysToServe(claims: readonly Claim[], wantedId: string, place: Circumstances = {}): Way[] {
  claims.forEach(checkClaim);
  const into = stepsInto(claims);
  const found = new Map<string, Label[]>([[wantedId, []]]);
  const open: Label[] = [{ partId: wantedId, path: [], conditions: {}, confidence: 1 }];
  for (;;) {
    open.sort((a, b) => a.confidence - b.confidence || b.path.length - a.path.length);
    const label = open.pop();
    if (!label) break;
    const known = found.get(label.partId) ?? [];
    // Labels come in falling confidence, so an earlier one that is no stricter makes this one useless.
    if (known.some((earlier) => noStricter(earlier.conditions, label.conditions))) continue;
    found.set(label.partId, [...known, label]);
    for (const { step, conditions } of into.get(label.partId) ?? []) {
      const joint = both(label.conditions, conditions);
      if (!joint || !holdsIn(joint, place)) continue;
      open.push({
        partId: step.partId,
        path: [step, ...label.path],
        conditions: joint,
        confidence: label.confidence * step.confidence,
      });
    }
  }
  found.delete(wantedId);
  return [...found.values()]
    .flat()
    .map((label) => toWay(label, claims))
    .sort(
      (a, b) =>
        Number(a.contradictedBy.length > 0) - Number(b.contradictedBy.length > 0) || b.confidence - a.confidence,
    );
}

/** A refutation, and the claims that together say the opposite. */
export interface Contradiction {
  refutedBy: string;
  partId: string;
  servesForId: string;
  path: Step[];
  reasons: string;
}

/** Every refuted pair that a chain of claims still asserts under conditions that can hold together. */
export function contradictions(claims: readonly Claim[]): Contradiction[] {
  const asserted = claims.filter((claim) => !claim.refuted);
  return claims
    .filter((claim) => claim.refuted)
    .flatMap((denial) =>
      directions(denial).flatMap(({ partId, servesForId }) =>
        waysToServe(asserted, servesForId)
          .filter((way) => way.partId === partId && both(way.conditions, denial.conditions ?? {}) !== null)
          .map(({ path }) => ({
            refutedBy: denial.id,
            partId,
            servesForId,
            path,
            reasons: `${partId} was found not to serve for ${servesForId} (${deniedBy[denial.evidence]}), yet ${chain(path)}.`,
          })),
      ),
    );
}

interface Label {
  partId: string;
  path: Step[];
  conditions: Conditions;
  confidence: number;
}

function checkClaim({ id, partId, servesForId, confidence }: Claim, k: number): void {
  if (partId === servesForId)
    throw new EngineError('bad-claim', `claim ${id} says that a part serves for itself`, `claims.${k}`);
  if (!(confidence > 0 && confidence <= 1)) {
    throw new EngineError(
      'bad-claim',
      `claim ${id} has a confidence of ${confidence}, outside 0 to 1`,
      `claims.${k}.confidence`,
    );
  }
}

function directions({ partId, servesForId, bothWays }: Claim): { partId: string; servesForId: string }[] {
  return [{ partId, servesForId }, ...(bothWays ? [{ partId: servesForId, servesForId: partId }] : [])];
}

function stepsInto(claims: readonly Claim[]) {
  const into = new Map<string, { step: Step; conditions: Conditions }[]>();
  for (const claim of claims) {
    if (claim.refuted) continue;
    for (const { partId, servesForId } of directions(claim)) {
      const { id: claimId, evidence, confidence, conditions = {} } = claim;
      const step = { claimId, partId, servesForId, evidence, confidence };
      into.set(servesForId, [...(into.get(servesForId) ?? []), { step, conditions }]);
    }
  }
  return into;
}

function toWay({ partId, path, conditions, confidence }: Label, claims: readonly Claim[]): Way {
  const stops = [partId, ...path.map((step) => step.servesForId)];
  const contradictedBy = claims
    .filter(
      (claim) =>
        claim.refuted &&
        both(claim.conditions ?? {}, conditions) &&
        directions(claim).some((denied) => {
          const from = stops.indexOf(denied.partId);
          return from >= 0 && stops.indexOf(denied.servesForId) > from;
        }),
    )
    .map((claim) => claim.id);
  const only = describeConditions(conditions);
  const reasons = [
    `${chain(path)}.`,
    path.length > 1 ? `Inferred over ${path.length} claims; nobody has tried the whole.` : '',
    only ? `Only so: ${only}.` : '',
    contradictedBy.length > 0 ? `But claim ${contradictedBy.join(', ')} says that it does not serve.` : '',
  ]
    .filter(Boolean)
    .join(' ');
  const seenFitted = path.every((step) => step.evidence === 'seenFitted');
  return { partId, path, conditions, confidence, seenFitted, contradictedBy, reasons };
}

function chain(path: readonly Step[]): string {
  return path
    .map(
      (step) =>
        `${step.partId} serves for ${step.servesForId} (${words(step.evidence)}, ` +
        `${Math.round(step.confidence * 100)} %)`,
    )
    .join(', ');
}

function words(evidence: Evidence): string {
  return { seenFitted: 'seen fitted here', measuredSame: 'measured the same', supplierSays: 'the supplier says so' }[
    evidence
  ];
}

/** What the same kinds of evidence say where they speak against it. */
const deniedBy: Record<Evidence, string> = {
  seenFitted: 'tried here',
  measuredSame: 'measured',
  supplierSays: 'the supplier says so',
};
