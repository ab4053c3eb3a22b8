const VULGAR: Readonly<Record<string, readonly [number, number]>> = {
  '½': [1, 2],
  '¼': [1, 4],
  '¾': [3, 4],
  '⅛': [1, 8],
  '⅜': [3, 8],
  '⅝': [5, 8],
  '⅞': [7, 8],
};

/** Pattern of a number as workshops write it: 2, 0.25, .5, 3/4, 1-1/2, 1 1/2, ½, 1½. */
export const NUMBER = String.raw`(?:\d+[- ]\d+\/\d+|\d+\/\d+|\d*[½¼¾⅛⅜⅝⅞]|\d*\.\d+|\d+)`;

/** Value of a number matched by NUMBER; null if its denominator is zero. */
export function numberValue(text: string): number | null {
  const vulgar = VULGAR[text.at(-1) ?? ''];
  if (vulgar) return Number(text.slice(0, -1) || 0) + vulgar[0] / vulgar[1];
  const fraction = /^(?:(\d+)[- ])?(\d+)\/(\d+)$/.exec(text);
  if (!fraction) return Number(text);
  const [, whole = '0', above, below] = fraction;
  return Number(below) === 0 ? null : Number(whole) + Number(above) / Number(below);
}

/** Inches as the trade writes them: a fraction where sixty-fourths are exact, else a decimal. */
export function printInches(inches: number): string {
  const sixtyFourths = Math.round(inches * 64);
  if (Math.abs(inches * 64 - sixtyFourths) > 1e-6) return printDecimal(inches);
  const whole = Math.floor(sixtyFourths / 64);
  let above = sixtyFourths % 64;
  let below = 64;
  while (above > 0 && above % 2 === 0) {
    above /= 2;
    below /= 2;
  }
  if (above === 0) return `${whole}`;
  return whole === 0 ? `${above}/${below}` : `${whole}-${above}/${below}`;
}

/** A number with at most six decimals and no trailing zeros. */
export function printDecimal(value: number): string {
  return `${Number(value.toFixed(6))}`;
}
