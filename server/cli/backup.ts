import { existsSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { backUpTo } from '../core/backups.ts';
import { systemClock } from '../core/clock.ts';
import { DumpRefusal } from '../core/dump.ts';
import { onDatabase } from './on-database.ts';
import { rowsWords } from './rows-words.ts';

/** `npm run backup -- FILE`: everything the studio has, photos included, in one file; people go on working meanwhile. */
await onDatabase(async (_database, _config, ownerUrl) => {
  const [name, ...more] = process.argv.slice(2);
  if (name === undefined || more.length > 0) throw new DumpRefusal('Say where to: npm run backup -- FILE');
  const file = resolve(name);
  if (existsSync(file)) throw new DumpRefusal(`${file} exists, and is not written over.`);
  if (!existsSync(dirname(file))) throw new DumpRefusal(`There is no folder ${dirname(file)}.`);
  const report = await backUpTo(ownerUrl, file, systemClock.now());
  process.stdout.write(
    `${rowsWords(report)} kept in ${file}.\nIt holds names, addresses and health details: keep it where only the studio reads it, and one copy elsewhere.\n`,
  );
});
