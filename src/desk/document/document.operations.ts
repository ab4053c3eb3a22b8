/** Links by which a buyer reads a machine's paper: made, listed, withdrawn. */
import { z } from 'zod';
import { Conflict, Invalid } from '../../platform/errors.js';
import { crudOperations } from '../../platform/operation/crud-operations.js';
import { command, ownerOnly } from '../../platform/operation/operation.js';
import { changeRow, findOne } from '../../platform/operation/stored.js';
import { id } from '../../platform/shapes.js';
import { DocumentLink, DocumentLinkGiven, DocumentLinkMade } from './document.shapes.js';
import { newToken } from './document-links.js';

export const documentOperations = [
  ...crudOperations({
    name: 'documentLink',
    plural: 'documentLinks',
    table: 'documentLink',
    shape: DocumentLink,
    archives: false,
    readers: ownerOnly,
    filters: { jobId: id.nullish() },
    standardSort: '-createdAt',
  }),
  command({
    name: 'createDocumentLink',
    summary: "Make a link by which a buyer reads a machine's paper, without any price",
    rest: { method: 'POST', path: '/jobs/:id/document-links', status: 201 },
    confidential: true,
    input: DocumentLinkGiven,
    output: DocumentLinkMade,
    async run(context, { id: jobId, withHours, expiresDate }) {
      await findOne(context.tx.job, 'job', jobId);
      if (expiresDate && expiresDate < context.today)
        throw new Invalid([{ detail: 'has passed already', pointer: '/expiresDate' }]);
      const { secretHash, tokenFor } = newToken();
      const link = await context.tx.documentLink.create({
        data: {
          shopId: context.shop.id,
          jobId,
          withHours,
          expiresDate: expiresDate ? new Date(expiresDate) : null,
          secretHash,
        },
      });
      const path = `/document/${tokenFor(context.shop.id, link.id)}`;
      return { link, path, url: context.publicUrl && context.publicUrl + path };
    },
  }),
  command({
    name: 'withdrawDocumentLink',
    summary: 'Withdraw a link: it opens nothing any more',
    rest: { method: 'POST', path: '/document-links/:id/withdraw', status: 200 },
    creates: false,
    input: z.strictObject({ id }),
    output: DocumentLink,
    async run(context, { id: linkId }) {
      const link = await findOne(context.tx.documentLink, 'link', linkId);
      if (link.withdrawnAt) throw new Conflict('already-withdrawn', 'This link was withdrawn before.');
      await changeRow(context.tx.documentLink, 'link', linkId, link.version, { withdrawnAt: context.now });
      return findOne(context.tx.documentLink, 'link', linkId);
    },
  }),
];
