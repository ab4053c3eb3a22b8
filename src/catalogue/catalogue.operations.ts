import { z } from 'zod';
import { EngineError } from '../engine/error.js';
import { supersede } from '../engine/interchange/index.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asColumns } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { type OperationContext, query, workers } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { id, text } from '../platform/shapes.js';
import { completeParts, withMakerNumbers } from './catalogue.queries.js';
import {
  Interchange,
  InterchangeChange,
  InterchangeCreate,
  type MakerNumber,
  Part,
  PartChange,
  PartCreate,
  Supplier,
  SupplierChange,
  SupplierCreate,
} from './catalogue.shapes.js';
import { fastenerFacts } from './fastener.js';
import { FastenerFacts, ThreadSurface } from './fastener.shapes.js';
import { named, supersessions } from './substitutes.queries.js';

/**
 * The designation is kept as it was written, if it can be understood. One that says "shear" makes the part one that is
 * designed to fail.
 */
function withFastener<C extends { fastener?: string | null | undefined; designedToFail?: boolean | undefined }>(
  columns: C,
): C {
  if (typeof columns.fastener !== 'string') return columns;
  return fastenerFacts(columns.fastener, '/fastener').designedToFail ? { ...columns, designedToFail: true } : columns;
}

/**
 * Sees to it that supersessions do not run in a circle; they are told to the shop one at a time.
 * @throws Invalid naming the circle
 */
async function checkSupersession(context: OperationContext, partId: string, newId: string): Promise<void> {
  await context.tx
    .$queryRaw`select pg_advisory_xact_lock(hashtextextended(${`supersession ${context.shop.id}`}, 0))::text`;
  const found = await context.tx.part.findFirst({ where: { id: newId } });
  if (!found) throw new NotFound('part', newId);
  try {
    supersede(
      (await supersessions(context)).filter((link) => link.oldId !== partId),
      { oldId: partId, newId },
    );
  } catch (error) {
    if (!(error instanceof EngineError)) throw error;
    const parts = await context.tx.part.findMany({ select: { id: true, name: true } });
    throw new Invalid(
      [
        {
          detail: named(error.message, new Map(parts.map((part) => [part.id, part.name]))),
          pointer: '/supersededById',
        },
      ],
      error.code,
    );
  }
}

/** @throws Invalid when a claim says two things at once */
function checkClaim(claim: {
  fromYear?: number | null | undefined;
  toYear?: number | null | undefined;
  refuted?: boolean | undefined;
  provenHere?: boolean | undefined;
}): void {
  if (typeof claim.fromYear === 'number' && typeof claim.toYear === 'number' && claim.toYear < claim.fromYear)
    throw new Invalid([{ detail: 'must not lie before fromYear', pointer: '/toYear' }]);
  if (claim.refuted === true && claim.provenHere === true)
    throw new Invalid([{ detail: 'what was found not to serve cannot be proven to serve', pointer: '/provenHere' }]);
}

async function checkParts(context: OperationContext, input: { partId: string; servesForId: string }): Promise<void> {
  if (input.partId === input.servesForId)
    throw new Invalid([{ detail: 'a part always serves for itself', pointer: '/servesForId' }]);
  const found = await context.tx.part.findMany({
    where: { id: { in: [input.partId, input.servesForId] } },
    select: { id: true, designedToFail: true },
  });
  for (const one of [input.partId, input.servesForId]) {
    if (!found.some((part) => part.id === one)) throw new NotFound('part', one);
  }
}

export const catalogueOperations = [
  query({
    name: 'fastener',
    summary: "Read a fastener's designation: what it says, its wrench, strength, torque and holes",
    rest: { method: 'GET', path: '/fasteners' },
    input: z.strictObject({
      designation: text(120),
      surface: ThreadSurface.nullish().meta({ description: 'How the threads are when tightened; dry unless said.' }),
    }),
    output: FastenerFacts,
    run: async (_call, { designation, surface }) => fastenerFacts(designation, '/designation', surface ?? 'dry'),
  }),
  ...crudOperations({
    name: 'supplier',
    plural: 'suppliers',
    table: 'supplier',
    shape: Supplier,
    create: SupplierCreate,
    change: SupplierChange,
    sorts: ['name', 'createdAt'],
  }),
  ...crudOperations({
    name: 'part',
    plural: 'parts',
    table: 'part',
    include: withMakerNumbers,
    shape: Part,
    create: PartCreate,
    change: PartChange,
    writers: workers,
    filters: {
      family: text(60).nullish(),
      designedToFail: z.boolean().nullish(),
      search: text(80).nullish().meta({
        description: "Somewhere in the name, or in a maker's number, with or without its dashes and blanks.",
      }),
    },
    where: async (filters, context) => ({
      ...(filters.family ? { family: filters.family } : {}),
      ...(typeof filters.designedToFail === 'boolean' ? { designedToFail: filters.designedToFail } : {}),
      ...(filters.search
        ? {
            OR: [
              { name: { contains: literally(filters.search), mode: 'insensitive' } },
              { id: { in: await partsNumbered(context, filters.search) } },
            ],
          }
        : {}),
    }),
    sorts: ['name', 'family', 'createdAt'],
    async onCreate(context, input) {
      if (input.expectedPrice) checkAmount(input.expectedPrice, context.shop.currency, '/expectedPrice');
      // A new part supersedes nothing yet, so no circle can close.
      if (input.supersededById) await findOne(context.tx.part, 'part', input.supersededById);
      const { makerNumbers, ...columns } = withFastener(asColumns(PartCreate, input));
      const { id: partId } = await context.tx.part.create({ data: { shopId: context.shop.id, ...columns } });
      await writeMakerNumbers(context, partId, makerNumbers);
      return findOne(context.tx.part, 'part', partId, withMakerNumbers);
    },
    async onChange(context, before, columns) {
      if (columns.expectedPrice) checkAmount(columns.expectedPrice, context.shop.currency, '/expectedPrice');
      if (typeof columns.supersededById === 'string')
        await checkSupersession(context, before.id, columns.supersededById);
      const { makerNumbers, ...changed } = withFastener(columns);
      if (makerNumbers) await writeMakerNumbers(context, before.id, makerNumbers);
      return changed;
    },
    async onArchive(context, before) {
      const open = await context.tx.partNeed.count({
        where: { partId: before.id, usedDate: null, archivedAt: null },
      });
      if (open > 0) throw new Conflict('part-needed', 'Tasks still need this part; take those needs back first.');
      const kits = await context.tx.kitPart.findMany({
        where: { partId: before.id, kit: { archivedAt: null } },
        select: { kit: { select: { name: true } } },
      });
      if (kits.length > 0)
        throw new Conflict(
          'in-kit',
          `It belongs to ${kits.map(({ kit }) => kit.name).join(', ')}; take it out of there first.`,
        );
    },
    complete: completeParts,
  }),
  ...crudOperations({
    name: 'interchange',
    plural: 'interchanges',
    what: 'interchange claim',
    table: 'interchange',
    shape: Interchange,
    create: InterchangeCreate,
    change: InterchangeChange,
    writers: workers,
    filters: { partId: id.nullish(), servesForId: id.nullish() },
    async onCreate(context, input) {
      await checkParts(context, input);
      checkClaim(input);
      return findOne(
        context.tx.interchange,
        'interchange claim',
        (
          await context.tx.interchange.create({
            data: { shopId: context.shop.id, ...asColumns(InterchangeCreate, input) },
          })
        ).id,
      );
    },
    async onChange(_call, before, columns) {
      checkClaim({ ...before, ...columns });
      return columns;
    },
  }),
];

/** The numbers given replace all there were. */
async function writeMakerNumbers(context: OperationContext, partId: string, numbers: MakerNumber[]): Promise<void> {
  await context.tx.makerNumber.deleteMany({ where: { partId } });
  await context.tx.makerNumber.createMany({
    data: numbers.map((one, index) => ({ shopId: context.shop.id, partId, position: index + 1, ...one })),
  });
}

/** A percent sign or underscore that somebody looks for is no wildcard. */
const literally = (text: string): string => text.replace(/[\\%_]/g, '\\$&');

/** The parts with a maker's number that holds these letters and digits, whatever dashes and blanks stand between them. */
async function partsNumbered(context: OperationContext, piece: string): Promise<string[]> {
  const found = await context.tx.$queryRaw<{ id: string }[]>`select id::text from parts_numbered(${piece})`;
  return found.map((row) => row.id);
}
