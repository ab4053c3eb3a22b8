/**
 * Which table a head's size comes from. Across flats is data, not a function of diameter: the standards differ. Inch sizes in
 * inches, metric ones in mm. "Dataset" is FsData of the open FreeCAD_FastenersWB project, read file by file; where it and
 * check values §1.2 both have a size they agree, but for ISO 4014 M14, where the dataset has DIN's 22 for ISO 272's 21.
 */
export type FlatsStandard =
  | 'ASME B18.2.1'
  | 'ASME B18.2.1 heavy'
  | 'ASME B18.2.1 flange'
  | 'ASME B18.2.1 square'
  | 'ASME B18.2.2'
  | 'ASME B18.2.2 heavy'
  | 'ASME B18.2.2 flange'
  | 'ASME B18.2.2 square'
  | 'ASME B18.3'
  | 'ISO 272'
  | 'DIN (before ISO 272)'
  | 'JIS small'
  | 'EN 1665'
  | 'ISO 4162'
  | 'ISO 4161'
  | 'DIN 478'
  | 'DIN 557'
  | 'ISO 4762';

interface FlatsTable {
  source: string;
  sizes: Readonly<Record<string, number>>;
}

const DATASET = 'as tabulated in the open dataset FreeCAD_FastenersWB';

/** From 7/8 in up, bolt heads, hex and square nuts are one and a half diameters wide. */
const LARGE = {
  '7/8': 21 / 16,
  '1': 3 / 2,
  '1-1/8': 27 / 16,
  '1-1/4': 15 / 8,
  '1-3/8': 33 / 16,
  '1-1/2': 9 / 4,
};
/** Heavy hex heads and nuts are an eighth wider. */
const HEAVY = {
  '1/2': 7 / 8,
  '5/8': 17 / 16,
  '3/4': 5 / 4,
  '7/8': 23 / 16,
  '1': 13 / 8,
  '1-1/8': 29 / 16,
  '1-1/4': 2,
  '1-3/8': 35 / 16,
  '1-1/2': 19 / 8,
};
const LARGE_METRIC = { M24: 36, M27: 41, M30: 46, M33: 50, M36: 55, M39: 60 };
const SMALL_METRIC = { 'M1.6': 3.2, M2: 4, 'M2.5': 5, M3: 5.5, 'M3.5': 6, M4: 7, M5: 8, M6: 10, M7: 11, M8: 13 };

export const ACROSS_FLATS: Readonly<Record<FlatsStandard, FlatsTable>> = {
  'ASME B18.2.1': {
    source: `ASME B18.2.1 hex cap screws, as reproduced at machinecalcs.com; from 7/8 in ${DATASET}, asmeb18.2.1.6`,
    sizes: {
      '1/4': 7 / 16,
      '5/16': 1 / 2,
      '3/8': 9 / 16,
      '7/16': 5 / 8,
      '1/2': 3 / 4,
      '9/16': 13 / 16,
      '5/8': 15 / 16,
      '3/4': 9 / 8,
      ...LARGE,
    },
  },
  'ASME B18.2.1 heavy': {
    source:
      'ASME B18.2.1 heavy hex, an eighth wider than one and a half diameters: 1/2 as reproduced at machinecalcs.com, the rest from memory',
    sizes: HEAVY,
  },
  'ASME B18.2.1 flange': {
    source: `ASME B18.2.1 hex flange screws, ${DATASET}, asmeb18.2.1.8`,
    sizes: {
      '1/4': 3 / 8,
      '5/16': 1 / 2,
      '3/8': 9 / 16,
      '7/16': 5 / 8,
      '1/2': 3 / 4,
      '5/8': 15 / 16,
      '3/4': 9 / 8,
    },
  },
  'ASME B18.2.1 square': {
    source: `ASME B18.2.1 square bolts, ${DATASET}, asmeb18.2.1.1`,
    sizes: {
      '1/4': 3 / 8,
      '5/16': 1 / 2,
      '3/8': 9 / 16,
      '7/16': 5 / 8,
      '1/2': 3 / 4,
      '5/8': 15 / 16,
      '3/4': 9 / 8,
      ...LARGE,
    },
  },
  'ASME B18.2.2': {
    source:
      'ASME B18.2.2 hex and machine screw nuts, as reproduced at fastenrsc.com and fdocuments.in nutsspec; ' +
      `#0 to #3, #5 and from 7/8 in ${DATASET}, asmeb18.2.2.1 and .4 (largest widths)`,
    sizes: {
      '#0': 5 / 32,
      '#1': 5 / 32,
      '#2': 3 / 16,
      '#3': 3 / 16,
      '#4': 1 / 4,
      '#5': 5 / 16,
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
      ...LARGE,
    },
  },
  'ASME B18.2.2 heavy': {
    source: 'ASME B18.2.2 heavy hex nuts, from memory',
    sizes: { '1/4': 1 / 2, '5/16': 9 / 16, '3/8': 11 / 16, '7/16': 3 / 4, '9/16': 15 / 16, ...HEAVY },
  },
  'ASME B18.2.2 flange': {
    source: `ASME B18.2.2 hex flange nuts, ${DATASET}, asmeb18.2.2.12 (its least widths, one wrench step up)`,
    sizes: {
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
  'ASME B18.2.2 square': {
    source: `ASME B18.2.2 square nuts, ${DATASET}, asmeb18.2.2.2`,
    sizes: {
      '1/4': 7 / 16,
      '5/16': 9 / 16,
      '3/8': 5 / 8,
      '7/16': 3 / 4,
      '1/2': 13 / 16,
      '5/8': 1,
      '3/4': 9 / 8,
      ...LARGE,
    },
  },
  'ASME B18.3': {
    source: `ASME B18.3 socket, as reproduced at rivcut.pages.dev; #0 to #3, #5, 7/16 and from 7/8 in ${DATASET}, asmeb18.3.1a`,
    sizes: {
      '#0': 0.05,
      '#1': 1 / 16,
      '#2': 5 / 64,
      '#3': 5 / 64,
      '#4': 3 / 32,
      '#5': 3 / 32,
      '#6': 7 / 64,
      '#8': 9 / 64,
      '#10': 5 / 32,
      '1/4': 3 / 16,
      '5/16': 1 / 4,
      '3/8': 5 / 16,
      '7/16': 3 / 8,
      '1/2': 3 / 8,
      '5/8': 1 / 2,
      '3/4': 5 / 8,
      '7/8': 3 / 4,
      '1': 3 / 4,
      '1-1/8': 7 / 8,
      '1-1/4': 7 / 8,
      '1-3/8': 1,
      '1-1/2': 1,
    },
  },
  'ISO 272': {
    source:
      'ISO 4014/4017 with ISO 272:1982, as reproduced at machinecalcs.com; ' +
      `below M5 and above M16 ${DATASET}, iso4014head; M7 as DIN 934 there`,
    sizes: { ...SMALL_METRIC, M10: 16, M12: 18, M14: 21, M16: 24, M18: 27, M20: 30, M22: 34, ...LARGE_METRIC },
  },
  'DIN (before ISO 272)': {
    source: `old DIN 931/933, as reproduced at machinecalcs.com; below M5, M7 and above M16 DIN 934 ${DATASET}`,
    sizes: { ...SMALL_METRIC, M10: 17, M12: 19, M14: 22, M16: 24, M18: 27, M20: 30, M22: 32, ...LARGE_METRIC },
  },
  'JIS small': {
    source: 'JIS small series, as reproduced at ficientdesign.com',
    sizes: { M5: 8, M6: 10, M8: 12, M10: 14, M12: 17, M14: 19, M16: 22 },
  },
  'EN 1665': {
    source: `EN 1665 hex flange bolts, heavy series, ${DATASET}, en1665`,
    sizes: { M5: 8, M6: 10, M8: 13, M10: 16, M12: 18, M14: 21, M16: 24, M20: 30 },
  },
  'ISO 4162': {
    source: `ISO 4162 hex flange bolts, small series, ${DATASET}, iso4162`,
    sizes: { M5: 7, M6: 8, M8: 10, M10: 13, M12: 15, M14: 18, M16: 21 },
  },
  'ISO 4161': {
    source: `ISO 4161 hex flange nuts, ${DATASET}, iso4161`,
    sizes: { M5: 8, M6: 10, M8: 13, M10: 15, M12: 18, M14: 21, M16: 24, M20: 30 },
  },
  'DIN 478': {
    source: `DIN 478 square head bolts with collar, ${DATASET}, din478`,
    sizes: { M5: 5, M6: 6, M8: 8, M10: 10, M12: 13, M16: 17, M20: 22, M24: 24 },
  },
  'DIN 557': {
    source:
      'DIN 557 and DIN 562 square nuts: M3 to M10 as reproduced at creativefasteners.co.in, M12 and M16 from memory',
    sizes: { M3: 5.5, M4: 7, M5: 8, M6: 10, M8: 13, M10: 17, M12: 19, M16: 24 },
  },
  'ISO 4762': {
    source:
      `ISO 4762 socket, as reproduced at rivcut.pages.dev; below M3, M14 and above M16 ${DATASET}, iso4762; ` +
      'M18 and M27 DIN 912 as reproduced at creativefasteners.co.in',
    sizes: {
      'M1.6': 1.5,
      M2: 1.5,
      'M2.5': 2,
      M3: 2.5,
      M4: 3,
      M5: 4,
      M6: 5,
      M8: 6,
      M10: 8,
      M12: 10,
      M14: 12,
      M16: 14,
      M18: 14,
      M20: 17,
      M24: 19,
      M27: 19,
      M30: 22,
      M36: 27,
    },
  },
};
