/**
 * What a machine of each kind should have on it and often lacks when it comes in: looked through once, ticked where it is
 * missing. Common practice, no source.
 */

export interface ChecklistItem {
  code: string;
  title: string;
  /** As the catalogue would call it, and the family that delivery times are learnt by. */
  part: { name: string; family: string; quantity: number; designedToFail?: boolean };
}

type Kind = 'singleStageThrower' | 'twoStageThrower' | 'walkBehindMower' | 'other';
const throwers: readonly Kind[] = ['singleStageThrower', 'twoStageThrower'];
const driven: readonly Kind[] = [...throwers, 'walkBehindMower'];
const every: readonly Kind[] = [...driven, 'other'];

interface Row {
  title: string;
  family: string;
  kinds: readonly Kind[];
  quantity?: number;
  /** Of an engine that has fuel, or oil of its own. */
  engine?: 'fuel' | 'oil';
  designedToFail?: boolean;
}

const table = {
  chuteCrank: { title: 'Chute crank', family: 'control', kinds: ['twoStageThrower'] },
  chuteHandle: { title: 'Chute handle', family: 'control', kinds: ['singleStageThrower'] },
  chuteDeflector: { title: 'Chute deflector', family: 'chute', kinds: throwers },
  cleanOutTool: { title: 'Clean-out tool', family: 'safety', kinds: throwers },
  skidShoes: { title: 'Skid shoe', family: 'wear', kinds: ['twoStageThrower'], quantity: 2 },
  scraperBar: { title: 'Scraper bar', family: 'wear', kinds: throwers },
  paddles: { title: 'Paddle set', family: 'rubber', kinds: ['singleStageThrower'] },
  shearBolts: {
    title: 'Shear bolt',
    family: 'shear bolt',
    kinds: ['twoStageThrower'],
    quantity: 4,
    designedToFail: true,
  },
  blade: { title: 'Blade', family: 'blade', kinds: ['walkBehindMower'] },
  dischargeGuard: { title: 'Discharge guard', family: 'safety', kinds: ['walkBehindMower'] },
  grassBag: { title: 'Grass bag', family: 'bag', kinds: ['walkBehindMower'] },
  key: { title: 'Ignition key', family: 'electrics', kinds: every },
  fuelCap: { title: 'Fuel cap', family: 'engine', kinds: every, engine: 'fuel' },
  dipstick: { title: 'Oil dipstick', family: 'engine', kinds: every, engine: 'oil' },
  recoilHandle: { title: 'Recoil handle', family: 'engine', kinds: every, engine: 'fuel' },
  plugBoot: { title: 'Spark plug boot', family: 'engine', kinds: every, engine: 'fuel' },
  mufflerGuard: { title: 'Muffler guard', family: 'safety', kinds: every, engine: 'fuel' },
  airFilter: { title: 'Air filter with its cover', family: 'engine', kinds: ['walkBehindMower'], engine: 'fuel' },
  beltCover: { title: 'Belt cover', family: 'safety', kinds: driven },
  wheel: { title: 'Wheel', family: 'wheel', kinds: driven },
  handleHardware: { title: 'Handle knobs and bolts', family: 'fastener', kinds: driven },
} as const satisfies Record<string, Row>;

export type ChecklistCode = keyof typeof table;
export const checklistCodes = Object.keys(table) as [ChecklistCode, ...ChecklistCode[]];

export const checklistItem = (code: ChecklistCode): ChecklistItem => {
  const row: Row = table[code];
  return {
    code,
    title: row.title,
    part: {
      name: row.title,
      family: row.family,
      quantity: row.quantity ?? 1,
      ...(row.designedToFail ? { designedToFail: true } : {}),
    },
  };
};

/** The items of a kind of machine; an electric one has no fuel, a two-stroke no oil of its own. */
export function checklistFor(kind: string, engineType: string | null): ChecklistItem[] {
  return checklistCodes
    .filter((code) => {
      const row: Row = table[code];
      if (!(row.kinds as readonly string[]).includes(kind)) return false;
      if (row.engine && engineType === 'electric') return false;
      return !(row.engine === 'oil' && engineType === 'twoStroke');
    })
    .map(checklistItem);
}
