/** The coats that still matter: on open jobs and not yet fully cured. */
import { z } from 'zod';
import { at } from '../../engine/look-up.js';
import { statusesOf } from '../../finish/curing.queries.js';
import { Coat, CoatStatus } from '../../finish/finish.shapes.js';
import { surfaceKey } from '../../finish/surfaces.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { id, shape, wholeNumber } from '../../platform/shapes.js';

export const CuringCoat = shape(
  'CuringCoat',
  {
    coat: Coat,
    status: CoatStatus,
    productName: z.string(),
    placeName: z.string().nullable(),
    jobId: id,
    jobNumber: wholeNumber,
    jobTitle: z.string(),
    topmost: z.boolean().meta({ description: 'No later coat lies on it: its recoat periods are those that count.' }),
  },
  'A coat that has not fully cured, where it is and how it stands.',
);
export const CuringCoats = shape('CuringCoats', { coats: z.array(CuringCoat) }, 'Coats that have not fully cured.');

/** Coats older than this have cured in any weather that is above freezing. */
const DAYS_BACK = 240;

async function curingCoats(context: OperationContext) {
  const rows = await context.tx.coat.findMany({
    where: {
      archivedAt: null,
      appliedAt: { gte: new Date(context.now.getTime() - DAYS_BACK * 86_400_000) },
      job: { closedDate: null, archivedAt: null },
    },
    include: {
      product: { select: { name: true } },
      place: { select: { name: true } },
      job: { select: { id: true, number: true, title: true } },
    },
    orderBy: [{ appliedAt: 'desc' }, { id: 'asc' }],
  });
  const statuses = await statusesOf(context, rows);
  const coats = rows.map((row, index) => ({
    coat: row,
    status: at(statuses, index),
    productName: row.product.name,
    placeName: row.place?.name ?? null,
    jobId: row.job.id,
    jobNumber: row.job.number,
    jobTitle: row.job.title,
    topmost: !rows.some(
      (other) =>
        other.jobId === row.jobId &&
        surfaceKey(other.surface) === surfaceKey(row.surface) &&
        other.coatNumber > row.coatNumber,
    ),
  }));
  return { coats: coats.filter(({ status }) => status.stage !== 'full') };
}

export const curingCoatsQuery = query({
  name: 'curingCoats',
  summary: 'The coats on open jobs that have not fully cured: may each be recoated now, and when may it be assembled',
  rest: { method: 'GET', path: '/curing-coats' },
  input: z.strictObject({}),
  output: CuringCoats,
  run: curingCoats,
});
