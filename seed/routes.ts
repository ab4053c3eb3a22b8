/**
 * Routes a shop can start from. Hours and waits are common practice, no source: a shop changes them to its own,
 * and the can, the maker's manual and local codes go before them.
 */
import type { z } from 'zod';
import type { CautionCode } from '../src/work/cautions.js';
import type { RouteCreate } from '../src/work/routes.shapes.js';

type NewRoute = z.input<typeof RouteCreate>;
type NewTask = NewRoute['tasks'][number];
type After = NonNullable<NewTask['after']>[number];
type Rest = Omit<NewTask, 'code' | 'name' | 'kind' | 'minMinutes' | 'handsOnMinutes' | 'maxMinutes' | 'after'>;

const hour = 60;
const day = 24 * hour;

/** @param minutes least, likeliest and most */
function task(
  code: string,
  name: string,
  kind: NewTask['kind'],
  minutes: [number, number, number],
  after: (string | After)[],
  rest: Rest = {},
): NewTask {
  const [minMinutes, handsOnMinutes, maxMinutes] = minutes;
  return {
    code,
    name,
    kind,
    minMinutes,
    handsOnMinutes,
    maxMinutes,
    after: after.map((one) => (typeof one === 'string' ? { code: one } : one)),
    ...rest,
  };
}

const bench = (...cautions: CautionCode[]): Rest => ({ placeKind: 'bench', cautions });

/** Let it flash off; then within the hour, or not before two days: in between a solvent-borne coat may lift. */
const recoat = (code: string): After => ({
  code,
  minWaitMinutes: 15,
  forbiddenIntervals: [{ fromMinutes: hour, toMinutes: 2 * day }],
  reason: 'recoat within the first hour or after two days; in between the fresh coat may lift',
});

const coat = (
  code: string,
  name: string,
  kind: NewTask['kind'],
  minutes: [number, number, number],
  after: (string | After)[],
  ...more: CautionCode[]
): NewTask =>
  task(code, name, kind, minutes, after, {
    placeKind: 'sprayArea',
    pausable: false,
    needsPaintWeather: true,
    cautions: ['solventVapour', 'oilyRags', ...more],
  });

/** Five coats on what is bare, then two weeks on the rack. */
const finish = (unwrapSchema: string[], hidden: string): NewTask[] => [
  coat('prime-1', `Mask and prime, first coat: welds, seams and ${hidden}`, 'prime', [60, 90, 150], unwrapSchema),
  coat('prime-2', 'Prime, second coat: all faces', 'prime', [30, 45, 75], [recoat('prime-1')]),
  coat('colour-1', 'Colour, first coat', 'colour', [30, 45, 75], [recoat('prime-2')]),
  coat('colour-2', 'Colour, second coat', 'colour', [30, 45, 75], [recoat('colour-1')]),
  coat('clear', 'Clear coat', 'clear', [30, 45, 75], [recoat('colour-2')], 'isocyanate'),
  task(
    'cure',
    'Cure on the rack',
    'cure',
    [0, 0, 0],
    [{ code: 'clear', minWaitMinutes: day, reason: 'a coat must bear handling before it is hung up' }],
    {
      people: 0,
      placeKind: 'cureRack',
      pausable: false,
      cureMinutes: 14 * day,
      cautions: ['solventVapour'],
    },
  ),
];

const ending = (): NewTask[] => [
  task('test-run', 'Test-run outdoors, warm up, stop and start again', 'test', [30, 60, 120], ['assemble'], {
    pausable: false,
    cautions: ['carbonMonoxide', 'hotParts', 'fuelVapour', 'starterCircuit'],
  }),
  task('safety', 'Make the safety checks and write the starting point', 'test', [30, 45, 90], ['test-run'], {
    cautions: ['carbonMonoxide', 'hotParts'],
  }),
];

export const standardRoutes: NewRoute[] = [
  {
    name: 'Single-stage thrower, full',
    machineKind: 'singleStageThrower',
    description: 'From intake wash to the written starting point. Hours and waits are common practice, no source.',
    tasks: [
      task('wash', 'Drain the fuel and wash', 'clean', [20, 30, 60], [], { cautions: ['fuelVapour', 'chemicals'] }),
      task(
        'diagnose',
        'Diagnose: engine, belt, paddles, housing',
        'diagnose',
        [30, 60, 120],
        ['wash'],
        bench('spinningAuger', 'fuelVapour', 'storedEnergy'),
      ),
      task(
        'strip',
        'Strip to bare parts',
        'strip',
        [75, 120, 240],
        ['diagnose'],
        bench('storedEnergy', 'spinningAuger', 'tipping', 'fuelVapour'),
      ),
      task(
        'derust',
        'Straighten and de-rust the housing and handles',
        'derust',
        [60, 120, 240],
        ['strip'],
        bench('wireWheel', 'oldPaint', 'chemicals'),
      ),
      ...finish(['derust'], 'the inside of the chute ring'),
      task(
        'engine',
        'Service the engine: carburettor, plug, oil or fuel mix, recoil',
        'service',
        [60, 90, 180],
        ['strip'],
        bench('fuelVapour', 'storedEnergy'),
      ),
      task('scraper-bar', 'Fit the scraper bar', 'parts', [15, 25, 45], ['cure'], bench()),
      task('paddles', 'Fit the paddles on the rotor', 'parts', [20, 30, 60], ['strip'], bench('spinningAuger')),
      task(
        'assemble',
        'Assemble, hang the belt, adjust the cable',
        'assemble',
        [90, 150, 270],
        [
          'cure',
          'engine',
          'paddles',
          { code: 'scraper-bar', reason: 'its bolts cannot be reached with the rotor in place' },
        ],
        bench('storedEnergy', 'spinningAuger', 'hotParts'),
      ),
      ...ending(),
    ],
  },
  {
    name: 'Two-stage thrower, full',
    machineKind: 'twoStageThrower',
    description: 'From intake wash to the written starting point. Hours and waits are common practice, no source.',
    tasks: [
      task('wash', 'Drain the fuel and wash', 'clean', [30, 45, 90], [], { cautions: ['fuelVapour', 'chemicals'] }),
      task(
        'diagnose',
        'Diagnose: engine, drive, auger gearbox, impeller, housing',
        'diagnose',
        [60, 90, 180],
        ['wash'],
        bench('spinningAuger', 'fuelVapour', 'storedEnergy'),
      ),
      task(
        'strip',
        'Split the machine and strip to bare parts',
        'strip',
        [150, 240, 420],
        ['diagnose'],
        bench('storedEnergy', 'spinningAuger', 'tipping', 'fuelVapour'),
      ),
      task(
        'straighten',
        'Straighten housing, chute and handles',
        'straighten',
        [30, 75, 180],
        ['strip'],
        bench('hotWork'),
      ),
      task(
        'derust',
        'De-rust to bright metal',
        'derust',
        [120, 180, 360],
        ['straighten'],
        bench('wireWheel', 'oldPaint', 'chemicals'),
      ),
      ...finish(['derust'], 'the faces behind auger and impeller'),
      task(
        'engine',
        'Service the engine: carburettor, valves, plug, oil, recoil',
        'service',
        [90, 120, 240],
        ['strip'],
        bench('fuelVapour', 'storedEnergy'),
      ),
      task('scraper-bar', 'Fit scraper bar and skids', 'parts', [20, 30, 60], ['cure'], bench()),
      task(
        'augers',
        "Grease and fit augers, gearbox and impeller, with the maker's shear bolts",
        'parts',
        [60, 90, 150],
        [{ code: 'scraper-bar', reason: 'its bolts cannot be reached with the augers in place' }],
        bench('spinningAuger'),
      ),
      task(
        'assemble',
        'Join the halves, hang belts, adjust drive, chute and controls',
        'assemble',
        [150, 240, 420],
        ['augers', 'engine'],
        bench('storedEnergy', 'spinningAuger', 'tipping', 'hotParts'),
      ),
      ...ending(),
    ],
  },
  {
    name: 'Walk-behind mower, full',
    machineKind: 'walkBehindMower',
    description: 'From intake wash to the written starting point. Hours and waits are common practice, no source.',
    tasks: [
      task('wash', 'Drain the fuel, scrape and wash the deck', 'clean', [30, 40, 75], [], {
        cautions: ['fuelVapour', 'blade', 'chemicals'],
      }),
      task(
        'diagnose',
        'Diagnose: engine, blade and its brake, deck, drive',
        'diagnose',
        [30, 60, 120],
        ['wash'],
        bench('blade', 'fuelVapour', 'storedEnergy'),
      ),
      task(
        'strip',
        'Take off blade and engine, strip the deck to bare metal parts',
        'strip',
        [75, 120, 210],
        ['diagnose'],
        bench('blade', 'storedEnergy', 'tipping', 'fuelVapour'),
      ),
      task('straighten', 'Straighten the deck, weld cracks', 'straighten', [20, 45, 120], ['strip'], bench('hotWork')),
      task(
        'derust',
        'De-rust the deck, underside first',
        'derust',
        [75, 120, 240],
        ['straighten'],
        bench('wireWheel', 'oldPaint', 'chemicals'),
      ),
      ...finish(['derust'], 'the underside of the deck'),
      task(
        'engine',
        'Service the engine: carburettor, air filter, plug, oil, recoil',
        'service',
        [60, 90, 180],
        ['strip'],
        bench('fuelVapour', 'storedEnergy'),
      ),
      task(
        'blade',
        'Sharpen and balance the blade, or fit a new one',
        'parts',
        [20, 30, 60],
        ['strip'],
        bench('blade', 'wireWheel'),
      ),
      task('wheels', 'Fit axles, wheels and the height adjuster', 'parts', [30, 45, 90], ['cure'], bench('tipping')),
      task(
        'assemble',
        'Fit engine, drive and handles, then the blade; adjust cables and blade brake',
        'assemble',
        [75, 120, 210],
        ['engine', 'blade', { code: 'wheels', reason: 'the deck must stand before the engine is lifted on' }],
        bench('blade', 'storedEnergy', 'hotParts'),
      ),
      ...ending(),
    ],
  },
];
