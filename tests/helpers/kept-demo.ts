import { createReadStream, readdirSync } from 'node:fs';
import postgres from 'postgres';
import { readDump } from '../../server/core/dump.ts';
import { whenFileIsDone } from './closing.ts';
import { anEmptyDatabase, appOn } from './studio.ts';

const KEPT = new URL('../upgrade/', import.meta.url);

/** The demo as the newest kept release had it, up to date, on a database whose owner may do nothing else. */
export async function aKeptDemo() {
  const urls = await anEmptyDatabase();
  const newest = readdirSync(KEPT).sort().at(-1) as string;
  await readDump(urls.ownerUrl, urls.appUrl, createReadStream(new URL(newest, KEPT)));
  const sql = postgres(urls.ownerUrl, { max: 1, onnotice: () => {} });
  whenFileIsDone(() => sql.end());
  return { ...(await appOn(urls.appUrl)), ...urls, sql };
}
