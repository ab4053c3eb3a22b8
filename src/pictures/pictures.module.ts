import type { Area } from '../platform/operation/area.js';
import { PicturesController } from './pictures.controller.js';
import { pictureOperations } from './pictures.operations.js';
import { pictureRelations } from './pictures.queries.js';

export const pictures: Area = {
  name: 'pictures',
  description: 'Pictures of machines, findings, tasks, coats and parts.',
  operations: pictureOperations,
  relations: pictureRelations,
  controllers: [PicturesController],
  files: [
    {
      name: 'sendPicture',
      summary: 'Attach a picture that is sent as a file: JPEG, PNG or WebP, at most 12 MiB',
      method: 'POST',
      path: '/pictures/files',
      query: [
        { name: 'machineId', description: 'The machine it shows; exactly one of these five is given.' },
        { name: 'findingId', description: 'The finding it shows.' },
        { name: 'taskId', description: 'The task it shows.' },
        { name: 'coatId', description: 'The coat it shows.' },
        { name: 'partId', description: 'The part it shows.' },
        { name: 'moment', description: 'before or after the work.' },
        { name: 'isReceipt', description: 'true: it shows what something cost.' },
        { name: 'caption', description: 'What it shows, in words.' },
        { name: 'takenAt', description: 'When it was taken; now unless said.' },
      ],
      takes: ['image/jpeg', 'image/png', 'image/webp'],
      gives: 'application/json',
    },
    {
      name: 'pictureFile',
      summary: 'The picture itself',
      method: 'GET',
      path: '/pictures/:id/file',
      gives: 'image/jpeg',
    },
    {
      name: 'pictureThumbnail',
      summary: 'The picture, small: at most 10 kB',
      method: 'GET',
      path: '/pictures/:id/thumbnail',
      gives: 'image/jpeg',
    },
  ],
};
