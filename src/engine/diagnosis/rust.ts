/** How far rust has gone, in six steps of our own, with what each means for welds, pitting and threads. Common practice, no source. */

export interface RustStep {
  grade: number;
  title: string;
  sentence: string;
  welds: string;
  pitting: string;
  threads: string;
  /** Work on a part so rusted takes so many times as long: bolts that do not turn. A judgement. */
  hoursFactor: number;
}

export const rustScale: readonly RustStep[] = [
  {
    grade: 0,
    title: 'None',
    sentence: 'Paint or plating is whole, and bare metal is bright.',
    welds: 'Weld seams are sound.',
    pitting: 'None.',
    threads: 'Bolts turn by hand once broken loose.',
    hoursFactor: 1,
  },
  {
    grade: 1,
    title: 'A bloom',
    sentence: 'An orange film that wipes or scours off and leaves bright metal.',
    welds: 'Weld seams are sound.',
    pitting: 'None that a fingernail feels.',
    threads: 'Bolts turn with the usual force.',
    hoursFactor: 1,
  },
  {
    grade: 2,
    title: 'A crust',
    sentence: 'A firm brown layer; under it the metal is rough, but of its full thickness.',
    welds: 'Brush the seams bright and look for lines.',
    pitting: 'Shallow: primer fills it.',
    threads: 'Soak overnight with penetrating oil; most bolts come.',
    hoursFactor: 1.15,
  },
  {
    grade: 3,
    title: 'Pitted',
    sentence: 'Scale comes off in flakes and leaves pits that a fingernail catches in.',
    welds: 'Probe the seams; grind and weld anew where a pick goes in.',
    pitting: 'Fill or blend it before paint, or it shows and holds water.',
    threads: 'Expect one bolt in five to break; have new ones.',
    hoursFactor: 1.4,
  },
  {
    grade: 4,
    title: 'Thinned',
    sentence: 'The sheet gives under a hard thumb or has pinholes; edges are ragged.',
    welds: 'Seams have let go in places: cut back to sound metal and weld in a patch.',
    pitting: 'Too deep to fill: the metal is replaced.',
    threads: 'Bolts are drilled or cut out, and threads cut anew.',
    hoursFactor: 1.8,
  },
  {
    grade: 5,
    title: 'Rusted through',
    sentence: 'There are holes a finger goes through, or a seam that carries load is gone.',
    welds: 'Nothing is left to weld to: the part is replaced, or the machine is taken apart.',
    pitting: 'Does not matter any more.',
    threads: 'Gone; whatever they hold hangs on nothing.',
    hoursFactor: 2.2,
  },
];

export const hoursFactorOfRust = (grade: number | null): number => rustScale[grade ?? 0]?.hoursFactor ?? 1;
