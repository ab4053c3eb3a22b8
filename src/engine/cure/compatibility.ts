/** Something a painter would want to know before going on. */
export interface FinishWarning {
  code: string;
  detail: string;
}

export interface LayeredProduct {
  name: string;
  /** Its kind of binder, such as "alkyd". */
  family: string;
  role?: 'primer' | 'colour' | 'clear';
  /** Families its sheet declares it must not meet, above or below. */
  incompatibleFamilies: readonly string[];
}

const same = (a: string, b: string): boolean => a.trim().toLowerCase() === b.trim().toLowerCase();

/**
 * What speaks against putting one coat directly on another: only what either sheet declares, never a guess.
 * Roles out of order are told as well (common practice, no source).
 */
export function layerWarnings(under: LayeredProduct, over: LayeredProduct): FinishWarning[] {
  const warnings: FinishWarning[] = [];
  const declares = (one: LayeredProduct, other: LayeredProduct) =>
    one.incompatibleFamilies.some((family) => same(family, other.family));
  if (declares(over, under) || declares(under, over)) {
    const who = declares(over, under) ? over : under;
    const other = who === over ? under : over;
    warnings.push({
      code: 'incompatible-families',
      detail: `${over.name} over ${under.name}: the sheet of ${who.name} names ${other.family} as not compatible`,
    });
  }
  const order = { primer: 0, colour: 1, clear: 2 };
  if (under.role && over.role && order[over.role] < order[under.role]) {
    warnings.push({
      code: 'roles-out-of-order',
      detail: `${over.name}, a ${over.role}, goes over ${under.name}, a ${under.role}`,
    });
  }
  return warnings;
}

/** The same for a whole build-up, from the metal outward. */
export function systemWarnings(coats: readonly LayeredProduct[]): FinishWarning[] {
  const warnings = coats.slice(1).flatMap((over, k) => layerWarnings(coats[k]!, over));
  // Two coats of one pair say the same once.
  return [...new Map(warnings.map((one) => [one.detail, one])).values()];
}

/** A film a quarter thicker than the sheet's is beyond what its times are stated for (common practice, no source). */
const THICK_FILM = 1.25;

/** @param film the dry film as it was applied, in µm; the sheet's own when not known */
export function filmWarnings(sheetMicrometres: number, film?: number | null): FinishWarning[] {
  if (!film || film <= sheetMicrometres * THICK_FILM) return [];
  return [
    {
      code: 'thick-film',
      detail:
        `The film of ${film} µm is thicker than the ${sheetMicrometres} µm the sheet's times ` +
        `are stated for; it dries more slowly, by how much the sheet does not say.`,
    },
  ];
}
