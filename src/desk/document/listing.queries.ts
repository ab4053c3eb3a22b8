/** A text to copy into an advertisement: what the machine is, what was done, what is left; no price, no name, no number. */
import { z } from 'zod';
import { kindWords, machineName } from '../../machines/machine-name.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { id } from '../../platform/shapes.js';
import { asFoundText } from '../../work/as-found.js';
import { startingPoint } from '../handover/starting-point.js';
import { Listing } from './document.shapes.js';

const sentence = (words: string): string => {
  const text = words.trim().replace(/\s+/g, ' ');
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;
};

async function listing(context: OperationContext, jobId: string) {
  const point = await startingPoint(context, jobId);
  const { machineId } = await findOne(context.tx.job, 'job', jobId);
  const asFound = point.asFound !== null || point.safetyMissing.length > 0;
  const kind = kindWords[point.machine.kind] ?? 'machine';
  const { engine, clearingWidthMillimetres: width } = point.machine;
  const { unitSystem } = await context.tx.shop.findFirstOrThrow({ select: { unitSystem: true } });
  const fitted = [...new Set(point.partsFitted.map((part) => part.name))];
  const named = (status: string) => point.equipment.filter((one) => one.status === status).map((one) => one.name);
  const decided = point.findings.filter((finding) => finding.verdict === 'serveOn');
  const lines = [
    asFound ? asFoundText : null,
    point.asFound?.record ?? null,
    [
      engine ? `Engine: ${engine}.` : '',
      width
        ? `Working width ${unitSystem === 'imperial' ? `${Math.round(width / 25.4)} in` : `${width / 10} cm`}.`
        : '',
      named('fitted').length > 0 ? `With ${named('fitted').join(', ')}.` : '',
      named('removed').length > 0 ? `Removed: ${named('removed').join(', ')}.` : '',
      named('missing').length > 0 ? `Missing: ${named('missing').join(', ')}.` : '',
    ]
      .filter(Boolean)
      .join(' '),
    point.workDone.length > 0 ? `Done: ${point.workDone.map((task) => task.name.toLowerCase()).join(', ')}.` : null,
    fitted.length > 0 ? `Fitted: ${fitted.join(', ')}.` : null,
    point.coats.length > 0
      ? `Painted: ${[...new Set(point.coats.map((coat) => coat.surface.toLowerCase()))].join(', ')}.`
      : null,
    point.safetyChecks.some((check) => check.passed)
      ? `Checked: ${point.safetyChecks
          .filter((check) => check.passed)
          .map((check) => check.title.toLowerCase())
          .join(', ')}.`
      : null,
    ...decided.map((finding) => sentence(`${finding.component}: ${finding.observation}; left as it is`)),
    point.workLeft.length > 0 ? `Still to do: ${point.workLeft.map((one) => one.toLowerCase()).join(', ')}.` : null,
    asFound ? null : 'A written record of the work and of the maintenance to come goes with it.',
  ].filter((line): line is string => Boolean(line));
  const pictures = await context.tx.picture.findMany({
    where: { machineId, archivedAt: null, isReceipt: false },
    orderBy: [{ takenAt: 'desc' }, { id: 'desc' }],
    select: { id: true, moment: true },
  });
  const order = { after: 0, none: 1, before: 2 } as const;
  return {
    title: `${machineName(point.machine)}, ${kind}${asFound ? ', as found' : ''}`,
    text: lines.join('\n\n'),
    asFound,
    pictureIds: pictures.sort((a, b) => order[a.moment ?? 'none'] - order[b.moment ?? 'none']).map((one) => one.id),
  };
}

export const listingQuery = query({
  name: 'listing',
  summary: 'A text and pictures to advertise a machine with; one that has not passed its checks is offered as found',
  rest: { method: 'GET', path: '/jobs/:id/listing' },
  input: z.strictObject({ id }),
  output: Listing,
  run: (context, { id: jobId }) => listing(context, jobId),
});
