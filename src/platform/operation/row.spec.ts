/** What the compiler holds replies to; the run-time serializer must agree with it. */
import { expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { day, id, instant, money, priced, wholeNumber } from '../shapes.js';
import { children, command, computed, parentOf, query } from './operation.js';
import type { Row } from './row.js';
import { serialize } from './serialize.js';

const Bin = z.strictObject({ id, name: z.string(), boxId: id.nullable() }).meta({ id: 'TypeTestBin' });
const Box = z
  .strictObject({
    id,
    openedDate: day,
    seenAt: instant.nullable(),
    cost: priced,
    worth: money,
    count: wholeNumber,
    colour: z.enum(['red', 'blue']),
    note: z.string().optional(),
    bins: z.array(Bin),
  })
  .meta({ id: 'TypeTestBox' });

const boxId = '0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11';
const box = {
  id: boxId,
  openedDate: new Date('2026-04-30T00:00:00Z'),
  seenAt: null,
  cost: new Decimal('12.5'),
  worth: '3',
  count: new Decimal(4),
  colour: 'red' as const,
  bins: [{ id: boxId, name: 'A', boxId: null, extra: 'never comes through' }],
  shopId: 'neither does this',
};
const viewer = { currency: 'CAD', seesPrices: true };
const asked = {
  name: 'box',
  summary: 'A box',
  rest: { method: 'GET', path: '/box' },
  input: z.strictObject({}),
} as const;

it('takes rows as the database gives them, with whatever else they hold', () => {
  const row: Row<typeof Box> = box;
  expect(serialize(Box, row, viewer)).toEqual({
    id: boxId,
    openedDate: '2026-04-30',
    seenAt: null,
    cost: '12.50',
    worth: '3.00',
    count: 4,
    colour: 'red',
    bins: [{ id: boxId, name: 'A', boxId: null }],
  });
});

it('does not compile without a field that the shape requires, as the serializer refuses it', () => {
  const { count: _left, ...rest } = box;
  // @ts-expect-error count is missing
  const row: Row<typeof Box> = rest;
  expect(() => serialize(Box, row, viewer)).toThrow('A reply lacks /count');
  // @ts-expect-error nor does an operation that hands such a row over
  const lacking = query({ ...asked, output: Box, run: async () => rest });
  expect(lacking.kind).toBe('query');
  const page = { rows: [{ node: rest, cursor: '' }], hasNextPage: false, hasPreviousPage: false };
  // @ts-expect-error nor a page of them
  query({ ...asked, output: Box, paged: true, run: async () => page });
  // @ts-expect-error nor a command
  command({ ...asked, output: Box, run: async () => rest });
});

it('does not compile with a field of another type', () => {
  const wrong = [
    // @ts-expect-error a number is no day
    { ...box, openedDate: 3 } satisfies Row<typeof Box>,
    // @ts-expect-error money is never a float
    { ...box, worth: 3 } satisfies Row<typeof Box>,
    // @ts-expect-error no choice of the shape
    { ...box, colour: 'green' } satisfies Row<typeof Box>,
    // @ts-expect-error null where the shape has none
    { ...box, openedDate: null } satisfies Row<typeof Box>,
    // @ts-expect-error a date is no text
    { ...box, note: new Date() } satisfies Row<typeof Box>,
    // @ts-expect-error and so within lists
    { ...box, bins: [{ id: boxId, boxId: null }] } satisfies Row<typeof Box>,
  ];
  expect(() => serialize(Box, wrong[3], viewer)).toThrow('A reply lacks /openedDate');
  expect(() => serialize(Box, wrong[5], viewer)).toThrow('A reply lacks /bins/0/name');
});

it('holds relations to the shapes at both their ends', async () => {
  const declared = { on: Box, to: Bin, field: 'more', description: 'More' };
  // @ts-expect-error the children lack their name
  children({ ...declared, key: 'boxId', find: async () => [{ id: boxId, boxId }] });
  // @ts-expect-error the parent has no such field
  parentOf({ ...declared, key: 'binId', find: async () => [] });
  // @ts-expect-error what is computed is no bin
  computed({ ...declared, compute: async (_context, parents) => parents.map((parent) => parent.count) });
  const found = { id: boxId, name: 'A', boxId };
  const relation = children({ ...declared, key: 'boxId', find: async () => [found] });
  // Neither the context nor more of the parent than its id is looked at.
  expect(await relation.load({} as never, [{ ...box, id: boxId } as never])).toEqual([[found]]);
});
