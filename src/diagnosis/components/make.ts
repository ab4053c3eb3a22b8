/** Short hands for writing the lists of components down. */
import type { Component, Minutes } from '../../engine/diagnosis/index.js';

type Given = Partial<Omit<Component, 'code' | 'name' | 'group' | 'off' | 'work'>> & {
  /** Minutes to take it off and to put it back, where it is in the way. */
  off?: [number, number];
  repair?: [number, number, number];
  replace?: [number, number, number];
  remove?: [number, number, number];
};

const minutes = (given: [number, number, number] | undefined): Minutes | undefined =>
  given && { min: given[0], likely: given[1], max: given[2] };

export function component(
  group: Component['group'],
  code: string,
  name: string,
  { off, repair, replace, remove, ...rest }: Given = {},
): Component {
  const work = { repair: minutes(repair), replace: minutes(replace), remove: minutes(remove) };
  return {
    aliases: [],
    positions: [],
    behind: [],
    routeTask: null,
    seenToIn: [],
    welded: false,
    cautions: [],
    wear: null,
    equipment: false,
    ...rest,
    code,
    name,
    group,
    off: off ? { take: off[0], refit: off[1] } : null,
    work: Object.fromEntries(Object.entries(work).filter(([, one]) => one)) as Component['work'],
  };
}

export const sides = ['left', 'right'] as const;

/** The engine and what hangs on it: alike on all kinds. */
export const engineComponents = (cover: string): Component[] => [
  component('engine', 'engine', 'Engine', {
    aliases: ['motor', 'short block'],
    behind: [cover],
    off: [40, 60],
    repair: [90, 240, 600],
    replace: [90, 150, 300],
    seenToIn: ['engine'],
    cautions: ['hotParts', 'fuelVapour'],
  }),
  component('engine', 'carburettor', 'Carburettor', {
    aliases: ['carburetor', 'carb', 'float bowl', 'carburettor bowl'],
    behind: ['carburettor-cover'],
    repair: [30, 50, 100],
    replace: [20, 35, 60],
    seenToIn: ['engine'],
    cautions: ['fuelVapour', 'chemicals'],
  }),
  component('engine', 'carburettor-cover', 'Carburettor cover', {
    aliases: ['heater box', 'air box', 'air intake'],
    off: [5, 5],
    replace: [5, 10, 20],
  }),
  component('engine', 'air-filter', 'Air filter', { replace: [5, 10, 15], seenToIn: ['engine'] }),
  component('engine', 'spark-plug', 'Spark plug', {
    aliases: ['plug'],
    replace: [5, 10, 20],
    seenToIn: ['engine'],
    cautions: ['hotParts'],
  }),
  component('engine', 'valves', 'Valves', {
    aliases: ['valve', 'valve clearance', 'head gasket', 'cylinder head', 'compression'],
    behind: ['engine-shroud'],
    repair: [60, 120, 240],
    replace: [90, 150, 300],
  }),
  component('engine', 'engine-shroud', 'Engine shroud', {
    aliases: ['fan housing', 'blower housing'],
    behind: ['recoil-starter'],
    off: [10, 10],
    repair: [20, 40, 80],
    replace: [10, 20, 30],
  }),
  component('engine', 'recoil-starter', 'Recoil starter', {
    aliases: ['recoil', 'pull starter', 'pull cord', 'starter rope'],
    off: [5, 5],
    repair: [20, 40, 80],
    replace: [10, 20, 40],
    seenToIn: ['engine'],
    cautions: ['storedEnergy'],
  }),
  component('engine', 'ignition-coil', 'Ignition coil', {
    aliases: ['coil', 'ignition'],
    behind: ['engine-shroud'],
    replace: [20, 35, 60],
  }),
  component('engine', 'muffler', 'Muffler', {
    aliases: ['exhaust', 'silencer'],
    behind: ['muffler-guard'],
    replace: [15, 30, 75],
    repair: [20, 40, 80],
    seenToIn: ['engine'],
    cautions: ['hotParts'],
  }),
  component('engine', 'muffler-guard', 'Muffler guard', { off: [5, 5], replace: [5, 10, 20] }),
  component('engine', 'fuel-tank', 'Fuel tank', {
    aliases: ['tank', 'fuel cap', 'tank cap'],
    repair: [20, 40, 90],
    replace: [20, 30, 60],
    cautions: ['fuelVapour'],
  }),
  component('engine', 'fuel-line', 'Fuel line', {
    aliases: ['fuel hose', 'fuel valve', 'fuel shut off', 'fuel tap', 'primer bulb'],
    replace: [10, 20, 40],
    seenToIn: ['engine'],
    cautions: ['fuelVapour'],
  }),
  component('electrics', 'electric-starter', 'Electric starter', {
    aliases: ['starter', 'starter motor'],
    repair: [30, 60, 120],
    replace: [15, 30, 60],
    remove: [10, 20, 40],
    equipment: true,
    cautions: ['starterCircuit'],
  }),
  component('electrics', 'headlight', 'Headlight', {
    aliases: ['light', 'lamp', 'work light'],
    repair: [15, 30, 60],
    replace: [10, 20, 40],
    remove: [5, 10, 20],
    equipment: true,
  }),
  component('electrics', 'wiring', 'Wiring', {
    aliases: ['wire', 'harness', 'spark plug wire', 'plug lead'],
    repair: [20, 45, 120],
    replace: [30, 60, 150],
    cautions: ['starterCircuit'],
  }),
  component('electrics', 'stop-switch', 'Stop switch', {
    aliases: ['kill switch', 'key switch', 'ignition switch', 'key'],
    repair: [10, 20, 40],
    replace: [10, 20, 40],
  }),
];

/** Wheels, handles and cables of what is walked behind. */
export const wheelsAndControls = (wheelBehind: string[] = []): Component[] => [
  component('wheels', 'wheel', 'Wheel', {
    aliases: ['tyre', 'tire', 'rim'],
    positions: sides,
    behind: wheelBehind,
    off: [5, 5],
    repair: [15, 30, 60],
    replace: [10, 15, 30],
    cautions: ['tipping'],
  }),
  component('controls', 'handles', 'Handles', {
    aliases: ['handle', 'handlebar', 'handle bar'],
    positions: sides,
    repair: [20, 45, 120],
    replace: [20, 30, 60],
    welded: true,
  }),
  component('controls', 'presence-lever', 'Operator-presence lever', {
    aliases: ['dead man lever', 'dead-man control', 'control lever', 'bail'],
    repair: [10, 25, 60],
    replace: [10, 20, 45],
  }),
  component('controls', 'drive-cable', 'Drive cable', {
    aliases: ['drive control cable', 'traction cable'],
    repair: [10, 15, 30],
    replace: [15, 25, 45],
  }),
  component('controls', 'throttle', 'Throttle', {
    aliases: ['throttle cable', 'governor', 'choke', 'choke cable'],
    repair: [10, 20, 45],
    replace: [15, 30, 60],
  }),
];
