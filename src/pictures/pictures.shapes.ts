import { z } from 'zod';
import { choice, editableFields, id, instant, shape, text, wholeNumber } from '../platform/shapes.js';

export const PictureMoment = choice(
  'PictureMoment',
  ['before', 'after'],
  'Whether it shows the thing before the work on it or after.',
);

/** What a picture may hang on: exactly one of these is given. */
export const subjectFields = {
  machineId: id.nullish(),
  findingId: id.nullish(),
  taskId: id.nullish(),
  coatId: id.nullish(),
  partId: id.nullish(),
};

const saidFields = {
  moment: PictureMoment.nullish(),
  isReceipt: z
    .boolean()
    .default(false)
    .meta({ description: 'It shows what something cost: keys that may not see prices are not shown it.' }),
  caption: text(200).nullish(),
};

export const Picture = shape(
  'Picture',
  {
    ...editableFields,
    machineId: id.nullable(),
    jobId: id.nullable(),
    findingId: id.nullable(),
    taskId: id.nullable(),
    coatId: id.nullable(),
    partId: id.nullable(),
    moment: PictureMoment.nullable(),
    isReceipt: z.boolean(),
    caption: z.string().nullable(),
    width: wholeNumber.meta({ description: 'In pixels, upright.' }),
    height: wholeNumber.meta({ description: 'In pixels, upright.' }),
    bytes: wholeNumber.meta({ description: 'The size of the whole picture as it is kept.' }),
    takenAt: instant,
    archivedAt: instant.nullable(),
  },
  'A picture of a machine, a finding, a task, a coat or a part. It is kept as JPEG, upright, without the place it was taken at.',
);

/** 12 MiB, as base64. */
const MAX_CONTENT = 16_800_000;
export const PictureCreate = z.strictObject({
  ...subjectFields,
  ...saidFields,
  takenAt: instant.nullish().meta({ description: 'Now unless said.' }),
  content: z
    .string()
    .min(4, 'must be the picture, in base64')
    .max(MAX_CONTENT, 'is more than 12 MiB: choose a smaller size in the camera’s settings')
    .regex(/^[A-Za-z0-9+/]+={0,2}$/, 'must be base64')
    .meta({
      description:
        'The file in base64: JPEG, PNG or WebP. A body of JSON holds 1 MiB; a larger file is sent as it is to /pictures/files.',
    }),
});
export const PictureChange = z.strictObject({
  moment: PictureMoment.nullish(),
  isReceipt: z.boolean().optional(),
  caption: text(200).nullish(),
});

/** The address's arguments where the body is the file itself. */
export const PictureSent = z.strictObject({
  ...subjectFields,
  moment: PictureMoment.nullish(),
  isReceipt: z
    .enum(['true', 'false'])
    .transform((word) => word === 'true')
    .optional(),
  caption: text(200).nullish(),
  takenAt: instant.nullish(),
});
