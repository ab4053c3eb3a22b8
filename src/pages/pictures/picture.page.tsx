/** One picture, as large as it is kept. */
import { readPicture } from '../../pictures/picture-files.js';
import { Picture } from '../../pictures/pictures.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Job } from '../../work/work.shapes.js';
import { Act, Choice, Fold, Go, TextField } from '../frame/components.js';
import type { ActDeclared, ActResult, FileDeclared, Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { addPicture, altOf, removePicture } from './pictures.js';

async function show(view: View) {
  const picture = await view.read('picture', Picture, { id: view.params.id ?? '' });
  const jobs = picture.machineId
    ? (await view.list('jobs', Job, { machineId: picture.machineId, first: 1, includeArchived: true })).items
    : [];
  const [job] = jobs;
  const back = job ? `/machine/${job.number}` : picture.partId ? `/thing/part/${picture.partId}` : '/machines';
  const act = 'picture-said';
  return {
    title: 'Picture',
    answer: altOf(picture),
    more: <p>Taken {view.say.moment(picture.takenAt)}.</p>,
    doing: (
      <Go view={view} path={back} button>
        {job ? `Back to job ${job.number}` : 'Back'}
      </Go>
    ),
    rest: (
      <>
        <p>
          <img
            class="whole"
            src={view.to(`/picture/${picture.id}/whole`)}
            alt={altOf(picture)}
            width={picture.width}
            height={picture.height}
          />
        </p>
        {view.writes && !picture.archivedAt ? (
          <>
            <Fold title="Say what it shows" open={view.refusal?.act === act}>
              <Act view={view} act={act} fields={{ picture: picture.id, version: picture.version }} label="Note it">
                <TextField view={view} act={act} name="caption" label="In words" value={picture.caption} max={200} />
                <Choice
                  view={view}
                  act={act}
                  name="moment"
                  label="It shows it"
                  value={picture.moment ?? ''}
                  options={[
                    { value: '', label: 'as it is' },
                    { value: 'before', label: 'before' },
                    { value: 'after', label: 'after' },
                  ]}
                />
              </Act>
            </Fold>
            <Act view={view} act="unpicture" fields={{ picture: picture.id, to: back }} label="Take it away" quiet />
          </>
        ) : null}
      </>
    ),
  };
}

const said: ActDeclared = {
  name: 'picture-said',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('picture', 'which picture');
    const version = form.whole('version');
    const moment = form.has('moment') ? form.oneOf('moment', ['before', 'after']) : null;
    form.check();
    await view.act('changePicture', Picture, { id, version, caption: form.text('caption'), moment });
    return { said: 'Noted.' };
  },
};

const YEAR_SECONDS = 31_536_000;
const file = (name: 'small' | 'whole'): FileDeclared => ({
  path: `/picture/:id/${name}`,
  make: async (view) => ({
    type: 'image/jpeg',
    content: await view.within((context) =>
      readPicture(context, view.params.id ?? '', name === 'small' ? 'thumbnail' : 'full'),
    ),
    // A picture never changes under its id, and the address is the device's own.
    keptSeconds: YEAR_SECONDS,
  }),
});

export const picturePage: Page = { path: '/picture/:id', show };
export const pictureFiles: readonly FileDeclared[] = [file('small'), file('whole')];
export const pictureActs: readonly ActDeclared[] = [addPicture, said, removePicture];
