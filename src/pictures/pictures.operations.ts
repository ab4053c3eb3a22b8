/** Pictures: attached to one thing, captioned, archived. The file itself is normalised in a thread and kept in the store. */
import { randomUUID } from 'node:crypto';
import { Invalid, NotFound } from '../platform/errors.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type Operation, type OperationContext, workers } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { requireFormat } from './normalise.js';
import { pictureKey, visiblePictures } from './picture-files.js';
import { Picture, PictureChange, PictureCreate, PictureMoment, subjectFields } from './pictures.shapes.js';
import { workerTasks } from './worker-tasks.js';

const subjects = ['machineId', 'findingId', 'taskId', 'coatId', 'partId'] as const;
type Subject = Partial<Record<(typeof subjects)[number], string | null | undefined>>;

/** The one thing given, and the machine and job that it belongs to. */
async function placeOf(context: OperationContext, given: Subject) {
  const named = subjects.filter((name) => given[name] != null);
  if (named.length !== 1)
    throw new Invalid([
      { detail: `give exactly one of ${subjects.join(', ')}: what the picture hangs on`, pointer: '' },
    ]);
  const { tx } = context;
  const ofJob = async (jobId: string | null) => {
    const job = jobId === null ? null : await findOne(tx.job, 'job', jobId);
    return { jobId, machineId: job?.machineId ?? null };
  };
  if (given.machineId) {
    await findOne(tx.machine, 'machine', given.machineId);
    return { machineId: given.machineId };
  }
  if (given.findingId) {
    const { machineId, jobId } = await findOne(tx.finding, 'finding', given.findingId);
    return { findingId: given.findingId, machineId, jobId };
  }
  if (given.taskId)
    return { taskId: given.taskId, ...(await ofJob((await findOne(tx.task, 'task', given.taskId)).jobId)) };
  if (given.coatId)
    return { coatId: given.coatId, ...(await ofJob((await findOne(tx.coat, 'coat', given.coatId)).jobId)) };
  const partId = given.partId as string;
  await findOne(tx.part, 'part', partId);
  return { partId };
}

const createPicture = command({
  name: 'createPicture',
  summary: 'Attach a picture to a machine, a finding, a task, a coat or a part',
  roles: workers,
  rest: { method: 'POST', path: '/pictures', status: 201 },
  input: PictureCreate,
  output: Picture,
  async run(context, { content, ...input }) {
    const place = await placeOf(context, input);
    const file = Buffer.from(content, 'base64');
    requireFormat(file);
    const takenAt = input.takenAt ? new Date(input.takenAt) : context.now;
    if (takenAt > context.now) throw new Invalid([{ detail: 'lies in the future', pointer: '/takenAt' }]);
    const made = await context.compute(workerTasks.normalisePicture, { content: file }, context.signal);
    const pictureId = randomUUID();
    const keyOf = (size: 'full' | 'thumbnail') => pictureKey(context.shop.id, pictureId, size);
    // The files first: a record without its picture would be a loss, files without a record are only room.
    await context.files.put(keyOf('full'), made.full, 'image/jpeg');
    await context.files.put(keyOf('thumbnail'), made.thumbnail, 'image/jpeg');
    return context.tx.picture.create({
      data: {
        id: pictureId,
        shopId: context.shop.id,
        ...place,
        moment: input.moment ?? null,
        isReceipt: input.isReceipt,
        caption: input.caption ?? null,
        width: made.width,
        height: made.height,
        bytes: made.full.length,
        takenAt,
      },
    });
  },
});

const records = crudOperations({
  name: 'picture',
  plural: 'pictures',
  table: 'picture',
  shape: Picture,
  create: PictureCreate,
  change: PictureChange,
  writers: workers,
  filters: { ...subjectFields, jobId: id.nullish(), moment: PictureMoment.nullish() },
  where: ({ machineId, findingId, taskId, coatId, partId, jobId, moment }, context) => ({
    ...visiblePictures(context),
    ...given({ machineId, findingId, taskId, coatId, partId, jobId, moment }),
  }),
  sorts: ['takenAt', 'createdAt'],
  complete(context, rows) {
    // A receipt's picture is no picture for a key that sees no prices, by whichever way it asks.
    const hidden = rows.find((row) => row.isReceipt && context.role === 'helper');
    if (hidden) throw new NotFound('picture', hidden.id);
    return rows;
  },
});

function given<T extends object>(fields: T) {
  const named = Object.entries(fields).filter(([, value]) => value !== null && value !== undefined);
  return Object.fromEntries(named) as { [K in keyof T]?: NonNullable<T[K]> };
}

export const pictureOperations: Operation[] = [
  createPicture,
  ...records.filter((operation) => operation.name !== createPicture.name),
];
