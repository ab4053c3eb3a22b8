import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

/** The folder of package.json. Compiled files lie deeper than their sources, so it is looked for upwards. */
export const projectRoot = findRoot(path.dirname(fileURLToPath(import.meta.url)));

function findRoot(folder: string): string {
  if (fs.existsSync(path.join(folder, 'package.json'))) return folder;
  const above = path.dirname(folder);
  if (above === folder) throw new Error('package.json was not found above this file');
  return findRoot(above);
}
