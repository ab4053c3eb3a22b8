import { z } from 'zod';
import { makeKey } from '../platform/access/keys.js';
import type { Transaction } from '../platform/database/database.js';
import { addDays } from '../platform/days.js';
import { Conflict, Invalid } from '../platform/errors.js';
import { asColumns, asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, everyone, type OperationContext, ownerOnly, type Role } from '../platform/operation/operation.js';
import { changeRow, findOne } from '../platform/operation/stored.js';
import { id, int } from '../platform/shapes.js';
import { checkRates, type Rates } from './open-shop.js';
import { readShop } from './shop.queries.js';
import {
  AccessKey,
  AccessKeyCreate,
  DayOff,
  DayOffChange,
  DayOffCreate,
  FreshAccessKey,
  KeyRole,
  Person,
  PersonChange,
  PersonCreate,
  Place,
  PlaceChange,
  PlaceCreate,
  PlaceKind,
  Shop,
  ShopChange,
} from './shop.shapes.js';

/** Stores a new key's hash. @returns the row and the key's text, which is nowhere kept */
export async function addAccessKey(tx: Transaction, shopId: string, name: string, role: Role) {
  const fresh = makeKey();
  const row = await tx.accessKey.create({
    data: { shopId, name, role, publicId: fresh.publicId, secretHash: new Uint8Array(fresh.secretHash) },
  });
  return { ...row, key: fresh.text };
}

/** A heated place has a temperature, and no other place has. */
function checkHeat(place: { shelter?: unknown; heatedToCelsius?: unknown }): void {
  if (place.shelter === 'heated' && (place.heatedToCelsius === null || place.heatedToCelsius === undefined)) {
    throw new Invalid([{ detail: 'a heated place needs its temperature', pointer: '/heatedToCelsius' }]);
  }
  if (place.shelter !== 'heated' && place.heatedToCelsius !== null && place.heatedToCelsius !== undefined) {
    throw new Invalid([{ detail: 'only a heated place has a temperature of its own', pointer: '/heatedToCelsius' }]);
  }
}

function checkDays(startDate: unknown, endDate: unknown): void {
  if (new Date(String(endDate)) < new Date(String(startDate)))
    throw new Invalid([{ detail: 'must not lie before startDate', pointer: '/endDate' }]);
}

async function refuseRetiredPerson(context: OperationContext, personId: unknown): Promise<void> {
  if (typeof personId !== 'string') return;
  const person = await findOne(context.tx.person, 'person', personId);
  if (person.archivedAt) throw new Conflict('archived', `${person.name} was archived and works here no more.`);
}

/**
 * Retires a key, through the APIs and at the prompt.
 * @param version as the caller read it
 * @throws NotFound; Conflict `archived`, or `last-owner-key` when no owner could come in any more; Outdated
 */
export async function archiveKey(tx: Transaction, keyId: string, version: number, now: Date): Promise<void> {
  const before = await findOne(tx.accessKey, 'access key', keyId);
  if (before.archivedAt) throw new Conflict('archived', 'This access key was archived already.');
  if (before.role === 'owner' && !before.isDevice) {
    // Held until the end: two owners who archive each other's key at once must not both find one left.
    const owners = await tx.$queryRaw<
      unknown[]
    >`SELECT id FROM "AccessKey" WHERE role = 'owner' AND NOT "isDevice" AND "archivedAt" IS NULL ORDER BY id FOR UPDATE`;
    if (owners.length <= 1)
      throw new Conflict('last-owner-key', 'This is the last owner key; make another one before you archive it.');
  }
  await changeRow(tx.accessKey, 'access key', keyId, version, { archivedAt: now });
}

/** Before anything that costs or brings money is recorded, a shop's currency is a setting like any other. */
async function checkNewCurrency(context: OperationContext, currency: string, fields: Partial<Rates>): Promise<void> {
  const { tx, shop } = context;
  // Every record refers to its shop: what is being recorded now is waited for, and what comes later waits.
  await tx.$queryRaw`SELECT id FROM "Shop" WHERE id = ${shop.id}::uuid FOR UPDATE`;
  const [found] = await tx.$queryRaw<{ there: boolean }[]>`
    SELECT EXISTS (SELECT FROM "Acquisition") OR EXISTS (SELECT FROM "Machine") OR EXISTS (SELECT FROM "LedgerEntry")
      OR EXISTS (SELECT FROM "Stock") OR EXISTS (SELECT FROM "Order") OR EXISTS (SELECT FROM "CoatingProduct")
      OR EXISTS (SELECT FROM "Comparable") AS there`;
  if (found?.there)
    throw new Conflict(
      'currency-in-use',
      `The shop has amounts in ${shop.currency} on record, which no rate would turn into ` +
        `${currency} rightly. Open another shop for that: npm run shops -- add.`,
    );
  const { hourlyValue, spaceCostPerDay, haulCostPerKilometre } = await readShop(context);
  checkRates(
    {
      hourlyValue: hourlyValue.toString(),
      spaceCostPerDay: spaceCostPerDay.toString(),
      haulCostPerKilometre: haulCostPerKilometre.toString(),
      ...fields,
    },
    currency,
  );
}

/** What hours and space cost is kept with its days: work already done stays at what it was worth then. */
async function keepRates(context: OperationContext, before: Awaited<ReturnType<typeof readShop>>): Promise<void> {
  const after = await readShop(context);
  if (after.hourlyValue.equals(before.hourlyValue) && after.spaceCostPerDay.equals(before.spaceCostPerDay)) return;
  const shopId = context.shop.id;
  const keep = (fromDate: Date, { hourlyValue, spaceCostPerDay }: typeof before) =>
    context.tx.shopRate.upsert({
      where: { shopId_fromDate: { shopId, fromDate } },
      create: { shopId, fromDate, hourlyValue, spaceCostPerDay },
      update: { hourlyValue, spaceCostPerDay },
    });
  const today = asDate(context.today);
  if ((await context.tx.shopRate.count()) === 0) {
    const opened = asDate(asDay(before.createdAt));
    await keep(opened < today ? opened : asDate(addDays(context.today, -1)), before);
  }
  await keep(today, after);
}

export const shopOperations = [
  command({
    name: 'changeShop',
    summary: "Change the shop's settings; only the fields sent are changed",
    rest: { method: 'PATCH', path: '/shop' },
    input: ShopChange.extend({ version: int(1, 2_000_000_000) }),
    output: Shop,
    async run(context, { version, ...fields }) {
      if (fields.currency && fields.currency !== context.shop.currency)
        await checkNewCurrency(context, fields.currency, fields);
      else checkRates(fields, context.shop.currency);
      const before = await readShop(context);
      await changeRow(context.tx.shop, 'shop', context.shop.id, version, asColumns(ShopChange, fields));
      await keepRates(context, before);
      // The reply is already told in the new one.
      if (fields.currency) context.shop.currency = fields.currency;
      return readShop(context);
    },
  }),
  ...crudOperations({
    name: 'person',
    plural: 'people',
    table: 'person',
    shape: Person,
    create: PersonCreate,
    change: PersonChange,
    sorts: ['name', 'createdAt'],
  }),
  ...crudOperations({
    name: 'dayOff',
    plural: 'daysOff',
    what: 'period of days off',
    table: 'dayOff',
    shape: DayOff,
    create: DayOffCreate,
    change: DayOffChange,
    archives: false,
    filters: { personId: id.nullish() },
    sorts: ['startDate', 'createdAt'],
    async onCreate(context, input) {
      checkDays(input.startDate, input.endDate);
      await refuseRetiredPerson(context, input.personId);
      return context.tx.dayOff.create({
        data: { shopId: context.shop.id, ...asColumns(DayOffCreate, input) },
      });
    },
    async onChange(context, before, columns) {
      checkDays(columns.startDate ?? before.startDate, columns.endDate ?? before.endDate);
      await refuseRetiredPerson(context, columns.personId);
      return columns;
    },
  }),
  command({
    name: 'deleteDayOff',
    summary: 'Take back a period of days off',
    rest: { method: 'DELETE', path: '/days-off/:id' },
    input: z.strictObject({ id }),
    output: DayOff,
    run: (context, input) =>
      context.tx.dayOff.delete({ where: { shopId_id: { shopId: context.shop.id, id: input.id } } }),
  }),
  ...crudOperations({
    name: 'place',
    plural: 'places',
    table: 'place',
    shape: Place,
    create: PlaceCreate,
    change: PlaceChange,
    filters: { kind: PlaceKind.nullish() },
    sorts: ['name', 'createdAt'],
    async onCreate(context, input) {
      checkHeat(input);
      return context.tx.place.create({ data: { shopId: context.shop.id, ...asColumns(PlaceCreate, input) } });
    },
    async onChange(_call, before, columns) {
      checkHeat({ ...before, ...columns });
      return columns;
    },
  }),
  ...crudOperations({
    name: 'accessKey',
    plural: 'accessKeys',
    what: 'access key',
    table: 'accessKey',
    shape: AccessKey,
    readers: ownerOnly,
    filters: {
      role: KeyRole.nullish(),
      isDevice: z.boolean().nullish().meta({ description: 'Only browsers that are signed in, or only the others.' }),
    },
  }),
  command({
    name: 'assignDevice',
    summary: 'Say who works with the device that asks',
    roles: everyone,
    rest: { method: 'POST', path: '/access-keys/person', status: 200 },
    creates: false,
    input: z.strictObject({ personId: id.nullable() }),
    output: AccessKey,
    async run(context, input) {
      await refuseRetiredPerson(context, input.personId);
      if (!context.accessKeyId) throw new Conflict('no-device', 'Only a device or a key can be assigned to a person.');
      return context.tx.accessKey.update({
        where: { id: context.accessKeyId },
        data: { personId: input.personId, version: { increment: 1 } },
      });
    },
  }),
  command({
    name: 'createAccessKey',
    summary: 'Make a new key; its text is shown this once',
    rest: { method: 'POST', path: '/access-keys', status: 201 },
    input: AccessKeyCreate,
    output: FreshAccessKey,
    confidential: true,
    run: (context, input) => addAccessKey(context.tx, context.shop.id, input.name, input.role),
  }),
  command({
    name: 'archiveAccessKey',
    summary: 'Archive a key: it opens nothing from now on',
    rest: { method: 'DELETE', path: '/access-keys/:id' },
    input: z.strictObject({ id, version: int(1, 2_000_000_000) }),
    output: AccessKey,
    async run(context, input) {
      await archiveKey(context.tx, input.id, input.version, context.now);
      return findOne(context.tx.accessKey, 'access key', input.id);
    },
  }),
];
