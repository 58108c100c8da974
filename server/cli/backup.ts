import { createWriteStream, existsSync } from 'node:fs';
import { chmod, open, rename, rm } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { systemClock } from '../core/clock.ts';
import { DumpRefusal, writeDump } from '../core/dump.ts';
import { onDatabase } from './on-database.ts';
import { rowsWords } from './rows-words.ts';

/** `npm run backup -- FILE`: everything the studio has, photos included, in one file; people go on working meanwhile. */
await onDatabase(async (_database, _config, ownerUrl) => {
  const [name, ...more] = process.argv.slice(2);
  if (name === undefined || more.length > 0) throw new DumpRefusal('Say where to: npm run backup -- FILE');
  const file = resolve(name);
  if (existsSync(file)) throw new DumpRefusal(`${file} exists, and is not written over.`);
  if (!existsSync(dirname(file))) throw new DumpRefusal(`There is no folder ${dirname(file)}.`);
  // Under its own name only once it is whole and on the disk.
  const part = `${file}.part`;
  try {
    const report = await writeDump(
      ownerUrl,
      createWriteStream(part, { mode: 0o600 }),
      new Date(systemClock.now()),
    );
    await chmod(part, 0o600);
    await onDisk(part);
    await rename(part, file);
    await onDisk(dirname(file));
    process.stdout.write(
      `${rowsWords(report)} kept in ${file}.\nIt holds names, addresses and health details: keep it where only the studio reads it, and one copy elsewhere.\n`,
    );
  } catch (error) {
    await rm(part, { force: true });
    throw error;
  }
});

async function onDisk(path: string): Promise<void> {
  const handle = await open(path, 'r');
  await handle.sync().finally(() => handle.close());
}
