/** What is done about paint: a coat put on, a thermometer read. */
import { Coat, ReadingsRecorded, RecordedCoat } from '../../finish/finish.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Task } from '../../work/work.shapes.js';
import type { ActDeclared, ActResult } from '../frame/page.js';
import { checkPictures, keepPictures } from '../pictures/pictures.js';

const coat: ActDeclared = {
  name: 'coat',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const jobId = form.needed('job', 'on which machine');
    const productId = form.needed('product', 'which can');
    const surface = form.needed('surface', 'what was painted');
    const appliedAt = form.moment();
    const placeId = form.text('place');
    const taskId = form.text('task');
    const measured = {
      airCelsius: form.quantity('air', 'temperature'),
      humidityPercent: form.number('humidity'),
      squareMetres: form.quantity('area', 'area'),
      litresUsed: form.quantity('used', 'volume'),
    };
    const note = form.text('note');
    checkPictures(form);
    form.check();
    const given = Object.fromEntries(
      Object.entries({ ...measured, placeId, taskId, note }).filter(([, value]) => value !== null),
    );
    const made = await view.act('createCoat', RecordedCoat, { jobId, productId, surface, appliedAt, ...given });
    await keepPictures(view, form, { coatId: made.id });
    let finished = '';
    if (taskId && form.checked('finish')) {
      const task = await view.act('finishTask', Task, { id: taskId, at: appliedAt });
      finished = ` Done: ${task.name}.`;
    }
    const warned = made.warnings.map((warning) => ` ${view.say.sentence(warning.detail)}`).join('');
    return {
      said: `Coat ${made.coatNumber} on ${surface} ${view.say.moment(appliedAt)}.${finished}${warned}`,
      undo: {
        act: 'uncoat',
        fields: { coat: made.id },
        says: 'The coat is struck from the record, and what it was charged with goes back.',
      },
      to: '/paint',
    };
  },
};

const uncoat: ActDeclared = {
  name: 'uncoat',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('coat', 'which coat');
    form.check();
    const { version } = await view.read('coat', Coat, { id });
    await view.act('archiveCoat', Coat, { id, version });
    return { said: 'Taken back: the coat is struck from the record.' };
  },
};

const reading: ActDeclared = {
  name: 'reading',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const placeId = form.needed('place', 'where');
    const celsius = form.quantityNeeded('air', 'temperature', 'what the thermometer shows');
    const humidityPercent = form.number('humidity');
    const readAt = form.moment();
    form.check();
    await view.act('recordTemperatures', ReadingsRecorded, {
      id: placeId,
      readings: [{ readAt, celsius, ...(humidityPercent === null ? {} : { humidityPercent }) }],
    });
    return { said: `Noted: ${view.say.show('temperature', celsius)} ${view.say.moment(readAt)}.` };
  },
};

export const paintActs: readonly ActDeclared[] = [coat, uncoat, reading];
