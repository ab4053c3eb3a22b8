/**
 * What remains to be done to a machine once it is finished: maintenance, and when it first falls due, counted from
 * the hand-over. Common practice, no source; the maker's manual goes before it wherever it says otherwise.
 */

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
const afterWinter = 'after the last snow';
const hoursOr = (hours: number, season: string) =>
  `after ${hours} hours of running or ${season}, whichever comes first`;

const engine = (season: string, storage: string): MaintenanceItem[] => [
  item(
    'Engine oil level',
    null,
    eachUse,
    'Check on level ground with the engine cold; on a two-stroke, mix the fuel as the manual says instead.',
  ),
  item(
    'First oil change',
    5,
    'after 5 hours of running',
    'The first hours after the work carry off what it left in the engine.',
  ),
  item('Engine oil', 25, hoursOr(25, season), 'Change warm; take the grade the manual names for the temperature.'),
  item(
    'Spark plug',
    100,
    hoursOr(100, season),
    'Look at its colour, set the gap to the manual, renew it when the electrode is round.',
  ),
  item(
    'Fuel',
    null,
    storage,
    'Run it dry, or fill up with stabilised fuel and run it through; never leave old fuel in the carburettor.',
  ),
];

const single: MaintenanceItem[] = [
  ...engine(beforeWinter, afterWinter),
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
  item(
    'Fasteners',
    5,
    'after 5 hours of running, then each season',
    'New gaskets and paint settle: tighten once warm-run, to the manual.',
  ),
];

const double: MaintenanceItem[] = [
  ...engine(beforeWinter, afterWinter),
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
  item(
    'Fasteners',
    5,
    'after 5 hours of running, then each season',
    'New gaskets and paint settle: tighten once warm-run, to the manual.',
  ),
];

const beforeMowing = 'before the next mowing season';
const mower: MaintenanceItem[] = [
  ...engine(beforeMowing, 'after the last mowing'),
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
  item(
    'Fasteners',
    5,
    'after 5 hours of running, then each season',
    'New gaskets and paint settle: tighten once warm-run, to the manual.',
  ),
];

const lists: Record<string, MaintenanceItem[]> = {
  singleStageThrower: single,
  twoStageThrower: double,
  walkBehindMower: mower,
};
const anyMachine = engine('each season', 'at the end of the season');

export const maintenanceFor = (kind: string): MaintenanceItem[] => lists[kind] ?? anyMachine;
