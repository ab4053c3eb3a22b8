/** The single items of maintenance, by engine, kind of machine and equipment. Common practice, no source. */

export interface MaintenanceItem {
  title: string;
  /** Hours of running after the hand-over; null where the season decides alone. */
  dueAfterHours: number | null;
  /** In words: by hours, by season, or whichever comes first. */
  nextDue: string;
  text: string;
}

const item = (title: string, dueAfterHours: number | null, nextDue: string, text: string): MaintenanceItem => ({
  title,
  dueAfterHours,
  nextDue,
  text,
});

const eachUse = 'before each use';
const beforeWinter = 'before the next winter';
const beforeMowing = 'before the next mowing season';
const hoursOr = (hours: number, season: string) =>
  `after ${hours} hours of running or ${season}, whichever comes first`;

const seasons: Record<string, { before: string; after: string }> = {
  singleStageThrower: { before: beforeWinter, after: 'after the last snow' },
  twoStageThrower: { before: beforeWinter, after: 'after the last snow' },
  walkBehindMower: { before: beforeMowing, after: 'after the last mowing' },
};
export const seasonOf = (kind: string) => seasons[kind] ?? { before: 'each season', after: 'at the end of the season' };

const plugAndFuel = (before: string, after: string): MaintenanceItem[] => [
  item(
    'Spark plug',
    100,
    hoursOr(100, before),
    'Look at its colour, set the gap to the manual, renew it when the electrode is round.',
  ),
  item(
    'Fuel',
    null,
    after,
    'Run it dry, or fill up with stabilised fuel and run it through; never leave old fuel in the carburettor.',
  ),
];
const oil = (before: string, only: string): MaintenanceItem[] => [
  item('Engine oil level', null, eachUse, `Check on level ground with the engine cold.${only}`),
  item(
    'First oil change',
    5,
    'after 5 hours of running',
    `The first hours after the work carry off what it left in the engine.${only}`,
  ),
  item(
    'Engine oil',
    25,
    hoursOr(25, before),
    `Change warm; take the grade the manual names for the temperature.${only}`,
  ),
];

export const engineItems = {
  fourStroke: (before: string, after: string) => [...oil(before, ''), ...plugAndFuel(before, after)],
  // Its oil is in the fuel and burns with it.
  twoStroke: (before: string, after: string) => [
    item(
      'Fuel and oil mix',
      null,
      'at each filling',
      'Mix fresh fuel with two-stroke oil in the ratio the manual names; plain fuel ruins the engine within minutes.',
    ),
    ...plugAndFuel(before, after),
  ],
  electric: (before: string) => [
    item(
      'Cord, plug and battery',
      null,
      before,
      'No cut, kink or loose pin; use only a cord of the gauge and length the manual names, and keep a battery charged as it says.',
    ),
  ],
  unknown: (before: string, after: string) => [
    ...oil(before, ' Of a four-stroke only: a two-stroke has its oil in the fuel, mixed as the manual says.'),
    ...plugAndFuel(before, after),
  ],
};

const fasteners = item(
  'Fasteners',
  5,
  'after 5 hours of running, then each season',
  'New gaskets and paint settle: tighten once warm-run, to the manual.',
);

export const kindItems: Record<string, readonly MaintenanceItem[]> = {
  singleStageThrower: [
    item(
      'Paddles and scraper bar',
      10,
      hoursOr(10, beforeWinter),
      'Renew the paddles at their wear mark, and turn or renew the bar before the housing touches the ground.',
    ),
    item(
      'Drive belt',
      25,
      hoursOr(25, beforeWinter),
      'Look for cracks and glaze; see that it stands still with the lever released.',
    ),
    item(
      'Control cables',
      null,
      beforeWinter,
      'Adjust the slack so that the rotor takes hold fully and lets go fully; oil the ends.',
    ),
    fasteners,
  ],
  twoStageThrower: [
    item(
      'Shear bolts',
      null,
      eachUse,
      'Only the exact bolts the maker names, with spares on the machine; never a common bolt.',
    ),
    item(
      'Scraper bar and skids',
      10,
      hoursOr(10, beforeWinter),
      'Set the skids for the ground; turn or renew the bar before the housing wears.',
    ),
    item(
      'Auger gearbox',
      25,
      hoursOr(25, beforeWinter),
      'Check level and leaks; use the oil or grease the manual names.',
    ),
    item(
      'Auger shafts',
      null,
      beforeWinter,
      'Pull the shear bolts, grease, and see that the augers turn freely on the shaft.',
    ),
    item(
      'Belts',
      25,
      hoursOr(25, beforeWinter),
      'Auger and drive belt: cracks, glaze, tension, and standing still when let go.',
    ),
    item(
      'Drive and chute',
      null,
      beforeWinter,
      'Friction disc or drive adjusted, chute turning freely, cables oiled, tyres at their pressure.',
    ),
    fasteners,
  ],
  walkBehindMower: [
    item('Deck', null, 'after each use', 'Plug lead off, then scrape and wash the underside: wet grass eats paint.'),
    item('Air filter', 25, hoursOr(25, beforeMowing), 'Clean or renew; sooner in dust.'),
    item('Blade', 25, hoursOr(25, beforeMowing), "Sharpen, balance, look for cracks, tighten to the manual's torque."),
    item(
      'Blade brake and stop',
      null,
      eachUse,
      'The blade must stand still within moments of letting go; if it does not, do not mow.',
    ),
    item('Wheels, drive and cables', null, beforeMowing, 'Oil, adjust, and see that the height stays where it is set.'),
    fasteners,
  ],
};

/** What equipment asks for, by the words it goes under. */
export const equipmentItems: readonly { words: RegExp; make(before: string): MaintenanceItem }[] = [
  {
    words: /electric start/i,
    make: (before) =>
      item(
        'Electric starter',
        null,
        before,
        'Cord, plug and cable sound, and no smell or smoke when it turns; one that smokes or grows hot is finished and comes off.',
      ),
  },
  {
    words: /\bbattery\b/i,
    make: (before) =>
      item('Battery', null, before, 'Charge it every two months while the machine stands; clean tight terminals.'),
  },
  {
    words: /\b(head)?light|lamp\b/i,
    make: (before) =>
      item('Light', null, before, 'See that it lights with the engine at speed, and that no wire chafes.'),
  },
  {
    words: /heated (grip|handle)/i,
    make: (before) =>
      item('Heated grips', null, before, 'See that both grow warm, and that the wires are sound where the bars fold.'),
  },
  {
    words: /\bchains?\b/i,
    make: () =>
      item('Wheel chains', null, eachUse, 'Tight, no broken link, and clear of the housing all the way round.'),
  },
];

/** A belt that was just fitted stretches. */
export const newBelt = item(
  'New belt',
  2,
  'after 2 hours of running, once',
  'A new belt stretches: set its tension again, engine off and plug wire off.',
);

/** Which item a part that was fitted belongs to. */
export const partOf: readonly { title: string; words: RegExp }[] = [
  { title: 'Paddles and scraper bar', words: /paddle|scraper/i },
  { title: 'Scraper bar and skids', words: /scraper|skid/i },
  { title: 'Drive belt', words: /\bbelt\b/i },
  { title: 'Belts', words: /\bbelt\b/i },
  { title: 'Control cables', words: /cable/i },
  { title: 'Drive and chute', words: /cable|friction|chute|wheel|tyre|tire/i },
  { title: 'Wheels, drive and cables', words: /cable|wheel/i },
  { title: 'Spark plug', words: /\bplug\b/i },
  { title: 'Fuel', words: /carburett?or|fuel/i },
  { title: 'Engine oil', words: /engine oil/i },
  { title: 'Air filter', words: /air filter/i },
  { title: 'Auger gearbox', words: /gear/i },
  { title: 'Auger shafts', words: /auger|bushing/i },
  { title: 'Blade', words: /\bblade\b/i },
];
