/** What is done about paint: a coat put on, a thermometer read. */
import { Coat, CoatMove, CoatSanding, CoatStatus, ReadingsRecorded, RecordedCoat } from '../../finish/finish.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Place } from '../../shop/shop.shapes.js';
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
      metalCelsius: form.quantity('metal', 'temperature'),
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
    const metalCelsius = form.quantity('metal', 'temperature');
    const readAt = form.moment();
    form.check();
    const noted = await view.act('recordTemperatures', ReadingsRecorded, {
      id: placeId,
      readings: [
        {
          readAt,
          celsius,
          ...(humidityPercent === null ? {} : { humidityPercent }),
          ...(metalCelsius === null ? {} : { metalCelsius }),
        },
      ],
    });
    const warned = noted.warnings.length > 0 ? ' The metal is too near the dew point to be painted.' : '';
    return { said: `Noted: ${view.say.show('temperature', celsius)} ${view.say.moment(readAt)}.${warned}` };
  },
};

const sanded: ActDeclared = {
  name: 'sanded',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const coatId = form.needed('coat', 'which coat');
    const sandedAt = form.moment();
    form.check();
    const made = await view.act('createCoatSanding', CoatSanding, { coatId, sandedAt });
    const { recoat } = await view.read('coatStatus', CoatStatus, { id: coatId });
    return {
      said: `Sanded ${view.say.moment(sandedAt)}. ${view.say.sentence(recoat.reason)}`,
      undo: { act: 'unsanded', fields: { sanding: made.id }, says: 'The sanding is struck from the record.' },
    };
  },
};

const unsanded: ActDeclared = {
  name: 'unsanded',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('sanding', 'which sanding');
    form.check();
    const { version } = await view.read('coatSanding', CoatSanding, { id });
    await view.act('archiveCoatSanding', CoatSanding, { id, version });
    return { said: 'Taken back: the coat counts as not sanded.' };
  },
};

const moved: ActDeclared = {
  name: 'moved',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const coatId = form.needed('coat', 'which coat');
    const placeId = form.text('place');
    const movedAt = form.moment();
    form.check();
    const made = await view.act('createCoatMove', CoatMove, { coatId, placeId, movedAt });
    const where = placeId ? `to ${(await view.read('place', Place, { id: placeId })).name}` : 'outdoors';
    return {
      said: `Moved ${where} ${view.say.moment(movedAt)}.`,
      undo: { act: 'unmoved', fields: { move: made.id }, says: 'The coat counts as standing where it stood.' },
    };
  },
};

const unmoved: ActDeclared = {
  name: 'unmoved',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('move', 'which move');
    form.check();
    const { version } = await view.read('coatMove', CoatMove, { id });
    await view.act('archiveCoatMove', CoatMove, { id, version });
    return { said: 'Taken back: the coat stands where it stood.' };
  },
};

export const paintActs: readonly ActDeclared[] = [coat, uncoat, reading, sanded, unsanded, moved, unmoved];
