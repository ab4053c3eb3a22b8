/** What a seller says of a machine, claim by claim, so that each can be looked at. Pure. */

/** Trade words of the parts that claims are about, the most telling first. */
const components: readonly (readonly [string, RegExp])[] = [
  ['Starter', /\bstarter\b|\belectric start\b/i],
  ['Carburettor', /\bcarb\w*/i],
  ['Belt', /\bbelts?\b/i],
  ['Auger', /\baugers?\b|\brotor\b|\bimpeller\b/i],
  ['Paddles', /\bpaddles?\b/i],
  ['Gearbox', /\bgear ?box\b|\bgears?\b/i],
  ['Chute', /\bchute\b|\bdeflector\b|\bcrank\b/i],
  ['Blade', /\bblade\b/i],
  ['Wheels', /\bwheels?\b|\bty?res?\b|\btires?\b/i],
  ['Drive', /\bdrive\b|\bself-?propel\w*|\btransmission\b/i],
  ['Controls', /\blevers?\b|\bcables?\b|\bcontrols?\b|\bhandles?\b/i],
  ['Housing', /\bhousing\b|\bdeck\b|\brust\w*|\bpaint\w*|\bdent\w*/i],
  ['Electrics', /\blights?\b|\bbattery\b|\bswitch\b|\bkey\b|\bwir\w+/i],
  [
    'Engine',
    /\bengine\b|\bmotor\b|\bruns?\b|\bran\b|\bstarts?\b|\bsmok\w*|\bcompression\b|\boil\b|\bfuel\b|\bplug\b|\bknock\w*/i,
  ],
];

export interface SellerClaim {
  component: string;
  /** In the seller's words. */
  words: string;
}

const MOST_CLAIMS = 12;

/** @returns one for each clause: split at full stops, semicolons, commas, line ends and "but" */
export function claimsIn(text: string | null | undefined): SellerClaim[] {
  if (!text) return [];
  return text
    .split(/[.;!\n]+(?=\s|$)|,\s+|\s+but\s+/i)
    .map((one) => one.trim().replace(/^(and|but)\s+/i, ''))
    .filter((one) => /\p{L}{2}/u.test(one))
    .slice(0, MOST_CLAIMS)
    .map((words) => ({
      component: components.find(([, pattern]) => pattern.test(words))?.[0] ?? 'Whole machine',
      words: words.slice(0, 400),
    }));
}
