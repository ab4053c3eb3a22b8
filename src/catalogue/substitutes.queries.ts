/** What serves for a part: the shop's claims and the makers' supersessions, closed over chains by the engine. */
import { z } from 'zod';
import {
  type Circumstances,
  type Claim,
  type Conditions,
  type Contradiction,
  contradictions,
  describeConditions,
  type Step,
  type Supersession,
  supersessionChain,
  type Way,
  waysToServe,
} from '../engine/interchange/index.js';
import { at } from '../engine/look-up.js';
import { NotFound } from '../platform/errors.js';
import { type OperationContext, query } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { id, text } from '../platform/shapes.js';
import { partsByIds } from './catalogue.queries.js';
import { byDesignation } from './fastener-verdict.js';
import { Substitutes, year } from './substitutes.shapes.js';

/** What a confidence from a guess to certainty is computed as; nothing anybody claims is quite certain. */
const probabilities = [0, 0.2, 0.4, 0.6, 0.8, 0.95] as const;

const superseded = 'superseded:';

/** The links of the makers' catalogues. */
export async function supersessions(context: OperationContext): Promise<Supersession[]> {
  const rows = await context.tx.part.findMany({
    where: { supersededById: { not: null } },
    select: { id: true, supersededById: true },
  });
  return rows.flatMap(({ id: oldId, supersededById: newId }) => (newId === null ? [] : [{ oldId, newId }]));
}

/** Every standing claim. That a maker sells one number in place of another counts as its word that the new one serves. */
async function claimsOf(context: OperationContext): Promise<{ claims: Claim[]; links: Supersession[] }> {
  const rows = await context.tx.interchange.findMany({
    where: { archivedAt: null },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const links = await supersessions(context);
  return {
    links,
    claims: [
      ...rows.map((row): Claim => ({
        ...row,
        conditions: conditionsOf(row),
        confidence: at(probabilities, row.confidence),
      })),
      ...links.map(({ oldId, newId }): Claim => ({
        id: `${superseded}${oldId}`,
        partId: newId,
        servesForId: oldId,
        evidence: 'supplierSays',
        confidence: at(probabilities, 5),
      })),
    ],
  };
}

const conditionsOf = ({ position, mounting, fromYear, toYear, conditions }: Stored<'interchange'>): Conditions => ({
  position,
  mounting,
  fromYear,
  toYear,
  ...(conditions ? { notes: [conditions] } : {}),
});

/** Every way in which other parts serve for one, the most trusted first: two statements. */
export async function substitutesOf(
  context: OperationContext,
  partId: string,
  place: Circumstances = {},
): Promise<Way[]> {
  return waysToServe((await claimsOf(context)).claims, partId, place);
}

/**
 * Does a part stand in for another by the claims, with none against it, nor its thread? A part that is made to break is
 * stood in for by nothing.
 */
export async function substituteVerdict(
  context: OperationContext,
  partId: string,
  servesForId: string,
): Promise<boolean> {
  const parts = await context.tx.part.findMany({
    where: { id: { in: [partId, servesForId] } },
    select: { id: true, fastener: true, designedToFail: true },
  });
  const [wanted, offered] = [servesForId, partId].map((one) => parts.find((part) => part.id === one));
  if (!wanted || !offered || wanted.designedToFail || byDesignation(wanted, offered).refused) return false;
  return (await substitutesOf(context, servesForId)).some(
    (way) => way.partId === partId && way.contradictedBy.length === 0,
  );
}

const anId = /[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}/g;
/** The engine tells of parts by id; people know them by name. */
export const named = (sentence: string, names: ReadonlyMap<string, string>): string =>
  sentence.replaceAll(superseded, '').replace(anId, (one) => names.get(one) ?? one);

const stepOf = ({ claimId, ...step }: Step) => ({ ...step, claimId: claimId.startsWith(superseded) ? null : claimId });
const touches = ({ partId, servesForId, path }: Contradiction, wantedId: string): boolean =>
  partId === wantedId || servesForId === wantedId || path.some((step) => step.servesForId === wantedId);

async function substitutesFor(context: OperationContext, partId: string, place: Circumstances) {
  const [wanted] = await partsByIds(context, [partId]);
  if (!wanted) throw new NotFound('part', partId);
  const { claims, links } = await claimsOf(context);
  const ways = waysToServe(claims, partId, place);
  const against = contradictions(claims).filter((one) => touches(one, partId));
  const told = new Set([
    partId,
    ...ways.flatMap((way) => way.path.map((step) => step.partId)),
    ...against.flatMap((one) => [one.partId, ...one.path.flatMap((step) => [step.partId, step.servesForId])]),
  ]);
  const parts = new Map((await partsByIds(context, [...told])).map((part) => [part.id, part]));
  const names = new Map([...parts].map(([one, part]) => [one, part.name]));
  return {
    partId,
    ways: ways.map((way) => {
      const part = parts.get(way.partId);
      const { refused, reasons } = part ? byDesignation(wanted, part) : { refused: false, reasons: [] };
      return {
        ...way,
        path: way.path.map(stepOf),
        partName: names.get(way.partId) ?? '',
        allowed: !wanted.designedToFail && !refused && way.contradictedBy.length === 0,
        quantityFree: part?.quantityFree ?? 0,
        conditions: describeConditions(way.conditions) || null,
        reasons: [named(way.reasons, names), ...reasons, ...(wanted.designedToFail ? [onlyEqual] : [])],
      };
    }),
    contradictions: against.map((one) => ({
      ...one,
      path: one.path.map(stepOf),
      reasons: [named(one.reasons, names)],
    })),
    supersession: supersessionChain(links, partId),
  };
}

export const onlyEqual = 'It is made to break before the machine does: only its exact equal may stand in for it.';

export const substituteQueries = [
  query({
    name: 'substitutesFor',
    summary: 'What serves for a part by any chain of claims, with the path, and which claims contradict one another',
    rest: { method: 'GET', path: '/parts/:id/substitutes' },
    input: z.strictObject({ id, position: text(80).nullish(), mounting: text(80).nullish(), year }),
    output: Substitutes,
    run: (context, { id: partId, ...place }) => substitutesFor(context, partId, place),
  }),
];
