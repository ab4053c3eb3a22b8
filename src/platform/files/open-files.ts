/** The store of files that the settings name. */
import path from 'node:path';
import type { Settings } from '../settings.js';
import { type FileStore, folderStore } from './file-store.js';
import { s3Store } from './s3-store.js';

export const openFiles = ({ objectStore, dataDir }: Pick<Settings, 'objectStore' | 'dataDir'>): FileStore =>
  objectStore ? s3Store(objectStore) : folderStore(path.join(dataDir, 'pictures'));
