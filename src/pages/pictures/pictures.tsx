/** Pictures of a thing: small ones that load when they come into view, and a form that adds more. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { requireFormat } from '../../pictures/normalise.js';
import { Picture } from '../../pictures/pictures.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Act, Choice, Fold, TextField, Tick } from '../frame/components.js';
import type { Form } from '../frame/form.js';
import type { ActDeclared, ActResult } from '../frame/page.js';
import type { View } from '../frame/view.js';

export type PictureRow = z.output<typeof Picture>;
export type Subject = Partial<Record<'machineId' | 'findingId' | 'taskId' | 'coatId' | 'partId', string>>;
const subjects = ['machineId', 'findingId', 'taskId', 'coatId', 'partId'] as const;

/** What a camera hands over as one of these, phones convert to. */
export const ACCEPTED = 'image/jpeg,image/png,image/webp';

const momentWords = { before: 'before the work', after: 'after the work' } as const;

/** What it shows, for who cannot see it. */
export const altOf = (picture: PictureRow): string =>
  picture.caption ?? `Picture${picture.moment ? ` ${momentWords[picture.moment]}` : ''}`;

export const Pictures: FC<{ view: View; pictures: readonly PictureRow[] }> = ({ view, pictures }) =>
  pictures.length === 0 ? null : (
    <ul class="pictures">
      {pictures.map((picture) => {
        const side = 320 / Math.max(picture.width, picture.height);
        return (
          <li>
            <a href={view.to(`/picture/${picture.id}`)}>
              <img
                src={view.to(`/picture/${picture.id}/small`)}
                alt={altOf(picture)}
                loading="lazy"
                width={Math.max(1, Math.round(picture.width * side))}
                height={Math.max(1, Math.round(picture.height * side))}
              />
            </a>
          </li>
        );
      })}
    </ul>
  );

/** The field alone, for a form that records something else as well. */
export const PictureField: FC<{ label: string }> = ({ label }) => (
  <label class="field">
    <span>
      {label} <small>from the camera or the album, several at once</small>
    </span>
    <input type="file" name="picture" accept={ACCEPTED} multiple />
  </label>
);

export const AddPictures: FC<{ view: View; subject: Subject; receipts?: boolean }> = ({ view, subject, receipts }) => {
  const act = 'picture';
  const about = Object.values(subject).join();
  return (
    <Fold title="Add pictures" open={view.refusal?.act === act && view.refusal.about === about}>
      <Act view={view} act={act} about={about} fields={subject} label="Add" files>
        <PictureField label="Pictures" />
        <Choice
          view={view}
          act={act}
          about={about}
          name="moment"
          label="They show it"
          value=""
          options={[
            { value: '', label: 'as it is' },
            { value: 'before', label: 'before' },
            { value: 'after', label: 'after' },
          ]}
        />
        <TextField view={view} act={act} about={about} name="caption" label="In words" max={200} />
        {receipts ? (
          <Tick
            view={view}
            act={act}
            about={about}
            name="receipt"
            label="It is a receipt: not shown to who sees no prices"
          />
        ) : null}
      </Act>
    </Fold>
  );
};

/** Notes what is no picture as the field's fault, before anything is recorded. */
export function checkPictures(form: Form): void {
  for (const file of form.files.filter((one) => one.name === 'picture')) {
    try {
      requireFormat(file.content);
    } catch (error) {
      form.fault('picture', (error as Error).message);
    }
  }
}

/** Keeps what came with a form; the first that is refused refuses the form. */
export async function keepPictures(
  view: View,
  form: Form,
  subject: Subject,
  more: { moment?: 'before' | 'after' | null; caption?: string | null; isReceipt?: boolean } = {},
): Promise<PictureRow[]> {
  const kept: PictureRow[] = [];
  for (const file of form.files.filter((one) => one.name === 'picture'))
    kept.push(
      await view.act('createPicture', Picture, {
        ...subject,
        ...more,
        takenAt: form.tapped.toISOString(),
        content: file.content.toString('base64'),
      }),
    );
  return kept;
}

export const countOf = (pictures: readonly unknown[]): string =>
  pictures.length === 1 ? 'One picture' : `${pictures.length} pictures`;

export const addPicture: ActDeclared = {
  name: 'picture',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const subject: Subject = {};
    for (const name of subjects) if (form.has(name)) subject[name] = form.raw(name);
    if (form.files.length === 0) form.fault('picture', 'Choose a picture first.');
    checkPictures(form);
    const moment = form.has('moment') ? form.oneOf('moment', ['before', 'after']) : null;
    form.check();
    const kept = await keepPictures(view, form, subject, {
      moment,
      caption: form.text('caption'),
      isReceipt: form.checked('receipt'),
    });
    return {
      said: `${countOf(kept)} added.`,
      undo: {
        act: 'unpicture',
        fields: { picture: kept.map((one) => one.id).join(',') },
        says: kept.length === 1 ? 'The picture is taken away.' : 'The pictures are taken away.',
      },
    };
  },
};

export const removePicture: ActDeclared = {
  name: 'unpicture',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const ids = form.needed('picture', 'which picture').split(',');
    form.check();
    for (const id of ids) {
      const { version } = await view.read('picture', Picture, { id });
      await view.act('archivePicture', Picture, { id, version });
    }
    return { said: `${countOf(ids)} taken away.`, to: form.has('to') ? form.raw('to') : undefined };
  },
};
