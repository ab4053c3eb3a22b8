import { EngineError } from '../error.js';
import type { Fastener } from './designation.js';
import { loadsOf, POUND_FORCE } from './strength.js';
import { INCH } from './threads.js';

/** State of the threads when tightened. */
export type Surface = 'dry' | 'oiled' | 'plated';

/**
 * Nut factors K for the short form T = K·D·F. These are not friction coefficients. Dry 0.20, lubricated 0.15 and plated
 * 0.18: the three columns of the published short-form table (check values §1.5).
 */
export const NUT_FACTORS: Readonly<Record<Surface, number>> = { dry: 0.2, oiled: 0.15, plated: 0.18 };

/** Share of the proof load that the short form clamps to, for a joint that is to come apart again. */
export const CLAMP_SHARE = 0.75;

/** How to tighten: a preset, or a nut factor of one's own; and the clamp as a share of the proof load. */
export interface TorqueOptions {
  surface?: Surface;
  nutFactorK?: number;
  clampShare?: number;
}

/** Tightening torque and the clamp it is meant to give. */
export interface Torque {
  newtonMetres: number;
  inchPounds: number;
  footPounds: number;
  clampNewtons: number;
  nutFactorK: number;
  clampShare: number;
  /** What the clamp was taken from. */
  source: string;
}

const NEWTON_METRES_PER_INCH_POUND = (POUND_FORCE * INCH) / 1000;

/**
 * T = K·D·F with F a share of the proof load. Inch threads take proof strength × computed stress area, metric threads
 * the tabulated proof load where held here: the conventions of the published tables that the checks compare with.
 * @returns null for a nut, a part made to fail, or a fastener without a grade whose strength is held here
 * @throws EngineError `out-of-range` for a nut factor outside 0.05–0.5 or a clamp share outside 0–0.9
 */
export function tighteningTorque(fastener: Fastener, options: TorqueOptions = {}): Torque | null {
  const nutFactorK = options.nutFactorK ?? NUT_FACTORS[options.surface ?? 'dry'];
  const clampShare = options.clampShare ?? CLAMP_SHARE;
  if (!(nutFactorK >= 0.05 && nutFactorK <= 0.5)) {
    throw new EngineError('out-of-range', `a nut factor of ${nutFactorK} is outside 0.05 to 0.5`, 'nutFactorK');
  }
  if (!(clampShare > 0 && clampShare <= 0.9)) {
    throw new EngineError(
      'out-of-range',
      `a clamp of ${clampShare} of the proof load is outside 0 to 0.9`,
      'clampShare',
    );
  }
  const loads = fastener.designedToFail ? null : loadsOf(fastener);
  if (!loads) return null;
  const inch = fastener.thread.system === 'inch';
  const clampNewtons = clampShare * (inch ? loads.computedProofNewtons : loads.proofNewtons.value);
  const newtonMetres = (nutFactorK * fastener.thread.majorDiameterMillimetres * clampNewtons) / 1000;
  const inchPounds = newtonMetres / NEWTON_METRES_PER_INCH_POUND;
  const source = inch ? 'proof strength × stress area, SAE J429' : loads.proofNewtons.source;
  return { newtonMetres, inchPounds, footPounds: inchPounds / 12, clampNewtons, nutFactorK, clampShare, source };
}
