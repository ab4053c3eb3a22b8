/**
 * `npm run migration -- NAME`: writes the SQL that leads from the migrations there are to `schema.prisma`, for
 * reading and amending before it is applied at the next start. Works on a throw-away database.
 */
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { applyMigrations, differenceToSchema, knownMigrations, migrationsFolder } from '../../prisma/migrate.js';
import { runCommand, say } from '../opening/command.js';
import { startEmbedded } from '../platform/database/embedded/embedded.js';
import { asOwner } from '../platform/database/open.js';
import { StartError } from '../platform/settings.js';

await runCommand(async ([name]) => {
  if (!name || !/^[a-z][a-z0-9_]*$/.test(name))
    throw new StartError('Usage: npm run migration -- NAME (lower-case letters, digits and _)', 2);
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-migration-'));
  const server = await startEmbedded(folder, say, { durable: false });
  try {
    const sql = await asOwner(server.url, say, async (connection) => {
      if (knownMigrations().length > 0) await applyMigrations(connection);
      return differenceToSchema(connection);
    });
    if (sql === '') return say('The migrations already lead to schema.prisma: nothing to write.');
    const next = String(knownMigrations().length + 1).padStart(4, '0');
    const file = path.join(migrationsFolder, `${next}_${name}`, 'migration.sql');
    fs.mkdirSync(path.dirname(file));
    fs.writeFileSync(file, `${sql}\n`);
    say(`Written: ${path.relative(process.cwd(), file)}. Read it before you start the service: that applies it.`);
  } finally {
    await server.stop();
    fs.rmSync(folder, { recursive: true, force: true });
  }
});
