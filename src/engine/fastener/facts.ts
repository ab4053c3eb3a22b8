import type { Fastener } from './designation.js';
import { type ClearanceHoles, clearanceHoles, type Drill, tapDrill } from './dimensions.js';
import { printDesignation } from './print.js';
import {
  type Cited,
  citedStressArea,
  type Loads,
  loadsOf,
  type Strength,
  strengthOf,
  tensileStressArea,
} from './strength.js';
import { tighteningTorque, type Torque, type TorqueOptions } from './torque.js';
import { isNut } from './vocabulary.js';
import { acrossFlats, type Flats, noWrenchReason } from './wrench.js';

/** Everything that follows from a designation. Lengths mm, areas mm², forces N, stresses MPa. */
export interface FastenerFacts {
  designation: string;
  majorDiameterMillimetres: number;
  pitchMillimetres: number;
  /** As the standard tabulates it where held here, and by the formula. */
  stressAreaSquareMillimetres: Cited;
  computedStressAreaSquareMillimetres: number;
  /** Wrenches that fit, the likeliest first; empty where none is held here. */
  acrossFlats: Flats[];
  /** Why that is empty; none where it is not. */
  wrenchReasons: string[];
  strength: Strength | null;
  loads: Loads | null;
  torque: Torque | null;
  tapDrill: Drill | null;
  clearanceHoles: ClearanceHoles | null;
  cautions: string[];
}

/**
 * @param options how the threads are when tightened; dry when not said
 * @returns derived values, each with its source, and the cautions that go with them
 * @throws EngineError `out-of-range` as `tighteningTorque`
 */
export function deriveFacts(fastener: Fastener, options: TorqueOptions = {}): FastenerFacts {
  const { thread, grade } = fastener;
  const torque = isNut(fastener.head) ? null : tighteningTorque(fastener, options);
  const flats = acrossFlats(fastener);
  return {
    designation: printDesignation(fastener),
    majorDiameterMillimetres: thread.majorDiameterMillimetres,
    pitchMillimetres: thread.pitchMillimetres,
    stressAreaSquareMillimetres: citedStressArea(thread),
    computedStressAreaSquareMillimetres: tensileStressArea(thread),
    acrossFlats: flats,
    wrenchReasons: [noWrenchReason(fastener)].filter((reason) => reason !== null),
    strength: grade && strengthOf(grade, thread),
    loads: loadsOf(fastener),
    torque,
    tapDrill: tapDrill(thread),
    clearanceHoles: clearanceHoles(thread),
    cautions: cautionsFor(fastener, torque, flats),
  };
}

function cautionsFor(fastener: Fastener, torque: Torque | null, flats: readonly Flats[]): string[] {
  const { thread, grade, finish } = fastener;
  const cautions: string[] = [];
  if (fastener.designedToFail) {
    cautions.push(
      'This part is made to break before the machine does: fit only its exact equal, and no computed torque.',
    );
  }
  if (torque) {
    cautions.push(
      'The maker’s manual rules: use its torque where it gives one. This is an estimate for steel on steel; ' +
        'the clamp from a given torque scatters by about a quarter to a third either way.',
      `The nut factor ${torque.nutFactorK} is not a friction coefficient. Oil on threads meant dry overtightens them.`,
      'In aluminium, cast or plastic parts the tapped thread, not the bolt, sets the limit: use less.',
    );
  } else if (!fastener.designedToFail && !isNut(fastener.head)) {
    cautions.push(
      grade === null
        ? 'No grade is stated, so no load or torque is given; an unmarked bolt is at best grade 2 or 4.6.'
        : `No strength is held here for ${grade} at this size, so no load or torque is given.`,
    );
  }
  if (new Set(flats.map((f) => f.tool)).size > 1) {
    cautions.push(
      `Heads of this size differ by standard: ${flats.map((f) => `${f.tool} (${f.standard})`).join(', ')}. Measure.`,
    );
  }
  if (thread.leftHand) cautions.push('Left-hand thread: it loosens clockwise.');
  if (grade === 'stainless' || grade?.startsWith('A')) {
    cautions.push('Stainless threads gall when run fast or dry: use an anti-seize, and a lower torque with it.');
  }
  if (finish === 'hotDipGalvanised') {
    cautions.push(
      'Hot-dip galvanised bolts need nuts tapped oversize, and loads for M8 and M10 are lower (ISO 10684).',
    );
  }
  return cautions;
}
