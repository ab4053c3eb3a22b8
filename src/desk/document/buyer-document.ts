/** What a buyer is given of a machine: its starting point and the pictures of it, and nothing of what it cost. */
import { machineName } from '../../machines/machine-name.js';
import { readPicture } from '../../pictures/picture-files.js';
import { calendarText } from '../../platform/icalendar.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { startingPoint } from '../handover/starting-point.js';
import { drawDocument } from './document-pdf.js';
import { type Block, readText } from './read-text.js';

export interface DocumentPicture {
  id: string;
  words: string;
  width: number;
  height: number;
}

/** Pictures before the work first, then as they were taken; those of receipts never. */
const rank = { before: 0, none: 1, after: 2 } as const;
const momentWords = { before: 'before the work', none: '', after: 'after the work' } as const;
/** More than these are an album, and no paper. */
const MOST_PICTURES = 24;

async function picturesOf({ tx }: OperationContext, machineId: string): Promise<DocumentPicture[]> {
  const rows = await tx.picture.findMany({
    where: { machineId, archivedAt: null, isReceipt: false },
    include: { finding: { select: { component: true } }, coat: { select: { surface: true } } },
    orderBy: [{ takenAt: 'asc' }, { id: 'asc' }],
  });
  return rows
    .sort((a, b) => rank[a.moment ?? 'none'] - rank[b.moment ?? 'none'])
    .slice(0, MOST_PICTURES)
    .map(({ id, caption, moment, finding, coat, width, height }) => {
      const what = caption ?? finding?.component ?? coat?.surface ?? 'The machine';
      const when = momentWords[moment ?? 'none'];
      return { id, words: when ? `${what}, ${when}` : what, width, height };
    });
}

/** @throws NotFound when the shop has no such job */
export async function buyerDocument(context: OperationContext, jobId: string, withHours: boolean) {
  const point = await startingPoint(context, jobId, { withHours });
  const job = await findOne(context.tx.job, 'job', jobId);
  const shop = await context.tx.shop.findFirstOrThrow({ select: { name: true, unitSystem: true } });
  const blocks: Block[] = readText(point.text);
  return { shop, name: machineName(point.machine), point, blocks, pictures: await picturesOf(context, job.machineId) };
}
export type BuyerDocument = Awaited<ReturnType<typeof buyerDocument>>;

/** @returns the paper as PDF, with its pictures */
export async function documentPdf(context: OperationContext, jobId: string, withHours: boolean): Promise<Buffer> {
  const { shop, name, blocks, pictures } = await buyerDocument(context, jobId, withHours);
  const drawn = [];
  for (const picture of pictures) drawn.push({ ...picture, content: await readPicture(context, picture.id, 'full') });
  return drawDocument({
    title: name,
    author: shop.name,
    paper: shop.unitSystem === 'imperial' ? 'LETTER' : 'A4',
    drawnAt: context.now,
    blocks,
    pictures: drawn,
  });
}

/** The days on which the season makes maintenance due, once each, for any calendar program. */
export function maintenanceCalendar({ name, point }: BuyerDocument, stampedAt: Date): string {
  return calendarText({
    name: `${name}: maintenance`,
    description: `What to look at when. The maker's manual goes before it.`,
    stampedAt,
    days: point.maintenance.flatMap(({ dueDate, title, nextDue, text }, index) =>
      dueDate
        ? [
            {
              uid: `maintenance-${index}-${point.jobId}@frostwright`,
              day: dueDate,
              summary: `${title} (${name})`,
              description: `${title}, ${nextDue}. ${text}`,
            },
          ]
        : [],
    ),
  });
}
