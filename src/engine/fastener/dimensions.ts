import { INCH, type Thread } from './threads.js';

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
