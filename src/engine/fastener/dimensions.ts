import type { Fastener } from './designation.js';
import { printInches } from './number.js';
import { INCH, type Thread } from './threads.js';
import { type Head, isNut } from './vocabulary.js';

/** Which table a head's size comes from. Across flats is data, not a function of diameter: the standards differ. */
export type FlatsStandard =
  'ASME B18.2.1' | 'ASME B18.2.1 heavy' | 'ASME B18.2.2' | 'ISO 272' | 'DIN (before ISO 272)' | 'JIS small';

/** Width across flats, or of the key for a socket, with the tool that fits. */
export interface Flats {
  standard: FlatsStandard | string;
  millimetres: number;
  /** The tool as it is marked: '7/16 in', '13 mm'. */
  tool: string;
  source: string;
}

// Check values §1.2, except where said otherwise.
const ACROSS_FLATS: Readonly<Record<FlatsStandard, { source: string; sizes: Readonly<Record<string, number>> }>> = {
  'ASME B18.2.1': {
    source: 'ASME B18.2.1 hex cap screws, as reproduced at machinecalcs.com',
    sizes: {
      '1/4': 7 / 16,
      '5/16': 1 / 2,
      '3/8': 9 / 16,
      '7/16': 5 / 8,
      '1/2': 3 / 4,
      '9/16': 13 / 16,
      '5/8': 15 / 16,
      '3/4': 9 / 8,
    },
  },
  'ASME B18.2.1 heavy': {
    source: 'ASME B18.2.1 heavy hex, one step larger, as reproduced at machinecalcs.com',
    sizes: { '1/2': 7 / 8 },
  },
  'ASME B18.2.2': {
    source: 'ASME B18.2.2 hex and machine screw nuts, as reproduced at fastenrsc.com and fdocuments.in nutsspec',
    sizes: {
      '#4': 1 / 4,
      '#6': 5 / 16,
      '#8': 11 / 32,
      '#10': 3 / 8,
      '#12': 7 / 16,
      '1/4': 7 / 16,
      '5/16': 1 / 2,
      '3/8': 9 / 16,
      '7/16': 11 / 16,
      '1/2': 3 / 4,
      '9/16': 7 / 8,
      '5/8': 15 / 16,
      '3/4': 9 / 8,
    },
  },
  'ISO 272': {
    source: 'ISO 4014/4017 with ISO 272:1982, as reproduced at machinecalcs.com',
    sizes: { M5: 8, M6: 10, M8: 13, M10: 16, M12: 18, M14: 21, M16: 24 },
  },
  'DIN (before ISO 272)': {
    source: 'old DIN 931/933, as reproduced at machinecalcs.com',
    sizes: { M5: 8, M6: 10, M8: 13, M10: 17, M12: 19, M14: 22, M16: 24 },
  },
  'JIS small': {
    source: 'JIS small series, as reproduced at ficientdesign.com',
    sizes: { M5: 8, M6: 10, M8: 12, M10: 14, M12: 17, M14: 19, M16: 22 },
  },
};

/** Hex key for socket cap screws: ASME B18.3 and ISO 4762, as reproduced at rivcut.pages.dev. */
const SOCKET_KEYS: Readonly<Record<string, number>> = {
  '#4': 3 / 32,
  '#6': 7 / 64,
  '#8': 9 / 64,
  '#10': 5 / 32,
  '1/4': 3 / 16,
  '5/16': 1 / 4,
  '3/8': 5 / 16,
  '1/2': 3 / 8,
  '5/8': 1 / 2,
  '3/4': 5 / 8,
  M3: 2.5,
  M4: 3,
  M5: 4,
  M6: 5,
  M8: 6,
  M10: 8,
  M12: 10,
  M16: 14,
};

/**
 * Wrenches that fit the head, the likeliest first. A metric hex head without a standard may be any of three.
 * Empty where no table is held here, or the head takes no wrench.
 */
export function acrossFlats({ thread, head, standard }: Pick<Fastener, 'thread' | 'head' | 'standard'>): Flats[] {
  const { size, system } = thread;
  if (head === 'socketCap') {
    const key = SOCKET_KEYS[size];
    const from = system === 'inch' ? 'ASME B18.3' : 'ISO 4762';
    return key === undefined ? [] : [flats(system, key, from, `${from} socket, as reproduced at rivcut.pages.dev`)];
  }
  return tablesFor(system, head, standard).flatMap((name) => {
    const value = ACROSS_FLATS[name].sizes[size];
    return value === undefined ? [] : [flats(system, value, name, ACROSS_FLATS[name].source)];
  });
}

function flats(system: Thread['system'], value: number, standard: string, source: string): Flats {
  return system === 'inch'
    ? { standard, millimetres: value * INCH, tool: `${printInches(value)} in`, source }
    : { standard, millimetres: value, tool: `${value} mm`, source };
}

function tablesFor(system: Thread['system'], head: Head | null, standard: string | null): FlatsStandard[] {
  const plainNut = head === 'hexNut' || head === 'lockNut' || head === 'jamNut';
  if (head === 'heavyHex' || head === 'heavyHexNut') return system === 'inch' ? ['ASME B18.2.1 heavy'] : [];
  if (head !== 'hex' && !plainNut) return [];
  if (system === 'inch') return [isNut(head) ? 'ASME B18.2.2' : 'ASME B18.2.1'];
  if (standard?.startsWith('JIS')) return ['JIS small'];
  if (standard && /^DIN (931|933|934|960|961)$/.test(standard)) return ['DIN (before ISO 272)', 'ISO 272'];
  return standard?.startsWith('ISO') ? ['ISO 272'] : ['ISO 272', 'DIN (before ISO 272)', 'JIS small'];
}

/** A drill by diameter in mm and by the name it is sold under. */
export interface Drill {
  millimetres: number;
  name: string;
  source: string;
}

const TAP_SOURCE = 'tap drill chart for 75 % thread at medesign.seas.upenn.edu and decimaltoinches.pages.dev';

/** Inch tap drills: name and inches. */
const TAP_DRILLS: Readonly<Record<string, readonly [string, number]>> = {
  '#4-40': ['#43', 0.089],
  '#6-32': ['#36', 0.1065],
  '#8-32': ['#29', 0.136],
  '#10-24': ['#25', 0.1495],
  '#10-32': ['#21', 0.159],
  '#12-24': ['#16', 0.177],
  '1/4-20': ['#7', 0.201],
  '1/4-28': ['#3', 0.213],
  '5/16-18': ['F', 0.257],
  '5/16-24': ['I', 0.272],
  '3/8-16': ['5/16 in', 0.3125],
  '3/8-24': ['Q', 0.332],
  '7/16-14': ['U', 0.368],
  '7/16-20': ['25/64 in', 0.390625],
  '1/2-13': ['27/64 in', 0.421875],
  '1/2-20': ['29/64 in', 0.453125],
  '5/8-11': ['17/32 in', 0.53125],
  '3/4-10': ['21/32 in', 0.65625],
};

/** The drill to bore before tapping; for metric threads diameter less pitch, as the trade does. Null if not held here. */
export function tapDrill(thread: Thread): Drill | null {
  if (thread.system === 'metric') {
    const millimetres = Math.round((thread.majorDiameterMillimetres - thread.pitchMillimetres) * 10) / 10;
    return { millimetres, name: `${millimetres} mm`, source: 'diameter less pitch, to 0.1 mm; common practice' };
  }
  const drill = TAP_DRILLS[`${thread.size}-${thread.threadsPerInch}`];
  return drill ? { millimetres: drill[1] * INCH, name: drill[0], source: TAP_SOURCE } : null;
}

/** Clearance holes, close and free, in mm. */
export interface ClearanceHoles {
  close: Drill;
  free: Drill;
}

const CLEARANCE_SOURCE = 'clearance drill chart at medesign.seas.upenn.edu and utilitiesbunker.com';

const INCH_CLEARANCE: Readonly<Record<string, readonly [string, number, string, number]>> = {
  '#4': ['#32', 0.116, '#30', 0.1285],
  '#6': ['#27', 0.144, '#25', 0.1495],
  '#8': ['#18', 0.1695, '#16', 0.177],
  '#10': ['#9', 0.196, '#7', 0.201],
  '#12': ['#2', 0.221, '#1', 0.228],
  '1/4': ['F', 0.257, 'H', 0.266],
  '5/16': ['P', 0.323, 'Q', 0.332],
  '3/8': ['W', 0.386, 'X', 0.397],
  '7/16': ['29/64 in', 0.453125, '15/32 in', 0.46875],
  '1/2': ['33/64 in', 0.515625, '17/32 in', 0.53125],
};

/** ISO 273 fine and medium series in mm, as reproduced at engineeringhardware.com. */
const METRIC_CLEARANCE: Readonly<Record<string, readonly [number, number]>> = {
  'M1.6': [1.7, 1.8],
  M2: [2.2, 2.4],
  'M2.5': [2.7, 2.9],
  M3: [3.2, 3.4],
  'M3.5': [3.7, 3.9],
  M4: [4.3, 4.5],
  M5: [5.3, 5.5],
  M6: [6.4, 6.6],
  M7: [7.4, 7.6],
  M8: [8.4, 9],
  M10: [10.5, 11],
  M12: [13, 13.5],
  M14: [15, 15.5],
  M16: [17, 17.5],
};

/** Holes that let the thread pass: a close and a free fit. Null if not held here. */
export function clearanceHoles({ size, system }: Thread): ClearanceHoles | null {
  if (system === 'metric') {
    const pair = METRIC_CLEARANCE[size];
    if (!pair) return null;
    const hole = (millimetres: number) => ({
      millimetres,
      name: `${millimetres} mm`,
      source: 'ISO 273, as reproduced',
    });
    return { close: hole(pair[0]), free: hole(pair[1]) };
  }
  const row = INCH_CLEARANCE[size];
  if (!row) return null;
  const [closeName, close, freeName, free] = row;
  return {
    close: { millimetres: close * INCH, name: closeName, source: CLEARANCE_SOURCE },
    free: { millimetres: free * INCH, name: freeName, source: CLEARANCE_SOURCE },
  };
}
