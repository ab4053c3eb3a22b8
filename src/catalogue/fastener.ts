/** A fastener's designation: understood, printed in full, and what follows from it. */
import { EngineError } from '../engine/error.js';
import { deriveFacts, type FastenerFacts, parseDesignation, type Surface } from '../engine/fastener/index.js';
import { Invalid } from '../platform/errors.js';

/**
 * @param text as somebody wrote it, `5/16-18 x 1 carriage, grade 5, zinc`
 * @param pointer its place in the input, for the fault
 * @param surface how the threads are when they are tightened
 * @throws Invalid saying what was not understood and where
 */
export function fastenerFacts(text: string, pointer = '', surface: Surface = 'dry') {
  try {
    const { fastener, assumed } = parseDesignation(text);
    const { thread, ...rest } = fastener;
    const facts = deriveFacts(fastener, { surface });
    return { ...thread, ...rest, ...facts, ...rounded(facts), assumed };
  } catch (error) {
    if (error instanceof EngineError) throw new Invalid([{ detail: error.message, pointer }], error.code);
    throw error;
  }
}

/** As exact as anybody can use them: a torque to three figures of which the clamp scatters by a quarter, newtons whole. */
function rounded({
  torque,
  strength,
  loads,
  stressAreaSquareMillimetres: area,
  computedStressAreaSquareMillimetres: computed,
}: FastenerFacts) {
  return {
    stressAreaSquareMillimetres: { ...area, value: to(area.value, 2) },
    computedStressAreaSquareMillimetres: to(computed, 2),
    strength: strength && {
      ...strength,
      proofMegapascals: to(strength.proofMegapascals, 1),
      yieldMegapascals: to(strength.yieldMegapascals, 1),
      tensileMegapascals: to(strength.tensileMegapascals, 1),
    },
    loads: loads && {
      proofNewtons: { ...loads.proofNewtons, value: to(loads.proofNewtons.value, 0) },
      tensileNewtons: { ...loads.tensileNewtons, value: to(loads.tensileNewtons.value, 0) },
      computedProofNewtons: to(loads.computedProofNewtons, 0),
    },
    torque: torque && {
      ...torque,
      newtonMetres: figures(torque.newtonMetres),
      inchPounds: figures(torque.inchPounds),
      footPounds: figures(torque.footPounds),
      clampNewtons: to(torque.clampNewtons, 0),
    },
  };
}

const to = (value: number, decimals: number): number => Number(value.toFixed(decimals));
const figures = (value: number): number => Number(value.toPrecision(3));
