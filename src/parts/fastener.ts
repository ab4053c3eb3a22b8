/** A fastener's designation: understood, printed in full, and what follows from it. */
import { EngineError } from '../engine/error.js';
import { deriveFacts, parseDesignation, type Surface } from '../engine/fastener/index.js';
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
    return { ...thread, ...rest, ...deriveFacts(fastener, { surface }), assumed };
  } catch (error) {
    if (error instanceof EngineError) throw new Invalid([{ detail: error.message, pointer }], error.code);
    throw error;
  }
}
