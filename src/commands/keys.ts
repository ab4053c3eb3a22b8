/**
 * `npm run keys`: lists the keys, makes one (`-- add ROLE NAME`) or archives one (`-- archive ID`). For an owner at the
 * machine's own prompt, who needs no key to come by one.
 */
import { at as elementAt } from '../engine/look-up.js';
import { runCommand, say } from '../opening/command.js';
import type { Database, Transaction } from '../platform/database/database.js';
import { openDatabase } from '../platform/database/open.js';
import { DomainError } from '../platform/errors.js';
import { loadSettings, StartError } from '../platform/settings.js';
import { listShops } from '../shop/open-shop.js';
import { addAccessKey, archiveKey } from '../shop/shop.operations.js';

const usage = `Usage: npm run keys                                 lists the keys
       npm run keys -- add ROLE NAME               makes one; ROLE is owner, helper or reader
       npm run keys -- add ROLE NAME --shop SHOP   where there are several shops: its id or name
       npm run keys -- archive ID                   archives the one with that id`;

await runCommand(async ([action, ...rest]) => {
  const open = await openDatabase(loadSettings(process.env), say, { attach: true });
  try {
    const shops = await listShops(open.database);
    if (shops.length === 0) throw new StartError('There is no shop yet: "npm start" opens one.');
    if (action === undefined) return await list(open.database, shops);
    if (action === 'add') return await add(open.database, shops, rest);
    if (action === 'archive') return await archive(open.database, shops, rest[0]);
    throw new StartError(usage, 2);
  } finally {
    await open.close();
  }
});

type Shops = Awaited<ReturnType<typeof listShops>>;

async function list(database: Database, shops: Shops): Promise<void> {
  for (const shop of shops) {
    if (shops.length > 1) console.log(`${shop.name} (${shop.id})`);
    const keys = await database.withShop(shop.id, (tx) => tx.accessKey.findMany({ orderBy: { createdAt: 'asc' } }));
    for (const key of keys) {
      console.log(
        `${key.publicId}  ${key.role.padEnd(6)}  ` +
          `${key.name}${key.archivedAt ? `  (archived ${key.archivedAt.toISOString().slice(0, 10)})` : ''}`,
      );
    }
  }
}

async function add(database: Database, shops: Shops, words: readonly string[]): Promise<void> {
  const at = words.indexOf('--shop');
  const [role, ...name] = at < 0 ? words : [...words.slice(0, at), ...words.slice(at + 2)];
  const named = name.join(' ').trim();
  if ((role !== 'owner' && role !== 'helper' && role !== 'reader') || named === '' || named.length > 80)
    throw new StartError(usage, 2);
  const wanted = at < 0 ? shops : shops.filter((shop) => shop.id === words[at + 1] || shop.name === words[at + 1]);
  if (wanted.length !== 1)
    throw new StartError(
      `Say which shop the key is for, with --shop and its id or name. There ` +
        `are:\n${shops.map((shop) => `  ${shop.id}  ${shop.name}`).join('\n')}`,
      2,
    );
  const made = await database.withShop(elementAt(wanted, 0).id, (tx) =>
    addAccessKey(tx, elementAt(wanted, 0).id, named, role),
  );
  console.log(`${made.key}\nShown this once; only its hash is kept.`);
}

async function archive(database: Database, shops: Shops, publicId: string | undefined): Promise<void> {
  if (!publicId) throw new StartError(usage, 2);
  const archiveIn = async (tx: Transaction): Promise<boolean> => {
    const key = await tx.accessKey.findFirst({ where: { publicId, archivedAt: null } });
    if (!key) return false;
    await archiveKey(tx, key.id, key.version, new Date());
    console.log(`${key.name} (${key.publicId}) is archived.`);
    return true;
  };
  try {
    for (const { id } of shops) if (await database.withShop(id, archiveIn)) return;
  } catch (error) {
    throw error instanceof DomainError ? new StartError(error.message) : error;
  }
  throw new StartError(`There is no key with the id ${publicId} in use; "npm run keys" lists them.`, 2);
}
