/** Head of a bolt or screw, or kind of nut. */
export type Head =
  | 'hex'
  | 'heavyHex'
  | 'hexFlange'
  | 'square'
  | 'carriage'
  | 'pan'
  | 'flat'
  | 'oval'
  | 'round'
  | 'truss'
  | 'button'
  | 'socketCap'
  | 'setScrew'
  | 'stud'
  | 'wing'
  | 'eye'
  | 'hexNut'
  | 'heavyHexNut'
  | 'lockNut'
  | 'jamNut'
  | 'flangeNut'
  | 'squareNut'
  | 'wingNut';

export type Drive = 'slotted' | 'cross' | 'hexSocket' | 'sixLobe' | 'squareSocket';

export type Finish =
  'plain' | 'zinc' | 'yellowZinc' | 'hotDipGalvanised' | 'blackOxide' | 'phosphate' | 'nickel' | 'chrome';

/** Strength as marked: an SAE grade, an ISO property class, or a plain material without a graded strength. */
export type Grade =
  | 'grade 2'
  | 'grade 5'
  | 'grade 8'
  | '4.6'
  | '4.8'
  | '5.8'
  | '8.8'
  | '9.8'
  | '10.9'
  | '12.9'
  | 'class 8'
  | 'class 10'
  | 'A2-70'
  | 'A4-70'
  | 'stainless'
  | 'brass'
  | 'aluminium'
  | 'nylon';

/** Each value with the words that mean it; the first is the one printed. */
type Words<T extends string> = Readonly<Record<T, readonly string[]>>;

export const HEAD_WORDS: Words<Head> = {
  hex: ['hex', 'hex cap screw', 'hex head', 'hex bolt', 'hexagon'],
  heavyHex: ['heavy hex'],
  hexFlange: ['hex flange', 'flange bolt', 'flanged hex', 'flange'],
  square: ['square head', 'square bolt'],
  carriage: ['carriage', 'round head square neck', 'coach bolt', 'cup square'],
  pan: ['pan', 'pan head'],
  flat: ['flat', 'flat head', 'countersunk'],
  oval: ['oval', 'oval head', 'raised countersunk'],
  round: ['round', 'round head'],
  truss: ['truss', 'truss head'],
  button: ['button', 'button head'],
  socketCap: ['socket cap', 'socket head cap screw', 'socket head', 'cap head'],
  setScrew: ['set screw', 'grub screw'],
  stud: ['stud', 'threaded rod'],
  wing: ['wing screw', 'wing bolt', 'thumb screw'],
  eye: ['eye bolt', 'eye'],
  hexNut: ['hex nut', 'nut'],
  heavyHexNut: ['heavy hex nut'],
  lockNut: ['lock nut', 'locknut', 'prevailing torque nut'],
  jamNut: ['jam nut', 'half nut'],
  flangeNut: ['flange nut', 'flanged nut'],
  squareNut: ['square nut'],
  wingNut: ['wing nut'],
};

export const DRIVE_WORDS: Words<Drive> = {
  slotted: ['slotted', 'slot'],
  cross: ['cross recess', 'cross', 'crosshead'],
  hexSocket: ['hex socket', 'hex key'],
  sixLobe: ['six-lobe', 'six lobe', 'hexalobular'],
  squareSocket: ['square recess', 'square drive'],
};

export const FINISH_WORDS: Words<Finish> = {
  plain: ['plain', 'plain finish', 'uncoated'],
  zinc: ['zinc', 'zinc plated', 'clear zinc', 'zp'],
  yellowZinc: ['yellow zinc', 'zinc yellow'],
  hotDipGalvanised: [
    'hot-dip galvanised',
    'hot-dip galvanized',
    'hot dip galvanised',
    'hot dip galvanized',
    'galvanised',
    'galvanized',
    'hdg',
  ],
  blackOxide: ['black oxide', 'black'],
  phosphate: ['phosphate', 'phosphated'],
  nickel: ['nickel', 'nickel plated'],
  chrome: ['chrome', 'chrome plated', 'chromed'],
};

export const GRADE_WORDS: Words<Grade> = {
  'grade 2': gradeWords(2),
  'grade 5': gradeWords(5),
  'grade 8': gradeWords(8),
  '4.6': classWords('4.6'),
  '4.8': classWords('4.8'),
  '5.8': classWords('5.8'),
  '8.8': classWords('8.8'),
  '9.8': classWords('9.8'),
  '10.9': classWords('10.9'),
  '12.9': classWords('12.9'),
  'class 8': ['class 8'],
  'class 10': ['class 10'],
  'A2-70': ['A2-70'],
  'A4-70': ['A4-70'],
  stainless: ['stainless', 'stainless steel', '18-8', 'ss'],
  brass: ['brass'],
  aluminium: ['aluminium', 'aluminum'],
  nylon: ['nylon'],
};

/** Words that may stand in a designation and say nothing more. */
export const IDLE_WORDS: readonly string[] = ['bolt', 'screw', 'cap screw', 'machine screw', 'head', 'steel', 'finish'];

/** Words for a part that is made to break first. */
export const SHEAR_WORDS: readonly string[] = ['shear', 'shear bolt', 'shear pin', 'shear screw'];

function gradeWords(n: number): string[] {
  return [`grade ${n}`, `gr ${n}`, `gr. ${n}`, `gr.${n}`, `gr${n}`, `sae ${n}`, `sae grade ${n}`, `g${n}`];
}

function classWords(c: string): string[] {
  return [c, `class ${c}`, `property class ${c}`, `cl ${c}`];
}

const NUTS: ReadonlySet<Head> = new Set([
  'hexNut',
  'heavyHexNut',
  'lockNut',
  'jamNut',
  'flangeNut',
  'squareNut',
  'wingNut',
]);

export function isNut(head: Head | null): boolean {
  return head !== null && NUTS.has(head);
}
