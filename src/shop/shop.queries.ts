import { z } from 'zod';
import { type Call, ownerOnly, priceReaders, query } from '../platform/operation/operation.js';
import { records } from '../platform/operation/crud-operations.js';
import { id } from '../platform/shapes.js';
import { AuditEntry, Shop } from './shop.shapes.js';

/** The shop's whole row: settings that other areas compute with. */
export const readShop = (call: Call) => call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id } });

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
  ...records({
    name: 'auditEntry',
    plural: 'auditEntries',
    rows: (tx) => tx.auditEntry,
    shape: AuditEntry,
    readers: ownerOnly,
    retires: false,
    filters: { subjectId: id.nullish(), accessKeyId: id.nullish() },
    standardSort: '-createdAt',
  }),
];
