/** What the designations of two fasteners say of one serving for the other, whatever anybody has claimed. */
import { type Fastener, judgeSubstitute, parseDesignation } from '../engine/fastener/index.js';

export interface FastenerPart {
  fastener: string | null;
  designedToFail: boolean;
}

/** A part's designation understood; the catalogue's word that it is made to break holds even where the designation is silent. */
export function fastenerOf(part: FastenerPart): Fastener | null {
  if (part.fastener === null) return null;
  const { fastener } = parseDesignation(part.fastener);
  return { ...fastener, designedToFail: fastener.designedToFail || part.designedToFail };
}

/** No claim makes these hold: other threads do not screw together, and a shear part breaks at its own load. */
const never: readonly string[] = ['thread', 'shear'];

/**
 * A claim may know better than the rules where these are a matter of judgement, such as length or finish; it is told of them.
 * @returns whether the one can never serve for the other, and why, or what to mind; nothing where either is no fastener
 */
export function byDesignation(wanted: FastenerPart, offered: FastenerPart): { refused: boolean; reasons: string[] } {
  const [want, offer] = [fastenerOf(wanted), fastenerOf(offered)];
  if (!want || !offer) return { refused: false, reasons: [] };
  const against = judgeSubstitute(want, offer).findings.filter((finding) => finding.verdict === 'refused');
  const fatal = against.filter((finding) => never.includes(finding.rule));
  return {
    refused: fatal.length > 0,
    reasons:
      fatal.length > 0 ? fatal.map((finding) => finding.reason) : against.map((finding) => `Mind: ${finding.reason}`),
  };
}
