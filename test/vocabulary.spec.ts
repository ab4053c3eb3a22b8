/**
 * The project's words: what stands on the left of its list of words, as a name that it had before a standard term was
 * taken, comes back in no exported name, API field, file name or problem code. A reserved word of the list may stand
 * inside a longer word that means something else; where it does, the exception says why.
 */
import fs from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, it } from '@jest/globals';
import { projectRoot } from '../src/platform/launch/root.js';

/** Whole words of a name: "takeIn" denies takeIn and takeInMachine, not mistake or takeInitial. */
const DENIED = [
  'standing',
  'why',
  'reckon',
  'presentable',
  'performing',
  'performed',
  'told',
  'heard',
  'inTurn',
  'toCome',
  'paidBack',
  'repaid',
  'repayment',
  'taxBack',
  'evenSo',
  'takeIn',
  'takenIn',
  'takeBack',
  'rescue',
  'doublingCelsius',
  'forbiddenMinutes',
  'guides',
  'bargaining',
  'askMakeUp',
  'gainOfAWeek',
  'mattersMost',
  'binds',
  'boundShare',
  'chanceByDue',
  'soonerShare',
  'noneShare',
  'neverChance',
  'chance',
  'changedAt',
  'retired',
  'retire',
  'pastDay',
  'needParts',
  'refuseGone',
  'atHand',
  'oddsOf',
  'readOdds',
  'planOdds',
  'odds',
  'trains',
  'knownFull',
  'listMaker',
  'servesFor',
  'petrol',
  'plugLead',
  'least',
  'figure',
] as const;

/** Legitimate uses, each with its reason; the owner of a temporary one removes it. */
const ALLOWED: { name: RegExp; reason: string }[] = [
  { name: /^leastSquares$|^least-squares(\.spec)?\.ts$/i, reason: 'least squares is the name of the method' },
  { name: /^servesFor(Id|Part)?$/, reason: 'one end of a recorded interchange claim: what the part serves for' },
  { name: /^rateDoublingCelsius$/, reason: 'the standard term itself: the rise that doubles a rate' },
  { name: /^TaskAtHand$/, reason: 'the task that somebody works on; the denied word was a cache' },
  {
    name: /^toldDate$/,
    reason: 'temporary: the day on which a weather forecast was entered; its area renames its own',
  },
];

const wordsOf = (name: string): string =>
  ` ${name
    .replace(/\.(spec|fixture)?\.?tsx?$/, '')
    .replace(/([a-z0-9])([A-Z])/g, '$1 $2')
    .replace(/[^A-Za-z0-9]+/g, ' ')
    .toLowerCase()} `;
const denied = DENIED.map((word) => ({ word, words: wordsOf(word) }));

function offending(names: Iterable<string>): string[] {
  return [...new Set(names)]
    .filter((name) => !ALLOWED.some((one) => one.name.test(name)))
    .flatMap((name) =>
      denied.filter(({ words }) => wordsOf(name).includes(words)).map(({ word }) => `${name}: ${word}`),
    )
    .sort();
}

const below = (folder: string): string[] =>
  (fs.readdirSync(path.join(projectRoot, folder), { recursive: true }) as string[])
    .map((name) => `${folder}/${name.split(path.sep).join('/')}`)
    .filter((name) => /\.tsx?$/.test(name) && !name.includes('/database/client/'));

describe('the words of the project', () => {
  let files: string[];
  beforeAll(() => {
    files = ['src', 'seed', 'prisma', 'test'].flatMap(below);
  });

  it('finds a denied word inside a name, and no part of another word', () => {
    expect(offending(['takeInMachine', 'plan-odds.ts', 'mistake', 'outstanding', 'understanding'])).toEqual([
      'plan-odds.ts: odds',
      'plan-odds.ts: planOdds',
      'takeInMachine: takeIn',
    ]);
  });

  it('are in its file names', () => {
    expect(files.length).toBeGreaterThan(300);
    expect(offending(files.map((file) => path.basename(file)))).toEqual([]);
  });

  it('are in what its files export', () => {
    const names = files
      .filter((file) => !file.startsWith('test/'))
      .flatMap((file) => {
        const text = fs.readFileSync(path.join(projectRoot, file), 'utf8');
        return [
          ...text.matchAll(
            /^export (?:declare |async |abstract )*(?:const|let|function\*?|class|interface|type|enum) (\w+)/gm,
          ),
        ].map(([, name]) => name!);
      });
    expect(names.length).toBeGreaterThan(1000);
    expect(offending(names)).toEqual([]);
  });

  it('are in the fields of its shapes, which are those of both APIs, and in its operations', () => {
    const names = files
      .filter((file) => /\.(shapes|operations|queries|relations)\.ts$/.test(file) && file.startsWith('src/'))
      .flatMap((file) => {
        const text = fs.readFileSync(path.join(projectRoot, file), 'utf8');
        return [
          ...[
            ...text.matchAll(
              /^\s+(\w+): (?:z\.|id\b|day\b|text\(|int\(|money\b|priced\b|instant\b|decimal\(|choice)/gm,
            ),
          ].map(([, name]) => name!),
          ...[...text.matchAll(/\b(?:name|field): '(\w+)'/g)].map(([, name]) => name!),
        ];
      });
    expect(names.length).toBeGreaterThan(600);
    expect(offending(names)).toEqual([]);
  });

  it('are in the columns and tables of its database', () => {
    const schema = fs.readFileSync(path.join(projectRoot, 'prisma/schema.prisma'), 'utf8');
    const names = [...schema.matchAll(/^(?:model|enum) (\w+)|^ {2}(\w+)/gm)].map(([, one, other]) => (one ?? other)!);
    expect(names.length).toBeGreaterThan(400);
    expect(offending(names)).toEqual([]);
  });

  it('are in its problem codes', () => {
    const codes = files
      .filter((file) => file.startsWith('src/') && !file.includes('.spec.'))
      .flatMap((file) => {
        const text = fs.readFileSync(path.join(projectRoot, file), 'utf8');
        return [
          ...text.matchAll(/new (?:Conflict|Refused|EngineError|Unreadable|Forbidden)\(\s*'([a-z][a-z0-9-]*)'/g),
          ...text.matchAll(/\bcode: '([a-z][a-z0-9]*(?:-[a-z0-9]+)+)'/g),
        ].map(([, code]) => code!);
      });
    expect(codes.length).toBeGreaterThan(100);
    expect(offending(codes)).toEqual([]);
  });
});
