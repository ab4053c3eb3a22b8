/** A shop of one's own: its settings as they are given at the prompt, and what it is opened with. */
import { standardRoutes } from '../../seed/routes.js';
import { at as elementAt } from '../engine/look-up.js';
import type { Database } from '../platform/database/database.js';
import { Invalid } from '../platform/errors.js';
import { noFiles } from '../platform/files/file-store.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { validated } from '../platform/operation/validate.js';
import { readQuery } from '../platform/rest/query-string.js';
import { StartError } from '../platform/settings.js';
import { noThreads } from '../platform/workers/pool.js';
import { checkRates, openShop } from '../shop/open-shop.js';
import { addAccessKey } from '../shop/shop.operations.js';
import { ShopCreate } from '../shop/shop.shapes.js';
import { createRoute } from '../work/routes.operations.js';

export type ShopSettings = ReturnType<typeof ShopCreate.parse>;

/** What a shop has until its owner says otherwise. */
const standard = {
  name: 'My shop',
  currency: 'USD',
  timeZone: 'UTC',
  latitude: 45,
  longitude: -75,
  unitSystem: 'metric',
  hourlyValue: '0',
  spaceCostPerDay: '0',
  haulCostPerKilometre: '0',
  taxScheme: 'none',
  taxRatePercent: 0,
  openingHours: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' })),
  snowThresholdMillimetres: 25,
  readinessMarginDays: 14,
  seasonEndMonthDay: '03-15',
  assemblyWaitDays: 14,
  enquiryElasticity: 4,
  salesTaxBasis: 'invoice',
  marginAccounting: 'item',
  taxPeriodMonths: 3,
  tradeInLowersTax: false,
  maxWaits: [{ fromKind: 'derust', toKind: 'prime', maxMinutes: 1440 }],
};

/** Each setting that can be given at the prompt, by its option; hours are a list, and wait for the API. */
const keys = new Map(
  Object.keys(ShopCreate.shape)
    .filter((key) => key !== 'openingHours')
    .map((key) => [optionOf(key), key]),
);

/** What nobody else can know of a shop. */
const ownFacts = ['name', 'currency', 'timeZone', 'latitude', 'longitude'];

/** The options that a shop needs, and those that may be left out, as a usage line has them. */
export const neededOptions = ownFacts.map((key) => `${optionOf(key)} …`).join(' ');
export const furtherOptions = [...keys]
  .filter(([, key]) => !ownFacts.includes(key))
  .map(([option]) => option)
  .join(', ');

/**
 * @param args such as `--currency EUR --time-zone=Europe/Oslo`
 * @param whole every fact of the shop's own must be given; else what is left out is the standard
 * @throws StartError naming every option that is unknown, lacking or wrong
 */
export function shopSettings(args: readonly string[], whole: boolean): ShopSettings {
  const given = readOptions(args);
  const lacking = whole ? ownFacts.filter((key) => given[key] === undefined).map(optionOf) : [];
  if (lacking.length > 0)
    throw new StartError(
      `A shop also needs ${lacking.join(', ')}: its amounts are in the currency, its days in the time zone, and its weather at the place.`,
      2,
    );
  try {
    const settings = validated(ShopCreate, { ...standard, ...readQuery(ShopCreate, given) });
    checkRates(settings, settings.currency);
    return settings;
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    const validationErrors = error.extra.errors as { pointer: string; detail: string }[];
    throw new StartError(
      validationErrors
        .map(
          ({ pointer, detail }) =>
            `${optionOf(pointer.slice(1))}=${JSON.stringify(given[pointer.slice(1)])} ${detail}.`,
        )
        .join('\n'),
      2,
    );
  }
}

function readOptions(args: readonly string[]): Record<string, string> {
  const given: Record<string, string> = {};
  for (let at = 0; at < args.length; at += 1) {
    const [, option = '', joined] = /^(--[a-z-]+)(?:=([^]*))?$/.exec(elementAt(args, at)) ?? [];
    const key = keys.get(option);
    if (!key)
      throw new StartError(
        `${JSON.stringify(args[at])} is no setting of a shop. There are ${[...keys.keys()].join(', ')}.`,
        2,
      );
    // The next word even where it begins with a dash: half the world's longitudes do.
    const value = joined ?? args[(at += 1)];
    if (value === undefined) throw new StartError(`${option} needs a value after it.`, 2);
    given[key] = value;
  }
  return given;
}

function optionOf(key: string): string {
  return `--${key.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}`;
}

/** Opens a shop with the standard routes and nothing else. @returns its id and its owner's key, which is nowhere kept */
export async function openBareShop(
  database: Database,
  settings: ShopSettings,
  now: Date,
): Promise<{ shopId: string; ownerKey: string }> {
  const { shopId, filled } = await openShop(database, settings, async (tx, id) => {
    const context: OperationContext = {
      shop: { id, currency: settings.currency, timeZone: settings.timeZone },
      role: 'owner',
      accessKeyId: null,
      tx,
      now,
      today: dayIn(now, settings.timeZone),
      compute: (work, question) => noThreads.run(work, question),
      expectedCompletions: () => Promise.resolve(new Map()),
      files: noFiles,
      publicUrl: null,
      startHindrance: () => Promise.resolve(null),
      purchaseCorrected: () => Promise.resolve(),
      afterCommit: () => {},
    };
    for (const route of standardRoutes) await createRoute(context, route);
    return addAccessKey(tx, id, 'Owner', 'owner');
  });
  return { shopId, ownerKey: filled.key };
}

/** A shop in a line, for whoever has just opened it or lists them. */
export const shopLine = (shop: {
  name: string;
  currency: string;
  timeZone: string;
  latitude: unknown;
  longitude: unknown;
}): string =>
  `${shop.name}: amounts in ${shop.currency}, time zone ${shop.timeZone}, at ${Number(shop.latitude)}, ${Number(shop.longitude)}`;
