/** The demo shop: people, places, suppliers, parts, paint. All invented; prices and times are plausible, not observed. */
import type { z } from 'zod';
import type { ShopCreate } from '../src/shop/shop.shapes.js';
import type { Loader } from './loader.js';

export const demoShop: z.output<typeof ShopCreate> = {
  name: 'Alder Lane Machines',
  currency: 'CAD',
  timeZone: 'Etc/GMT+5',
  latitude: 46.2,
  longitude: -79.9,
  unitSystem: 'metric',
  hourlyValue: '9.00',
  spaceCostPerDay: '0.35',
  haulCostPerKilometre: '0.42',
  taxScheme: 'none',
  taxRatePercent: 0,
  openingHours: [2, 3, 4, 5, 6].map((weekday) => ({ weekday, opens: '09:00', closes: '15:00' })),
  snowThresholdMillimetres: 25,
  readinessMarginDays: 14,
  seasonEndMonthDay: '03-15',
  assemblyWaitDays: 14,
  enquiryElasticity: 4,
  salesTaxBasis: 'invoice' as const,
  marginAccounting: 'item' as const,
  taxPeriodMonths: 3,
  tradeInLowersTax: false,
  maxWaits: [{ fromKind: 'derust', toKind: 'prime', maxMinutes: 1440 }],
};

const weekdays = (days: number[], opens: string, closes: string) => days.map((weekday) => ({ weekday, opens, closes }));

export interface DemoShop {
  people: { mira: string; odran: string };
  places: { bench: string; spray: string; rack: string };
  suppliers: Record<'tarn' | 'kell' | 'brack', string>;
  parts: Record<DemoPart, string>;
  coats: { primer: string; colour: string; clear: string };
}

export type DemoPart =
  | 'belt'
  | 'paddles'
  | 'scraperBar'
  | 'scraperBolt'
  | 'carburettorKit'
  | 'plug'
  | 'shearBolt'
  | 'bushing'
  | 'recoilRope'
  | 'blade'
  | 'oil'
  | 'muffler';

/** Usual price of one, and from whom. */
export const partPrices: Record<DemoPart, { price: string; supplier: keyof DemoShop['suppliers'] }> = {
  belt: { price: '17.50', supplier: 'kell' },
  paddles: { price: '31.00', supplier: 'kell' },
  scraperBar: { price: '24.80', supplier: 'kell' },
  scraperBolt: { price: '0.85', supplier: 'tarn' },
  carburettorKit: { price: '13.40', supplier: 'brack' },
  plug: { price: '4.20', supplier: 'brack' },
  shearBolt: { price: '2.10', supplier: 'kell' },
  bushing: { price: '6.30', supplier: 'tarn' },
  recoilRope: { price: '3.90', supplier: 'brack' },
  blade: { price: '18.90', supplier: 'brack' },
  oil: { price: '7.80', supplier: 'brack' },
  muffler: { price: '22.60', supplier: 'kell' },
};

export async function loadShop(load: Loader): Promise<DemoShop> {
  const first = load.day(780);
  const person = async (name: string, weeklyHours: object) => {
    const { id } = await load.do('createPerson', { name, weeklyHours }, first);
    load.addPerson(id);
    return id as string;
  };
  const people = {
    mira: await person('Mira Aldane', weekdays([2, 3, 4, 5, 6], '09:00', '14:00')),
    odran: await person('Odran Pell', weekdays([4, 6], '09:00', '15:00')),
  };
  const place = async (input: object) => (await load.do('createPlace', input, first)).id as string;
  const places = {
    bench: await place({ name: 'Long bench', kind: 'bench', capacity: 2, shelter: 'unheated' }),
    spray: await place({ name: 'Lean-to', kind: 'sprayArea', capacity: 1, shelter: 'unheated' }),
    rack: await place({ name: 'Loft rack', kind: 'cureRack', capacity: 6, shelter: 'unheated' }),
  };
  const supplier = async (name: string, notes: string) =>
    (await load.do('createSupplier', { name, notes }, first)).id as string;
  const suppliers = {
    tarn: await supplier('Tarn Fasteners', 'Bolts by the piece. Quick, unless it has to be made.'),
    kell: await supplier('Kell & Daughter', 'Parts for Norvane and Pikestone machines.'),
    brack: await supplier('Brackwater Small Engine', 'Engine parts and consumables.'),
  };
  return { people, places, suppliers, parts: await loadParts(load, first), coats: await loadPaint(load, first) };
}

async function loadParts(load: Loader, on: string): Promise<Record<DemoPart, string>> {
  const throwers = ['singleStageThrower', 'twoStageThrower'];
  const part = async (input: object) => (await load.do('createPart', input, on)).id as string;
  const parts: Record<DemoPart, string> = {
    belt: await part({
      name: 'Auger belt, 33 in',
      family: 'belt',
      makerNumbers: [{ maker: 'Norvane', number: 'N-3302' }],
      fits: throwers,
    }),
    paddles: await part({
      name: 'Paddle pair, 21 in rotor',
      family: 'rubber',
      makerNumbers: [{ maker: 'Norvane', number: 'N-2117' }],
      fits: ['singleStageThrower'],
    }),
    scraperBar: await part({
      name: 'Scraper bar, 21 in',
      family: 'sheet metal',
      makerNumbers: [
        { maker: 'Norvane', number: 'N-2140' },
        { maker: 'Pikestone', number: 'P-871' },
      ],
      fits: ['singleStageThrower'],
    }),
    scraperBolt: await part({
      name: 'Scraper bar bolt',
      family: 'fastener',
      fastener: '5/16-18 x 1 carriage, grade 5, zinc',
      fits: throwers,
    }),
    carburettorKit: await part({ name: 'Carburettor kit', family: 'engine', fits: throwers }),
    plug: await part({ name: 'Spark plug', family: 'engine', fits: [...throwers, 'walkBehindMower'], reorderPoint: 3 }),
    shearBolt: await part({
      name: 'Shear bolt, auger',
      family: 'shear bolt',
      designedToFail: true,
      makerNumbers: [{ maker: 'Hallgrim', number: 'H-0440' }],
      fits: ['twoStageThrower'],
    }),
    bushing: await part({ name: 'Rotor bushing', family: 'bearing', fits: throwers }),
    recoilRope: await part({ name: 'Recoil rope, 4 mm', family: 'engine', fits: [...throwers, 'walkBehindMower'] }),
    blade: await part({ name: 'Mower blade, 21 in', family: 'blade', fits: ['walkBehindMower'] }),
    oil: await part({
      name: 'Engine oil, 1 L',
      family: 'consumable',
      fits: ['twoStageThrower', 'walkBehindMower'],
      reorderPoint: 2,
    }),
    muffler: await part({
      name: 'Muffler',
      family: 'engine',
      makerNumbers: [{ maker: 'Pikestone', number: 'P-402' }],
      fits: throwers,
    }),
  };
  await load.do('createStock', { partId: parts.plug, bin: 'A1', quantity: 6, unitCost: '4.20' }, on);
  await load.do('createStock', { partId: parts.oil, bin: 'A2', quantity: 5, unitCost: '7.80' }, on);
  await load.do('createStock', { partId: parts.recoilRope, bin: 'A3', quantity: 4, unitCost: '3.90' }, on);
  return parts;
}

async function loadPaint(load: Loader, on: string) {
  const common = {
    dryFilmMicrometres: 30,
    minCelsius: 8,
    maxCelsius: 32,
    containerLitres: 0.946,
    incompatibleFamilies: ['lacquer'],
  };
  const recoatMinutes = [{ fromMinutes: 15, toMinutes: 60 }, { fromMinutes: 2880 }];
  const product = async (input: object) =>
    (await load.do('createCoatingProduct', { ...common, recoatMinutes, ...input }, on)).id as string;
  const primer = await product({
    name: 'Red oxide primer',
    family: 'alkyd',
    role: 'primer',
    volumeSolidsPercent: 46,
    touchMinutes: 60,
    handleMinutes: 360,
    assembleMinutes: 4320,
    fullMinutes: 14400,
    containerPrice: '28.00',
  });
  const colour = await product({
    name: 'Implement enamel, barn red',
    family: 'alkyd',
    role: 'colour',
    volumeSolidsPercent: 48,
    touchMinutes: 120,
    handleMinutes: 540,
    assembleMinutes: 10080,
    fullMinutes: 20160,
    containerPrice: '31.00',
  });
  const clear = await product({
    name: 'Implement clear',
    family: 'alkyd',
    role: 'clear',
    volumeSolidsPercent: 44,
    touchMinutes: 120,
    handleMinutes: 600,
    assembleMinutes: 10080,
    fullMinutes: 20160,
    containerPrice: '33.00',
  });
  await load.do(
    'createCoatingSystem',
    {
      name: 'Two primer, two colour, one clear',
      coats: [primer, primer, colour, colour, clear].map((productId) => ({ productId })),
    },
    on,
  );
  return { primer, colour, clear };
}
