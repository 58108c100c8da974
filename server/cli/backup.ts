import { backUpTo } from '../core/backups.ts';
import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { newFile } from './new-file.ts';
import { onDatabase } from './on-database.ts';
import { rowsWords } from './rows-words.ts';

/** `npm run backup -- FILE`: everything the studio has, photos included, in one file; people go on working meanwhile. */
await onDatabase(async (_database, _config, ownerUrl) => {
  const [name, ...more] = process.argv.slice(2);
  if (name === undefined || more.length > 0) throw new Invalid('Say where to: npm run backup -- FILE');
  const file = newFile(name);
  const report = await backUpTo(ownerUrl, file, systemClock.now());
  process.stdout.write(
    `${rowsWords(report)} kept in ${file}.\nIt holds names, addresses and health details: keep it where only the studio reads it, and one copy elsewhere.\n`,
  );
});
