import type { EngineType } from '../platform/database/client/enums.js';

const told: readonly (readonly [EngineType, RegExp])[] = [
  ['twoStroke', /\b(two|2)[- ]?(stroke|cycle)\b/i],
  ['fourStroke', /\b(four|4)[- ]?(stroke|cycle)\b|\bOHV\b/i],
  // An electric starter makes no electric machine.
  ['electric', /\b(battery|cordless|mains)\b|\belectric motor\b/i],
];

/** As recorded, else as the words for the engine say it; null where neither tells. */
export function engineTypeOf(machine: { engineType: EngineType | null; engine: string | null }): EngineType | null {
  if (machine.engineType) return machine.engineType;
  return told.find(([, words]) => machine.engine !== null && words.test(machine.engine))?.[0] ?? null;
}
