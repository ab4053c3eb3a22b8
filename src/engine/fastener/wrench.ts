import type { Fastener } from './designation.js';
import { printInches } from './number.js';
import { INCH, type Thread } from './threads.js';
import { type Head, HEAD_WORDS } from './vocabulary.js';
import { ACROSS_FLATS, type FlatsStandard } from './wrench-tables.js';

/** Width across flats, or of the key for a socket, with the tool that fits. */
export interface Flats {
  standard: FlatsStandard;
  millimetres: number;
  /** The tool as it is marked: '7/16 in', '13 mm'. */
  tool: string;
  source: string;
}

type Turned = Pick<Fastener, 'thread' | 'head' | 'standard'>;

/**
 * Wrenches that fit the head, the likeliest first. A metric hex head without a standard may be any of three.
 * Empty where no table has the size, or the head takes no wrench; `noWrenchReason` says which.
 */
export function acrossFlats({ thread, head, standard }: Turned): Flats[] {
  const { size, system } = thread;
  return tablesFor(system, head, standard).flatMap((name) => {
    const { sizes, source } = ACROSS_FLATS[name];
    const value = sizes[size];
    return value === undefined ? [] : [flats(system, value, name, source)];
  });
}

function flats(system: Thread['system'], value: number, standard: FlatsStandard, source: string): Flats {
  return system === 'inch'
    ? { standard, millimetres: value * INCH, tool: `${printInches(value)} in`, source }
    : { standard, millimetres: value, tool: `${value} mm`, source };
}

/** Why no wrench can be named, in a sentence; null where one can. */
export function noWrenchReason(fastener: Turned): string | null {
  const { thread, head, standard } = fastener;
  if (acrossFlats(fastener).length > 0) return null;
  if (head === null)
    return (
      'The designation names no head, and the wrench follows from it: ' +
      'add hex, hex flange, square head, socket cap, or the kind of nut.'
    );
  const driven = DRIVEN[head];
  if (driven) return driven;
  const unit = thread.system === 'inch' ? 'inches' : 'millimetres';
  const tables = tablesFor(thread.system, head, standard);
  return tables.length === 0
    ? `No table of ${HEAD_WORDS[head][0]} sizes in ${unit} is held here: measure across the flats.`
    : `${tables.join(', ')} has no row for ${thread.size} here: measure across the flats.`;
}

const recess = 'It is turned by a driver or a key in its recess, not by a wrench on flats.';
const byHand = 'It is turned by hand.';
/** Heads that a wrench on flats does not turn. */
const DRIVEN: Partial<Record<Head, string>> = {
  carriage: 'A carriage bolt has no flats: its square neck holds it, and the wrench goes on the nut.',
  pan: recess,
  flat: recess,
  oval: recess,
  round: recess,
  truss: recess,
  button: recess,
  setScrew: recess,
  stud: 'A stud has no head: the wrench goes on its nut.',
  wing: byHand,
  wingNut: byHand,
  eye: 'An eye bolt is turned by its eye, and the wrench goes on its nut.',
};

function tablesFor(system: Thread['system'], head: Head | null, standard: string | null): FlatsStandard[] {
  const inch = system === 'inch';
  switch (head) {
    case 'socketCap':
      return [inch ? 'ASME B18.3' : 'ISO 4762'];
    case 'heavyHex':
      return inch ? ['ASME B18.2.1 heavy'] : [];
    case 'heavyHexNut':
      return inch ? ['ASME B18.2.2 heavy'] : [];
    case 'hexFlange':
      return inch ? ['ASME B18.2.1 flange'] : flangeTables(standard);
    case 'flangeNut':
      return [inch ? 'ASME B18.2.2 flange' : 'ISO 4161'];
    case 'square':
      return [inch ? 'ASME B18.2.1 square' : 'DIN 478'];
    case 'squareNut':
      return [inch ? 'ASME B18.2.2 square' : 'DIN 557'];
    case 'hex':
      return inch ? ['ASME B18.2.1'] : hexTables(standard);
    case 'hexNut':
    case 'lockNut':
    case 'jamNut':
      return inch ? ['ASME B18.2.2'] : hexTables(standard);
    default:
      return [];
  }
}

function hexTables(standard: string | null): FlatsStandard[] {
  if (standard?.startsWith('JIS')) return ['JIS small'];
  if (standard && /^DIN (931|933|934|960|961)$/.test(standard)) return ['DIN (before ISO 272)', 'ISO 272'];
  return standard?.startsWith('ISO') ? ['ISO 272'] : ['ISO 272', 'DIN (before ISO 272)', 'JIS small'];
}

function flangeTables(standard: string | null): FlatsStandard[] {
  if (standard && /^ISO (4162|15071|15072)$/.test(standard)) return ['ISO 4162'];
  return standard === 'EN 1665' ? ['EN 1665'] : ['EN 1665', 'ISO 4162'];
}
