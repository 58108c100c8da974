import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { personForm } from '../members/forms.ts';
import { type Erased, erase, isFormer } from './erasure.ts';
import { newFile } from './new-file.ts';
import { onDatabase } from './on-database.ts';
import { exportPerson } from './person-data.ts';

const USE = 'npm run person -- export EMAIL FILE.json, or erase EMAIL [--with-balance] --yes';

/**
 * `npm run person -- export EMAIL FILE.json`: everything the studio holds about one person.
 * `npm run person -- erase EMAIL --yes`: takes their name and words out; without `--yes` it says what would go.
 */
await onDatabase(async (_database, _config, ownerUrl) => {
  const [verb, who, ...more] = process.argv.slice(2);
  if (who === undefined || (verb !== 'export' && verb !== 'erase')) throw new Invalid(`Say what: ${USE}`);
  const email = isFormer(who) ? who : parse(personForm, { email: who }).email;
  if (verb === 'export') await exportTo(ownerUrl, email, more);
  else await eraseOrRehearse(ownerUrl, email, more);
});

async function exportTo(ownerUrl: string, email: string, [name, ...more]: string[]): Promise<void> {
  if (name === undefined || more.length > 0) throw new Invalid(`Say where to: ${USE}`);
  const file = newFile(name);
  const told = await exportPerson(ownerUrl, { email, file, madeAt: new Date(systemClock.now()) });
  const rows = Object.values(told).reduce((sum, count) => sum + count, 0);
  say([
    `${rows.toLocaleString('en-GB')} rows about ${email} are in ${file}, which only you can read.`,
    'Hand it over in a way that only they can read either, and delete it.',
  ]);
}

async function eraseOrRehearse(ownerUrl: string, email: string, flags: string[]): Promise<void> {
  if (flags.some((one) => one !== '--yes' && one !== '--with-balance')) throw new Invalid(`Say what: ${USE}`);
  const rehearse = !flags.includes('--yes');
  const withBalance = flags.includes('--with-balance');
  const erased = await erase(ownerUrl, { email, now: systemClock.now(), withBalance, rehearse });
  if (erased === null) say([`${email} is erased already. Nothing was changed.`]);
  else say(report(erased, email, rehearse));
}

function report({ name, address, removed, stay, still }: Erased, email: string, rehearse: boolean): string[] {
  const counted = (title: string, all: Record<string, number>) => {
    const lines = Object.entries(all).flatMap(([what, count]) => (count > 0 ? [`  ${what}: ${count}`] : []));
    return lines.length > 0 ? [title, ...lines] : [];
  };
  return [
    rehearse
      ? `${email} would be ${name} from now on. Nothing was changed: add --yes to do it.`
      : `${email} is ${name} from now on, and is found as ${address}.`,
    ...counted('Removed or blanked:', removed),
    'Kept without the name: what they did and when; fees with their amounts, since tax law asks for books; the safety',
    'log, inductions and notices read, since law asks who was shown what, and how dust and injuries were dealt with.',
    ...counted('Words of theirs that stay, because they are part of such a record:', stay),
    'Kept with the name, for technicians and managers only: incidents, exposures, first aid and respirator fits that they',
    'wrote as restricted. Whoever inspects asks for those by name, for exposure commonly up to 40 years later.',
    ...counted(
      'The name or address is still a word here, perhaps with another meaning. Look at them:',
      still,
    ),
    'Backups made before still hold everything until they are thrown away. After restoring one, erase again.',
  ];
}

function say(lines: string[]): void {
  process.stdout.write(`${lines.join('\n')}\n`);
}
