/** Components of walk-behind mowers. Order, minutes and wear are common practice, no source; the maker's manual goes before them. */
import type { Component } from '../../engine/diagnosis/index.js';
import { component, engineComponents, wheelsAndControls } from './make.js';

export const mower: readonly Component[] = [
  ...engineComponents('blade'),
  component('blade', 'blade', 'Blade', {
    aliases: ['mower blade', 'knife'],
    off: [5, 10],
    repair: [20, 30, 60],
    replace: [10, 20, 30],
    routeTask: 'blade',
    cautions: ['blade', 'wireWheel'],
    wear: {
      unit: 'mm',
      newSize: 60,
      limit: 45,
      perSeason: 3,
      deviation: 2,
      readingError: 0.5,
      probabilityOfFailure: 0.1,
      failureMinutes: 60,
    },
  }),
  component('blade', 'blade-adapter', 'Blade adapter', {
    aliases: ['blade hub', 'blade boss'],
    behind: ['blade'],
    replace: [10, 20, 40],
    cautions: ['blade'],
  }),
  component('blade', 'blade-brake', 'Blade brake', {
    aliases: ['flywheel brake', 'brake'],
    behind: ['engine-shroud'],
    repair: [20, 40, 90],
    replace: [20, 40, 90],
    cautions: ['blade'],
  }),
  component('drive', 'belt-cover', 'Belt cover', { off: [5, 5], replace: [5, 10, 20] }),
  component('drive', 'drive-belt', 'Drive belt', {
    aliases: ['belt'],
    behind: ['blade', 'belt-cover'],
    replace: [15, 30, 60],
    cautions: ['blade', 'storedEnergy'],
  }),
  component('drive', 'transmission', 'Transmission', {
    aliases: ['gearbox', 'drive gear', 'wheel gear'],
    behind: ['wheel', 'blade', 'belt-cover'],
    repair: [45, 90, 200],
    replace: [30, 60, 120],
  }),
  component('housing', 'deck', 'Deck', {
    aliases: ['housing', 'mower deck', 'cutting deck'],
    repair: [45, 90, 240],
    replace: [120, 200, 360],
    welded: true,
    cautions: ['oldPaint', 'blade'],
  }),
  component('chute', 'discharge-guard', 'Discharge guard', {
    aliases: ['discharge deflector', 'side guard', 'rear shield'],
    repair: [10, 20, 45],
    replace: [10, 15, 30],
  }),
  component('wheels', 'height-adjuster', 'Height adjuster', {
    positions: ['front', 'rear'],
    repair: [10, 25, 60],
    replace: [15, 25, 45],
    seenToIn: ['wheels'],
  }),
  ...wheelsAndControls(),
];
