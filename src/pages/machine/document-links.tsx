/** What a buyer is given, from the machine's papers: the paper itself, links to it, and what an advertisement says. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { buyerDocument, documentPdf, maintenanceCalendar } from '../../desk/document/buyer-document.js';
import { DocumentLink, DocumentLinkMade, type Listing } from '../../desk/document/document.shapes.js';
import { ownerOnly } from '../../platform/operation/operation.js';
import { Act, Fold, Go, TextField, Tick } from '../frame/components.js';
import type { Shown } from '../frame/document.js';
import type { ActDeclared, ActResult, FileDeclared } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { jobOf } from './load-machine.js';

type LinkRow = z.output<typeof DocumentLink>;

const stateOf = (view: View, link: LinkRow): string => {
  if (link.withdrawnAt) return `withdrawn ${view.say.moment(link.withdrawnAt)}`;
  if (link.expiresDate === null) return 'opens until it is withdrawn';
  return link.expiresDate < view.say.today.toString()
    ? `ran out ${view.say.onDay(link.expiresDate)}`
    : `opens until ${view.say.day(link.expiresDate)}`;
};

export const DocumentLinks: FC<{ view: View; job: { id: string }; links: readonly LinkRow[] }> = ({
  view,
  job,
  links,
}) => {
  const act = 'document-link';
  return (
    <>
      <h2>A link for the buyer</h2>
      <p>Whoever has the link reads this paper and sees its pictures, receipts never. It shows no price.</p>
      <Fold title="Make a link" open={view.refusal?.act === act}>
        <Act view={view} act={act} fields={{ job: job.id }} label="Make the link" once>
          <TextField
            view={view}
            act={act}
            name="until"
            label="It opens until"
            hint="or until you withdraw it"
            type="date"
          />
          <Tick view={view} act={act} name="hours" label="It tells how long was worked on it" />
        </Act>
      </Fold>
      <ul class="rows">
        {links.map((link) => (
          <li>
            Made {view.say.moment(link.createdAt)}: {stateOf(view, link)}
            {link.withHours ? ', with hours' : ''}
            {link.withdrawnAt ? null : (
              <Act
                view={view}
                act="document-unlink"
                about={link.id}
                fields={{ link: link.id }}
                label="Withdraw it"
                quiet
              />
            )}
          </li>
        ))}
      </ul>
    </>
  );
};

export const ListingText: FC<{ listing: z.output<typeof Listing> }> = ({ listing }) => (
  <>
    <h2>To advertise it</h2>
    <label class="field">
      <span>Copy this</span>
      <textarea rows={10} readonly>
        {`${listing.title}\n\n${listing.text}`}
      </textarea>
    </label>
  </>
);

const makeLink: ActDeclared = {
  name: 'document-link',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    const expiresDate = form.date('until');
    form.check();
    const made = await view.act('createDocumentLink', DocumentLinkMade, {
      id,
      withHours: form.checked('hours'),
      ...(expiresDate ? { expiresDate } : {}),
    });
    const back = view.here;
    const shown: Shown = {
      title: 'A link for the buyer',
      answer: 'Copy this link now: it is not shown again.',
      more: made.url ? null : (
        <p>
          PUBLIC_URL is not set: put before it the address that the buyer can reach this service by, and see that they
          can.
        </p>
      ),
      rest: (
        <>
          <p>
            <code>{made.url ?? made.path}</code>
          </p>
          <p>
            <Go view={view} path={back} button>
              Back to the papers
            </Go>
          </p>
        </>
      ),
    };
    return { said: 'A link was made.', shownOnce: shown };
  },
};

const withdrawLink: ActDeclared = {
  name: 'document-unlink',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('link', 'which link');
    form.check();
    await view.act('withdrawDocumentLink', DocumentLink, { id });
    return { said: 'The link opens nothing any more.' };
  },
};

export const documentActs: readonly ActDeclared[] = [makeLink, withdrawLink];
export const documentFiles: readonly FileDeclared[] = [
  {
    path: '/machine/:number/machine.pdf',
    make: async (view) => {
      const { id } = await jobOf(view);
      return {
        type: 'application/pdf',
        name: 'machine.pdf',
        content: await view.within((context) => documentPdf(context, id, false)),
      };
    },
  },
  {
    path: '/machine/:number/maintenance.ics',
    make: async (view) => {
      const { id } = await jobOf(view);
      return {
        type: 'text/calendar',
        name: 'maintenance.ics',
        content: await view.within(async (context) =>
          maintenanceCalendar(await buyerDocument(context, id, false), context.now),
        ),
      };
    },
  },
];
