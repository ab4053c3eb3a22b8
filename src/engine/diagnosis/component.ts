/** What machines are made of, as far as findings name it: trade words, where it sits, what must come off to reach it. */
import { EngineError } from '../error.js';

export const componentGroups = [
  'engine',
  'drive',
  'auger',
  'blade',
  'housing',
  'chute',
  'wheels',
  'controls',
  'electrics',
] as const;
export type ComponentGroup = (typeof componentGroups)[number];
export const componentPositions = ['left', 'right', 'upper', 'lower', 'front', 'rear'] as const;
export type ComponentPosition = (typeof componentPositions)[number];

/** Least, likeliest and most minutes of hands-on work. */
export interface Minutes {
  min: number;
  likely: number;
  max: number;
}

/** How a wearing part wears, where nothing of this shop says otherwise. */
export interface TypicalWear {
  unit: string;
  /** As new, and the size at which it is worn out: below it where `limit` is less than new, above it where it is more. */
  newSize: number;
  limit: number;
  /** Mean and standard deviation, between machines, of what a season takes off. */
  perSeason: number;
  deviation: number;
  /** Standard deviation of one reading with the usual tool. */
  readingError: number;
  /** Probability that a part past its limit fails within a season, and hours of an own trip and rescue when it does. */
  probabilityOfFailure: number;
  failureMinutes: number;
}

export interface Component {
  code: string;
  name: string;
  group: ComponentGroup;
  /** Other words for it, in small letters. */
  aliases: readonly string[];
  positions: readonly ComponentPosition[];
  /** Codes of what comes off first. */
  behind: readonly string[];
  /** Minutes to take it off and to put it back, where it is in the way of another. */
  off: { take: number; refit: number } | null;
  work: Partial<Record<'repair' | 'replace' | 'remove', Minutes>>;
  /** The code of a route's task that is just this work. */
  routeTask: string | null;
  /** Codes of a route's tasks in which it is seen to anyway. */
  seenToIn: readonly string[];
  /** Mending it is welding, which lays steel bare. */
  welded: boolean;
  cautions: readonly string[];
  wear: TypicalWear | null;
  /** It is an extra: without it the machine is whole, and sells for less. */
  equipment: boolean;
}

export class ComponentTree {
  private readonly byCode: ReadonlyMap<string, Component>;
  private readonly byWord = new Map<string, Component>();

  /** @throws EngineError `unknown-component` when one is behind another that is not there, `circle` when they are behind each other */
  constructor(readonly components: readonly Component[]) {
    this.byCode = new Map(components.map((one) => [one.code, one]));
    for (const one of components)
      for (const word of [one.name, one.code, ...one.aliases])
        if (!this.byWord.has(wordOf(word))) this.byWord.set(wordOf(word), one);
    for (const one of components) this.reach([one.code]);
  }

  get(code: string | null): Component | null {
    return code === null ? null : (this.byCode.get(code) ?? null);
  }

  /** The component that somebody's words name, or null where they are words of their own. */
  named(words: string): Component | null {
    return this.byWord.get(wordOf(words)) ?? null;
  }

  /**
   * Everything that must come off to get at some components, each once, the outermost first; the components themselves only
   * where they are in the way of another of them.
   */
  reach(codes: readonly string[]): string[] {
    const found: string[] = [];
    const visit = (code: string, way: readonly string[]): void => {
      const component = this.byCode.get(code);
      if (!component) throw new EngineError('unknown-component', `there is no component ${code}`, code);
      if (way.includes(code))
        throw new EngineError('circle', `each is behind the other: ${[...way, code].join(', ')}`, code);
      for (const before of component.behind) {
        visit(before, [...way, code]);
        if (!found.includes(before)) found.push(before);
      }
    };
    for (const code of codes) visit(code, []);
    return found;
  }
}

/** Small letters, one blank between words, no plural: "Skid shoes" and "skid shoe" are one. */
const wordOf = (words: string): string =>
  words
    .toLowerCase()
    .replace(/[\s-]+/g, ' ')
    .trim()
    .replace(/(?<=[a-z]{3})(?<!s)s$/, '');

export interface Access {
  /** What comes off, the outermost first, each once. */
  codes: string[];
  takeMinutes: number;
  refitMinutes: number;
}

/**
 * What must come off, and go on again, for some work: what several need in common counts once, and so does what is off
 * already or comes off anyway because it is itself replaced or removed.
 * @param targets codes of the components worked on; null for one in somebody's own words, which needs nothing
 * @param off codes of what is off already, or comes off with work of its own
 */
export function accessFor(
  tree: ComponentTree,
  targets: readonly (string | null)[],
  off: ReadonlySet<string> = new Set(),
): Access {
  const codes = tree
    .reach(targets.filter((code): code is string => code !== null && tree.get(code) !== null))
    .filter((code) => !off.has(code) && tree.get(code)?.off);
  const sum = (of: 'take' | 'refit'): number =>
    codes.reduce((minutes, code) => minutes + (tree.get(code)?.off?.[of] ?? 0), 0);
  return { codes, takeMinutes: sum('take'), refitMinutes: sum('refit') };
}
