/** The pictures of a thing, from the thing. */
import { Part } from '../catalogue/catalogue.shapes.js';
import { Finding } from '../diagnosis/diagnosis.shapes.js';
import { Coat } from '../finish/finish.shapes.js';
import { Machine } from '../machines/machines.shapes.js';
import { children, type OperationContext, type Relation } from '../platform/operation/operation.js';
import { Job, Task } from '../work/work.shapes.js';
import { visiblePictures } from './picture-files.js';
import { Picture } from './pictures.shapes.js';

type Key = 'machineId' | 'jobId' | 'findingId' | 'taskId' | 'coatId' | 'partId';
const picturesBy =
  (key: Key) =>
  ({ tx, role }: OperationContext, ids: string[]) =>
    tx.picture.findMany({
      where: { [key]: { in: ids }, archivedAt: null, ...visiblePictures({ role }) },
      orderBy: [{ takenAt: 'asc' }, { id: 'asc' }],
    });

const pictures = { field: 'pictures', to: Picture };
export const pictureRelations: Relation[] = [
  children({
    ...pictures,
    on: Machine,
    key: 'machineId',
    find: picturesBy('machineId'),
    description: 'Its pictures, and those of what was found and done on it, oldest first.',
  }),
  children({
    ...pictures,
    on: Job,
    key: 'jobId',
    find: picturesBy('jobId'),
    description: 'Pictures of its findings, tasks and coats, oldest first.',
  }),
  children({
    ...pictures,
    on: Finding,
    key: 'findingId',
    find: picturesBy('findingId'),
    description: 'Pictures of it, oldest first.',
  }),
  children({
    ...pictures,
    on: Task,
    key: 'taskId',
    find: picturesBy('taskId'),
    description: 'Pictures of it, oldest first.',
  }),
  children({
    ...pictures,
    on: Coat,
    key: 'coatId',
    find: picturesBy('coatId'),
    description: 'Pictures of it, oldest first.',
  }),
  children({
    ...pictures,
    on: Part,
    key: 'partId',
    find: picturesBy('partId'),
    description: 'Pictures of it, oldest first.',
  }),
];
