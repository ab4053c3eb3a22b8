/** What speaks against a coat by the conditions it went on in and by what lies under it. */
import { type FinishWarning, type LayeredProduct, layerWarnings } from '../engine/cure/index.js';
import { decidePaint, type PaintRefusal } from '../engine/weather/index.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { withRecoatWindows } from './recoat-windows.js';
import { surfaceKey } from './surfaces.js';

/** What is fetched with a coat: the can it came from, and what has happened to it since. */
export const withHistory = {
  product: { include: withRecoatWindows },
  sandings: { where: { archivedAt: null }, orderBy: { sandedAt: 'asc' as const } },
  moves: { where: { archivedAt: null }, orderBy: { movedAt: 'asc' as const } },
};
export type CoatWithProduct = Stored<'coat', typeof withHistory>;

export const asLayer = (product: Stored<'coatingProduct'>): LayeredProduct => ({
  name: product.name,
  family: product.family,
  role: product.role,
  incompatibleFamilies: product.incompatibleFamilies,
});

/** What speaks against painting, by the codes that coats are warned with. */
export const conditionCodes: Record<PaintRefusal, string> = {
  'air-too-cold': 'too-cold',
  'metal-too-cold': 'too-cold',
  'air-too-hot': 'too-hot',
  'metal-too-hot': 'too-hot',
  'too-humid': 'too-humid',
  'too-near-dew-point': 'too-near-dew-point',
};

/** The product's limits against what was measured when the coat went on; what was not measured says nothing. */
function conditionWarnings(coat: Stored<'coat'>, product: Stored<'coatingProduct'>): FinishWarning[] {
  const limits = {
    minCelsius: Number(product.minCelsius),
    maxCelsius: Number(product.maxCelsius),
    maxHumidityPercent: Number(product.maxHumidityPercent),
    dewPointMarginCelsius: Number(product.dewPointMarginCelsius),
  };
  const metal = coat.metalCelsius === null ? null : Number(coat.metalCelsius);
  // Where only the metal was measured, nothing is known of the air but that the metal stood in it.
  const air = coat.airCelsius === null ? metal : Number(coat.airCelsius);
  if (air === null) return [];
  // Without a humidity only the temperature is judged: air of 1 % is never too damp.
  const humidity = coat.humidityPercent === null ? 1 : Math.max(1, Number(coat.humidityPercent));
  const { refusals } = decidePaint({ airCelsius: air, humidityPercent: humidity, metalCelsius: metal }, limits);
  const warnings = refusals.map(({ code, detail }) => ({
    code: conditionCodes[code],
    detail: `${product.name}: ${detail}`,
  }));
  // Where air and metal are as warm as each other, one limit would be told twice.
  return warnings.filter((one, index) => warnings.findIndex((other) => other.code === one.code) === index);
}

/** The coat directly beneath another on the same surface of the same job. */
export function coatBeneath<C extends Stored<'coat'>>(coat: Stored<'coat'>, coats: readonly C[]): C | undefined {
  return coats
    .filter(
      (other) =>
        other.jobId === coat.jobId &&
        surfaceKey(other.surface) === surfaceKey(coat.surface) &&
        other.id !== coat.id &&
        other.coatNumber < coat.coatNumber,
    )
    .sort((a, b) => b.coatNumber - a.coatNumber || b.appliedAt.getTime() - a.appliedAt.getTime())[0];
}

/** @param coats all standing coats of the coat's job, with their product */
export function warningsFor(coat: CoatWithProduct, coats: readonly CoatWithProduct[]): FinishWarning[] {
  const beneath = coatBeneath(coat, coats);
  return [
    ...conditionWarnings(coat, coat.product),
    ...(beneath ? layerWarnings(asLayer(beneath.product), asLayer(coat.product)) : []),
  ];
}

/** All coats of some jobs that were not archived, with their product, as they lie. One statement and one for the products. */
export function coatsOfJobs(context: OperationContext, jobIds: readonly string[]): Promise<CoatWithProduct[]> {
  return context.tx.coat.findMany({
    where: { jobId: { in: [...new Set(jobIds)] }, archivedAt: null },
    include: withHistory,
    orderBy: [{ surface: 'asc' }, { coatNumber: 'asc' }, { appliedAt: 'asc' }],
  });
}
