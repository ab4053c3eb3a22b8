/**
 * Where the work can hurt someone. Each caution is general: it defers to the maker's manual, to local codes and
 * to licensed practice, and names a general standard only where one certainly exists.
 */
import { z } from 'zod';
import { choice, shape } from '../platform/shapes.js';

const table = {
  fuelVapour: {
    title: 'Fuel vapour',
    text:
      'Fuel vapour runs along the floor to heaters, pilot lights, switches and sparks. Drain and fill ' +
      'outdoors on a cold engine, away from any flame, and keep fuel in closed, marked containers.',
    standard: 'OSHA 29 CFR 1910.106 (flammable liquids)',
  },
  solventVapour: {
    title: 'Solvent and paint vapour',
    text:
      'Thinner and spray mist burn and explode. No heater with a flame or glowing element, no smoking, no ' +
      'sparking tool while spraying or while coats give off vapour; move the air out, and ground what is sprayed if the can asks for it.',
    standard: 'NFPA 33 (spray application); OSHA 29 CFR 1910.107 (spray finishing)',
  },
  isocyanate: {
    title: 'Isocyanate in two-part coats',
    text:
      'For coats whose can or safety data sheet names isocyanate, as many two-part clear and colour coats ' +
      'do: it can make asthma for life and gives no warning by smell. Read the sheet first. Where it is ' +
      'named, spray only with supplied air and covered skin, in a place made for it, or use a coat without it.',
    standard: 'OSHA 29 CFR 1910.134 (respiratory protection)',
  },
  carbonMonoxide: {
    title: 'Running engine',
    text:
      'Exhaust kills indoors, with the door open too. Run engines outdoors only, clear ' +
      'of windows and vents, and let nobody stand in the exhaust.',
    standard: 'OSHA 29 CFR 1910.1000 (limit for carbon monoxide in air)',
  },
  spinningAuger: {
    title: 'Auger, impeller and chute',
    text:
      'Never a hand in the chute, the auger or the paddles, clogged or not: parts under strain can turn ' +
      'when a clog lets go, engine off or on. Engine off, key out, spark plug wire off, everything still; then the clean-out tool.',
    standard: 'ISO 8437 (snow throwers, safety requirements)',
  },
  blade: {
    title: 'Mower blade',
    text:
      'A blade turned by hand can turn the engine over, and the engine can fire. Plug lead off before ' +
      'reaching under; wedge the blade, wear gloves, and tip the mower the way its manual says.',
    standard: 'ISO 5395 (lawnmowers, safety)',
  },
  storedEnergy: {
    title: 'Springs and recoil starter',
    text:
      'Recoil springs, drive and clutch springs and cables under load fly when let go. Let the tension ' +
      'out in a controlled way first, hold what remains, and keep the face out of line.',
    standard: 'OSHA 29 CFR 1910.147 (control of hazardous energy)',
  },
  wireWheel: {
    title: 'Wire wheels and grinders',
    text:
      'Wires and grit leave a wheel like needles. Eye protection under a face shield, guard on, sleeves ' +
      'and cords tied in, the wheel within its rated speed, and nobody in its plane.',
    standard: 'OSHA 29 CFR 1910.133 (eye and face protection)',
  },
  oldPaint: {
    title: 'Dust of old paint',
    text:
      'Old coats may hold lead. Test before dry-sanding or wire-brushing; where there is lead, work wet, ' +
      'catch the dust, keep it off food, clothes and children, and follow the local rules for it.',
    standard: 'OSHA 29 CFR 1910.1025 (lead)',
  },
  chemicals: {
    title: 'De-rusters and degreasers',
    text:
      'Acids and alkalis burn skin and eyes and must not be mixed. Gloves and goggles, acid into water ' +
      'and never the other way, water at hand; the safety data sheet says the rest.',
    standard: 'OSHA 29 CFR 1910.1200 (hazard communication: safety data sheets)',
  },
  hotWork: {
    title: 'Heat, welding and grinding sparks',
    text:
      'No heat on anything that held fuel, nor near it. Clear what burns, keep an extinguisher at hand, ' +
      'strip zinc and paint from the joint, and look again for a smoulder half an hour later.',
    standard: 'NFPA 51B (fire prevention during welding, cutting and other hot work)',
  },
  oilyRags: {
    title: 'Rags that heat themselves',
    text:
      'Rags with drying oil or alkyd paint can set themselves alight in a heap hours later. Lay them out ' +
      'flat outdoors to dry, or keep them under water in a closed metal can until they are taken away.',
    standard: null,
  },
  starterCircuit: {
    title: 'Smoking starter',
    text:
      'A starter, solenoid or cable that smokes or grows hot is finished: disconnect it at once, take it ' +
      'off, and do not put it back into service. Work on mains-fed starters only unplugged; what is inside them is for a licensed hand.',
    standard: null,
  },
  battery: {
    title: 'Battery',
    text:
      'A charging battery gives off gas that explodes. Charge in moving air, negative lead off first and ' +
      'on last, no spark near it, eyes covered; a swollen or leaking one goes to the collection point.',
    standard: null,
  },
  tipping: {
    title: 'Tipping and lifting',
    text:
      'A tipped machine spills fuel and acid and falls. Drain or seal first, plug up and air filter up ' +
      'unless the manual says otherwise, and put it on stands: never reach under what only a jack or a strap holds.',
    standard: null,
  },
  hotParts: {
    title: 'Hot and moving parts',
    text:
      'Muffler and cylinder burn long after the engine stops, and belts and flywheels take fingers. Adjust ' +
      'with the engine off and cool wherever the manual allows; covers back on before starting.',
    standard: null,
  },
} as const satisfies Record<string, { title: string; text: string; standard: string | null }>;

export type CautionCode = keyof typeof table;
const codes = Object.keys(table) as [CautionCode, ...CautionCode[]];

/** A task or a route names cautions by code; a code that is not here is refused. */
export const CautionCode = choice('CautionCode', codes);

export const Caution = shape(
  'Caution',
  {
    code: z.string(),
    title: z.string(),
    text: z.string(),
    standard: z.string().nullable().meta({ description: 'The general standard, where one exists.' }),
  },
  "Where the work can hurt someone. The maker's manual, local codes and licensed practice go before it.",
);
export const Cautions = shape('Cautions', { cautions: z.array(Caution), precedence: z.string() });

export const precedence =
  "These cautions are general. The maker's manual, the safety data sheet, local codes and licensed practice go before them.";

/** Codes in full, in the table's order and each once; a stored code that has since left the table is passed over. */
export function cautionsFor(wanted: readonly string[]) {
  return codes.filter((code) => wanted.includes(code)).map((code) => ({ code, ...table[code] }));
}

export const allCautions = () => cautionsFor(codes);
