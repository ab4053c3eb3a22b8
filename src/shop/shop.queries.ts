import { z } from 'zod';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { type OperationContext, ownerOnly, priceReaders, query } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { AuditEntry, Shop } from './shop.shapes.js';

/** The shop's whole row: settings that other areas compute with. */
export const readShop = (context: OperationContext) =>
  context.tx.shop.findUniqueOrThrow({ where: { id: context.shop.id } });

export const shopQueries = [
  query({
    name: 'shop',
    summary: 'Read the shop this key belongs to',
    roles: priceReaders,
    rest: { method: 'GET', path: '/shop' },
    input: z.strictObject({}),
    output: Shop,
    run: readShop,
  }),
  ...crudOperations({
    name: 'auditEntry',
    plural: 'auditEntries',
    table: 'auditEntry',
    shape: AuditEntry,
    include: { changes: { orderBy: [{ record: 'asc' }, { recordId: 'asc' }, { field: 'asc' }] } },
    readers: ownerOnly,
    archives: false,
    filters: { subjectId: id.nullish(), accessKeyId: id.nullish() },
    standardSort: '-createdAt',
  }),
];
