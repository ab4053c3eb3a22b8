/** Under which a claim holds; what is absent is not limited. */
export interface Conditions {
  /** Where on the machine: 'left', 'upper idler'. */
  position?: string | null;
  /** How it is mounted: 'two-bolt', 'with spacer'. */
  mounting?: string | null;
  /** First and last model year. */
  fromYear?: number | null;
  toYear?: number | null;
  /** Anything else, in words; it cannot be checked, only shown. */
  notes?: readonly string[];
}

/** The place in question, as far as it is known. */
export interface Circumstances {
  position?: string | null;
  mounting?: string | null;
  year?: number | null;
}

/** @returns conditions under which both hold, or null if they exclude one another. */
export function both(a: Conditions, b: Conditions): Conditions | null {
  const position = agree(a.position, b.position);
  const mounting = agree(a.mounting, b.mounting);
  const fromYear = Math.max(a.fromYear ?? -Infinity, b.fromYear ?? -Infinity);
  const toYear = Math.min(a.toYear ?? Infinity, b.toYear ?? Infinity);
  if (position === false || mounting === false || fromYear > toYear) return null;
  const notes = [...new Set([...(a.notes ?? []), ...(b.notes ?? [])])];
  return {
    ...(position !== null && { position }),
    ...(mounting !== null && { mounting }),
    ...(fromYear > -Infinity && { fromYear }),
    ...(toYear < Infinity && { toYear }),
    ...(notes.length > 0 && { notes }),
  };
}

/** The one that is said, null if neither is, false if they differ. */
function agree(a: string | null | undefined, b: string | null | undefined): string | null | false {
  if (!a || !b) return a || b || null;
  return sameWords(a, b) ? a : false;
}

function sameWords(a: string, b: string): boolean {
  return a.trim().toLowerCase() === b.trim().toLowerCase();
}

/** True if `loose` holds wherever `strict` does, so that nothing is gained by the stricter one. */
export function noStricter(loose: Conditions, strict: Conditions): boolean {
  const kept = both(loose, strict);
  return (
    kept !== null &&
    (!loose.position || !!strict.position) &&
    (!loose.mounting || !!strict.mounting) &&
    (loose.fromYear ?? -Infinity) <= (strict.fromYear ?? -Infinity) &&
    (loose.toYear ?? Infinity) >= (strict.toYear ?? Infinity) &&
    (loose.notes ?? []).every((note) => strict.notes?.includes(note))
  );
}

/** False only if what is known of the place excludes the conditions. */
export function holdsIn(conditions: Conditions, { position, mounting, year }: Circumstances): boolean {
  return both(conditions, { position, mounting, fromYear: year, toYear: year }) !== null;
}

/** The conditions in words; empty if there are none. */
export function describeConditions({ position, mounting, fromYear, toYear, notes }: Conditions): string {
  const years =
    fromYear && toYear
      ? `years ${fromYear}–${toYear}`
      : fromYear
        ? `from ${fromYear}`
        : toYear
          ? `up to ${toYear}`
          : '';
  return [position && `position ${position}`, mounting && `mounting ${mounting}`, years, ...(notes ?? [])]
    .filter(Boolean)
    .join('; ');
}
