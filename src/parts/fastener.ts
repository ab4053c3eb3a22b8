/** A part's fastener designation: understood, printed in full, and what follows from it. */
import { EngineError } from '../engine/error.js';
import { parseDesignation, printDesignation } from '../engine/fastener/index.js';
import { Invalid } from '../platform/errors.js';

/**
 * @param text as somebody wrote it, `5/16-18 x 1 carriage, grade 5, zinc`
 * @param pointer its place in the input, for the fault
 * @throws Invalid saying what was not understood and where
 */
export function fastenerFacts(text: string, pointer = '') {
  try {
    const { fastener, assumed } = parseDesignation(text);
    const { thread, ...rest } = fastener;
    return { designation: printDesignation(fastener), ...thread, ...rest, assumed };
  } catch (error) {
    if (error instanceof EngineError) throw new Invalid([{ detail: error.message, pointer }], error.code);
    throw error;
  }
}
