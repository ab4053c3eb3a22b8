/** What codes are called by people. */
export const machineKinds = {
  singleStageThrower: 'Single-stage thrower',
  twoStageThrower: 'Two-stage thrower',
  walkBehindMower: 'Walk-behind mower',
  other: 'Something else',
} as const;
export const sources = {
  classified: 'a classified ad',
  auction: 'an auction',
  donation: 'a gift',
  tradeIn: 'a trade-in',
  dealer: 'a dealer',
  other: 'elsewhere',
} as const;
export const verdicts = {
  verify: 'look whether it is so',
  serveOn: 'serves on',
  repair: 'repair',
  replace: 'replace',
  remove: 'leave off',
} as const;
export const dispositions = { sell: 'to sell', keep: 'to keep', donor: 'for its parts', scrap: 'scrap' } as const;
export const conditions = {
  1: 'for parts only',
  2: 'not running',
  3: 'running but worn',
  4: 'good',
  5: 'as new',
} as const;
export const jobStatuses: Record<string, string> = {
  intake: 'just in',
  diagnosed: 'looked through',
  inWork: 'in work',
  finished: 'finished',
  offered: 'offered for sale',
  sold: 'sold',
  kept: 'kept',
  partedOut: 'taken apart for parts',
  scrapped: 'scrapped',
  handedBack: 'handed back',
  returned: 'came back from its buyer',
  archived: 'opened by mistake',
};
export const needStatuses: Record<string, string> = {
  unordered: 'not ordered',
  onOrder: 'on the way',
  backOrdered: 'late',
  partlyReceived: 'some came',
  onHand: 'on hand',
  used: 'fitted',
};
/** The reason that is kept with what one tap takes back. */
export const TAKEN_BACK = 'Taken back on the page that it was done on';
export const engineTypes = { fourStroke: 'four-stroke', twoStroke: 'two-stroke', electric: 'electric' } as const;
export const options = (names: Record<string | number, string>): { value: string; label: string }[] =>
  Object.entries(names).map(([value, label]) => ({ value, label }));
export const scopes = {
  full: 'full restoration',
  mechanical: 'mechanical, no paint',
  mendOneFault: 'mend one fault',
  sellAsFound: 'sell as found',
  stripForParts: 'strip for parts',
} as const;
