import { readFileSync, statSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { personForm } from '../members/forms.ts';
import type { Brought, ImportKind } from './import/kind.ts';
import { type LinksFile, openLinksFile } from './import/links-file.ts';
import { chooseKind, runImport } from './import/run.ts';
import { MOST_BYTES, readTable } from './import/table.ts';
import { onDatabase, sayingWhy } from './on-database.ts';

const USAGE =
  'npm run import -- FILE.csv [--kind members|materials|buckets|readings] [--dry-run] [--as EMAIL] [--links FILE]';

/**
 * `npm run import -- FILE.csv`: brings in what a studio kept in spreadsheets, all lines or none; with `--dry-run` only
 * says what it would do. Every bad line is listed, and then the exit code is 1.
 */
await sayingWhy(async () => {
  const wish = readArguments(process.argv.slice(2));
  const table = readTable(contents(wish.file));
  const kind = chooseKind(table, wish.kind);
  await onDatabase(async (database, config) => {
    const origin = config.publicUrl?.origin ?? '(the address of your Wareboard)';
    const makesLinks = kind.name === 'members' && !wish.isDryRun;
    const links = makesLinks ? openLinksFile(wish.links, origin) : null;
    let keep = false;
    try {
      const brought = await runImport(database, {
        ...wish,
        table,
        kind,
        now: systemClock.now(),
        keep: (invitations, { timeZone }) => links?.write(invitations, timeZone),
      });
      keep = brought.faults.length === 0 && brought.invitations.length > 0;
      say(brought, kind, { ...wish, links });
    } finally {
      links?.close({ keep });
    }
  });
});

interface Wish {
  file: string;
  kind: string | null;
  as: string | null;
  isDryRun: boolean;
  /** Where invitations are written. */
  links: string;
}

function readArguments(args: string[]): Wish {
  const { values, positionals } = parsed(args);
  const [file, ...more] = positionals;
  if (file === undefined || more.length > 0) throw new Invalid(`Say which file: ${USAGE}`);
  return {
    file,
    kind: values.kind ?? null,
    as: values.as === undefined ? null : parse(personForm, { email: values.as }).email,
    isDryRun: values['dry-run'] ?? false,
    links: values.links ?? `${file.replace(/\.(csv|tsv|txt)$/i, '')}-invitations.csv`,
  };
}

function parsed(args: string[]) {
  try {
    return parseArgs({
      args,
      allowPositionals: true,
      options: {
        kind: { type: 'string' },
        as: { type: 'string' },
        links: { type: 'string' },
        'dry-run': { type: 'boolean' },
      },
    });
  } catch (error) {
    throw new Invalid(`${(error as Error).message}\n${USAGE}`);
  }
}

function contents(file: string): Buffer {
  try {
    if (statSync(file).size <= MOST_BYTES) return readFileSync(file);
  } catch (error) {
    throw new Invalid(`${file} cannot be read (${(error as { code?: string }).code}).`);
  }
  throw new Invalid(`${file} is larger than ${MOST_BYTES / 1024 / 1024} MB: cut it into several.`);
}

function say(
  { faults, added, leftAlone, invitations }: Brought,
  { nouns }: ImportKind<unknown>,
  { isDryRun, links }: { isDryRun: boolean; links: LinksFile | null },
): void {
  const out = (line: string) => process.stdout.write(`${line}\n`);
  if (faults.length > 0) {
    for (const { line, column, message } of faults)
      process.stderr.write(`line ${line}${column === null ? '' : `, ${column}`}: ${message}\n`);
    const bad = new Set(faults.map(({ line }) => line)).size;
    process.stderr.write(`${bad} ${bad === 1 ? 'line is' : 'lines are'} bad: nothing was written.\n`);
    process.exitCode = 1;
    return;
  }
  for (const { line, why } of leftAlone) out(`line ${line} is left alone: ${why}`);
  const what = `${added} ${added === 1 ? nouns[0] : nouns[1]}`;
  const rest = `${leftAlone.length} ${leftAlone.length === 1 ? 'line' : 'lines'} left alone`;
  out(isDryRun ? `Nothing was written. It would add ${what}; ${rest}.` : `Added ${what}; ${rest}.`);
  if (links && invitations.length > 0)
    out(`The links are in ${links.path}, which only you can read; each works once, for a day.`);
}
