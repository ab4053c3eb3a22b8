/** A description for every field of both APIs: its meaning by its name, its unit by the name's end. */
import type { ScalarMark } from '../shapes.js';
import { wordsAToL } from './words-a-l.js';
import { wordsMToZ } from './words-m-z.js';
import { wordsOfFindings } from './words-of-findings.js';

const words: Readonly<Record<string, string>> = { ...wordsOfFindings, ...wordsAToL, ...wordsMToZ };

/** Longest first, so that square millimetres are not taken for millimetres. */
const units: readonly (readonly [RegExp, string])[] = [
  [/SquareMillimetres$/, 'mm²'],
  [/(SquareMetres|^squareMetres)$/, 'm²'],
  [/CubicCentimetres$/, 'cm³'],
  [/(Millimetres|^millimetres)$/, 'mm'],
  [/Micrometres$/, 'µm'],
  [/Kilometres$/, 'km'],
  [/NewtonMetres$|^newtonMetres$/, 'N·m'],
  [/Newtons$/, 'N'],
  [/Megapascals$/, 'MPa'],
  [/(Celsius|^celsius)$/, '°C'],
  [/(Litres|^litres)(Used)?$/, 'litres'],
  [/Minutes(ADay)?$/, 'minutes'],
  [/Hours$/, 'hours'],
  [/Seconds$/, 'seconds'],
  [/Percent$/, 'percent'],
];

const kinds: Partial<Record<ScalarMark, string>> = {
  Money: "An amount in the shop's currency, as a decimal string.",
  Instant: 'A moment with its offset, RFC 3339.',
};

/** @returns whether a name has words of its own, rather than those that are made of it */
export const hasWords = (name: string): boolean => words[name] !== undefined || /^.+Id$/.test(name);

/**
 * @param name the field's name
 * @param given what its shape says of it
 */
export function describeField(name: string, given: string | undefined, scalar?: ScalarMark): string {
  const meaning = given ?? words[name] ?? madeOf(name);
  const unit = units.find(([ending]) => ending.test(name))?.[1];
  const said = unit && !meaning.includes(unit) ? `${sentence(meaning)} In ${unit}.` : sentence(meaning);
  const kind = scalar && kinds[scalar];
  return kind && !given ? `${said} ${kind}` : said;
}

const sentence = (text: string): string => (/[.!?:;]$/.test(text.trim()) ? text.trim() : `${text.trim()}.`);

function madeOf(name: string): string {
  const plain = name.replace(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`);
  const of = /^(.+) id$/.exec(plain)?.[1];
  return of ? `The id of the ${of}.` : `${plain.charAt(0).toUpperCase()}${plain.slice(1)}.`;
}
