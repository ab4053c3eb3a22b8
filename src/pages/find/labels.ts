/** Sheets of labels, to print and stick on. */
import { drawLabels } from '../../desk/labels/label-sheet.js';
import { Labels } from '../../desk/labels/labels.shapes.js';
import type { FileDeclared } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { jobOf } from '../machine/load-machine.js';

async function sheet(view: View, operation: string, input: object) {
  const { labels } = await view.read(operation, Labels, input);
  const paper = view.shop.unitSystem === 'imperial' ? 'letter' : 'a4';
  return {
    type: 'application/pdf',
    name: 'labels.pdf',
    content: await drawLabels(labels, paper, view.say.now, view.publicUrl),
  };
}

export const labelFiles: readonly FileDeclared[] = [
  {
    path: '/machine/:number/labels.pdf',
    make: async (view) => sheet(view, 'jobLabels', { id: (await jobOf(view)).id }),
  },
  {
    path: '/labels.pdf',
    make: (view) => sheet(view, 'stockLabels', { ids: (view.query.ids ?? '').split(',').filter(Boolean) }),
  },
];
