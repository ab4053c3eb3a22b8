/**
 * `npm run keys`: lists the keys, makes one (`-- add ROLE NAME`) or retires one (`-- retire ID`). For an owner at the
 * machine's own prompt, who needs no key to come by one.
 */
import type { Database, Transaction } from '../../database/database.js';
import { listShops } from '../../../shop/open-shop.js';
import { addAccessKey, retireKey } from '../../../shop/shop.operations.js';
import { openDatabase } from '../../database/open.js';
import { DomainError } from '../../errors.js';
import { loadSettings, StartError } from '../../settings.js';
import { runCommand, say } from '../command.js';

const usage = 'Usage: npm run keys                          lists the keys\n       npm run keys -- add ROLE NAME        makes one; ROLE is owner, helper or reader\n       npm run keys -- retire ID            retires the one with that id';

await runCommand(async ([action, ...rest]) => {
  const open = await openDatabase(loadSettings(process.env), say, { attach: true });
  try {
    const shopId = await onlyShop(open.database);
    const inShop = <T>(work: (tx: Transaction) => Promise<T>) => open.database.withShop(shopId, work);
    if (action === undefined) return void (await inShop(list));
    if (action === 'add') return void (await inShop((tx) => add(tx, shopId, rest)));
    if (action === 'retire') return void (await inShop((tx) => retire(tx, rest[0])));
    throw new StartError(usage, 2);
  } finally {
    await open.close();
  }
});

async function onlyShop(database: Database): Promise<string> {
  const [shop] = await listShops(database);
  if (!shop) throw new StartError('There is no shop yet: "npm start" opens one.');
  return shop.id;
}

async function list(tx: Transaction): Promise<void> {
  const keys = await tx.accessKey.findMany({ orderBy: { createdAt: 'asc' } });
  for (const key of keys) {
    console.log(`${key.publicId}  ${key.role.padEnd(6)}  ${key.name}${key.retiredAt ? `  (retired ${key.retiredAt.toISOString().slice(0, 10)})` : ''}`);
  }
}

async function add(tx: Transaction, shopId: string, [role, ...name]: string[]): Promise<void> {
  if (role !== 'owner' && role !== 'helper' && role !== 'reader') throw new StartError(usage, 2);
  const words = name.join(' ').trim();
  if (words === '' || words.length > 80) throw new StartError(usage, 2);
  const made = await addAccessKey(tx, shopId, words, role);
  console.log(`${made.key}\nShown this once; only its hash is kept.`);
}

async function retire(tx: Transaction, publicId: string | undefined): Promise<void> {
  if (!publicId) throw new StartError(usage, 2);
  const key = await tx.accessKey.findFirst({ where: { publicId, retiredAt: null } });
  if (!key) throw new StartError(`There is no key with the id ${publicId} in use; "npm run keys" lists them.`, 2);
  try {
    await retireKey(tx, key.id, key.version, new Date());
  } catch (error) {
    throw error instanceof DomainError ? new StartError(error.message) : error;
  }
  console.log(`${key.name} (${key.publicId}) is retired.`);
}
