/** Which part a replacement probably takes: what such a component took before, else what the catalogue names so. */
import type { OperationContext } from '../../platform/operation/operation.js';
import { treeOf } from '../components/index.js';

interface Wanted {
  componentCode: string | null;
  component: string;
  machine: { kind: string } & Model;
}
export interface LikelyPart {
  partId: string;
  partName: string;
  quantity: number;
  reason: string;
}
interface Model {
  /** Null where it is not known. */
  maker: string | null;
  model: string | null;
}

/** In two statements. @returns by the question's place; null where nothing names a part */
export async function likelyParts(
  context: OperationContext,
  wanted: readonly Wanted[],
): Promise<(LikelyPart | null)[]> {
  if (wanted.length === 0) return [];
  const before = await context.tx.finding.findMany({
    where: {
      archivedAt: null,
      verdict: 'replace',
      partNeed: { archivedAt: null, part: { archivedAt: null } },
      // What is asked about are machines of the shop, so their kinds are those of the database.
      machine: { kind: { in: [...new Set(wanted.map((one) => one.machine.kind))] as never } },
    },
    select: {
      componentCode: true,
      component: true,
      machine: { select: { kind: true, maker: true, model: true } },
      partNeed: { select: { quantity: true, part: { select: { id: true, name: true } } } },
    },
    orderBy: [{ foundDate: 'desc' }, { id: 'desc' }],
    take: 2000,
  });
  const parts = await context.tx.part.findMany({
    where: { archivedAt: null },
    select: { id: true, name: true, family: true, fits: true, fitsModels: true },
    orderBy: [{ name: 'asc' }],
  });
  return wanted.map((one): LikelyPart | null => {
    const alike = before.filter(
      (past) =>
        past.machine.kind === one.machine.kind &&
        (one.componentCode ? past.componentCode === one.componentCode : same(past.component, one.component)),
    );
    const sameModel = alike.find(({ machine }) => isModel(machine, one.machine));
    const [latest] = sameModel ? [sameModel] : alike;
    // Of another model only what may fit this one.
    const fitting = parts.filter((part) => fits(part, one.machine));
    if (latest?.partNeed && (sameModel || fitting.some((part) => part.id === latest.partNeed?.part.id)))
      return {
        partId: latest.partNeed.part.id,
        partName: latest.partNeed.part.name,
        quantity: Number(latest.partNeed.quantity),
        reason: `${latest.partNeed.part.name}: as on ${sameModel ? 'the same model' : 'another machine of its kind'} before`,
      };
    const component = treeOf(one.machine.kind).get(one.componentCode);
    const words = [one.component, ...(component ? [component.name, ...component.aliases] : [])].map(bare);
    const named = fitting
      .filter((part) => words.some((word) => word.length > 2 && ` ${bare(part.name)} `.includes(` ${word} `)))
      .sort(
        (a, b) =>
          Number(isKnownToFit(b, one.machine)) - Number(isKnownToFit(a, one.machine)) || a.name.length - b.name.length,
      )[0];
    return named
      ? {
          partId: named.id,
          partName: named.name,
          quantity: 1,
          reason: `${named.name}: the catalogue's part of that name`,
        }
      : null;
  });
}

const bare = (words: string): string =>
  words
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, ' ')
    .trim()
    .split(' ')
    .map((word) => word.replace(/(?<=[a-z]{3})(?<!s)s$/, ''))
    .join(' ');
const same = (a: string, b: string): boolean => bare(a) === bare(b);
const isModel = (a: Model, b: Model): boolean =>
  a.maker !== null &&
  a.model !== null &&
  b.maker !== null &&
  b.model !== null &&
  same(a.maker, b.maker) &&
  same(a.model, b.model);

const fits = (part: { fits: string[] }, machine: Wanted['machine']): boolean =>
  part.fits.length === 0 || part.fits.includes(machine.kind);
/** The models it is known to fit are a hint, and no list of all. The column is written only through its shape. */
const isKnownToFit = (part: { fitsModels: unknown }, machine: Wanted['machine']): boolean =>
  (part.fitsModels as Model[]).some((model) => isModel(model, machine));
