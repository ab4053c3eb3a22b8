/** A machine's paper behind its link: for a buyer, who has no device here. */
import { Controller, Get, Inject, Param, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import type { FC } from 'hono/jsx';
import {
  type BuyerDocument,
  buyerDocument,
  documentPdf,
  maintenanceCalendar,
} from '../../desk/document/buyer-document.js';
import { openLink } from '../../desk/document/document-links.js';
import type { Block } from '../../desk/document/read-text.js';
import { readPicture } from '../../pictures/picture-files.js';
import { APP_CONTEXT } from '../../platform/operation/app-context.js';
import { type AppContext, readInTransaction } from '../../platform/operation/execute.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { DoorMessage } from '../access/sign-in.js';
import { Frame } from '../frame/document.js';
import { assetMark, guard, sendPage } from '../frame/send.js';

const gone = {
  title: 'This link opens nothing',
  text: 'It may have been withdrawn or have run out. Ask whoever sent it to you for another.',
};

const Words: FC<{ block: Block }> = ({ block }) => (
  <>{block.runs.map((run) => (run.bold ? <strong>{run.text}</strong> : run.text))}</>
);

/** Items that follow one another are one list. */
const Text: FC<{ blocks: readonly Block[] }> = ({ blocks }) => {
  const groups: Block[][] = [];
  for (const block of blocks) {
    const last = groups.at(-1);
    if (block.kind === 'item' && last?.[0]?.kind === 'item') last.push(block);
    else groups.push([block]);
  }
  return (
    <>
      {groups.map((group) =>
        group.map((block, index) => {
          if (block.kind === 'title')
            return (
              <h1>
                <Words block={block} />
              </h1>
            );
          if (block.kind === 'heading')
            return (
              <h2>
                <Words block={block} />
              </h2>
            );
          if (block.kind === 'paragraph')
            return (
              <p>
                <Words block={block} />
              </p>
            );
          return index > 0 ? null : (
            <ul>
              {group.map((one) => (
                <li>
                  <Words block={one} />
                </li>
              ))}
            </ul>
          );
        }),
      )}
    </>
  );
};

const DocumentPage: FC<{ base: string; document: BuyerDocument }> = ({ base, document }) => (
  <Frame title={document.name} assets={assetMark()}>
    <main>
      <Text blocks={document.blocks} />
      {document.pictures.length > 0 ? <h2>Pictures</h2> : null}
      <ul class="pictures">
        {document.pictures.map((picture) => (
          <li>
            <a href={`${base}/picture/${picture.id}/whole`}>
              <img
                src={`${base}/picture/${picture.id}/small`}
                alt={picture.words}
                loading="lazy"
                width={Math.round((picture.width * 240) / picture.height)}
                height={240}
              />
            </a>
          </li>
        ))}
      </ul>
      <h2>To keep</h2>
      <ul class="links">
        <li>
          <a href={`${base}/machine.pdf`}>This paper, to print</a>
        </li>
        <li>
          <a href={`${base}/maintenance.ics`}>The maintenance, for a calendar</a>
        </li>
      </ul>
      <p class="soft">From {document.shop.name}.</p>
    </main>
  </Frame>
);

@Controller('document')
export class BuyerDocumentController {
  constructor(@Inject(APP_CONTEXT) private readonly app: AppContext) {}

  @Get(':token')
  page(@Req() request: Request, @Res() response: Response, @Param('token') token: string): Promise<void> {
    return this.opened(request, response, token, async (context, jobId, withHours) => {
      const document = await buyerDocument(context, jobId, withHours);
      return () => sendPage(request, response, <DocumentPage base={`/document/${token}`} document={document} />, {});
    });
  }

  @Get(':token/machine.pdf')
  pdf(@Req() request: Request, @Res() response: Response, @Param('token') token: string): Promise<void> {
    return this.opened(request, response, token, async (context, jobId, withHours) => {
      const pdf = await documentPdf(context, jobId, withHours);
      return () => {
        response.setHeader('Content-Disposition', 'inline; filename="machine.pdf"');
        response.type('application/pdf').send(pdf);
      };
    });
  }

  @Get(':token/maintenance.ics')
  calendar(@Req() request: Request, @Res() response: Response, @Param('token') token: string): Promise<void> {
    return this.opened(request, response, token, async (context, jobId) => {
      const calendar = maintenanceCalendar(await buyerDocument(context, jobId, false), context.now);
      return () => void response.type('text/calendar; charset=utf-8').send(calendar);
    });
  }

  @Get(':token/picture/:id/:size')
  picture(
    @Req() request: Request,
    @Res() response: Response,
    @Param('token') token: string,
    @Param('id') id: string,
    @Param('size') size: string,
  ): Promise<void> {
    return this.opened(request, response, token, async (context, jobId) => {
      const { pictures } = await buyerDocument(context, jobId, false);
      const known = pictures.some((picture) => picture.id === id) && ['small', 'whole'].includes(size);
      const content = known ? await readPicture(context, id, size === 'small' ? 'thumbnail' : 'full') : undefined;
      return () => (content ? void response.type('image/jpeg').send(content) : response.status(404).end());
    });
  }

  /** With a helper's eyes: nothing that is priced is read at all. */
  private async opened(
    request: Request,
    response: Response,
    token: string,
    make: (context: OperationContext, jobId: string, withHours: boolean) => Promise<() => unknown>,
  ): Promise<void> {
    const link = await openLink(this.app, token);
    guard(response);
    response.setHeader('Cache-Control', 'no-store');
    response.setHeader('X-Robots-Tag', 'noindex');
    response.setHeader('Referrer-Policy', 'no-referrer');
    if (!link) {
      sendPage(request, response, <DoorMessage {...gone} />, { status: 410 });
      return;
    }
    const caller = { shopId: link.shopId, role: 'helper' as const, accessKeyId: null };
    const send = await readInTransaction(this.app, caller, (context) => make(context, link.jobId, link.withHours));
    send();
  }
}
