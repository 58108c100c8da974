/**
 * Whether a ten-year export is made in bounded memory, and how fast: `node --import tsx tests/bench/fees.ts`, or with
 * `--quick` for a smoke run. Each size is exported by a process of its own, which says by how much it grew.
 */
import { execFile } from 'node:child_process';
import { Readable, Writable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import postgres from 'postgres';
import type { Read } from '../../server/core/actor.ts';
import { systemClock } from '../../server/core/clock.ts';
import { connect } from '../../server/core/database.ts';
import { people } from '../../server/core/schema.ts';
import { createSessions } from '../../server/core/session.ts';
import { chargesCsv, journalCsv } from '../../server/fees/service/export.ts';
import { registerForm, registerPieces } from '../../server/ware/service/index.ts';
import type { Stops } from './children.ts';
import { median, table, whole } from './numbers.ts';
import { startServer } from './studio.ts';

const FILES = { charges: chargesCsv, journal: journalCsv };
type File = keyof typeof FILES;
/** Of the ledger as it is filled. */
const FIRST_DAY = '2016-01-01';
const DAYS = 3650;

interface Grown {
  rows: number;
  seconds: number;
  /** The most memory the process ever held beyond what it held before it began. */
  grownMiB: number;
}

async function exportOnce(appUrl: string, bearer: string, name: File, lastDay: string): Promise<void> {
  const database = connect(appUrl, { max: 2 });
  const actor = await createSessions(database, systemClock, { secure: false }).findByToken(bearer);
  if (!actor) throw new Error('no such token');
  const read: Read = { tx: database.db, actor, now: systemClock.now() };
  // Once over a single day, so that what is loaded and compiled for any export does not count.
  await drain(await FILES[name](read, { from: FIRST_DAY, to: FIRST_DAY, by: 'day' }));
  const before = process.memoryUsage.rss();
  const begun = performance.now();
  const rows = await drain(await FILES[name](read, { from: FIRST_DAY, to: lastDay, by: 'day' }));
  const grown: Grown = {
    rows,
    seconds: (performance.now() - begun) / 1000,
    grownMiB: (process.resourceUsage().maxRSS * 1024 - before) / 2 ** 20,
  };
  await database.close();
  process.stdout.write(`${JSON.stringify(grown)}\n`);
}

/** Lines, taken as a socket takes them and thrown away. */
async function drain(lines: AsyncIterable<string>): Promise<number> {
  let count = 0;
  const away = new Writable({
    write(chunk: Buffer, _encoding, done) {
      for (const byte of chunk) if (byte === 10) count++;
      done();
    },
  });
  await pipeline(Readable.from(lines), away);
  return count;
}

async function bench(sizes: [number, number]): Promise<void> {
  const stops: Stops = [];
  try {
    const server = await startServer(stops);
    const { appUrl, personId, token: bearer } = server.template;
    const ownDatabase = new URL(server.adminUrl);
    ownDatabase.pathname = new URL(appUrl).pathname;
    const [small, large] = sizes;
    await fillLedger(ownDatabase.href, appUrl, personId, bearer, large);
    const lines: string[][] = [];
    for (const name of Object.keys(FILES) as File[]) {
      const rates: number[] = [];
      const growths: number[] = [];
      for (const size of [small, large]) {
        const runs: Grown[] = [];
        for (let run = 0; run < 3; run++)
          runs.push(await inChild(appUrl, bearer, name, lastDayOf(size, large)));
        rates.push(median(runs.map(({ rows, seconds }) => rows / seconds)));
        growths.push(median(runs.map(({ grownMiB }) => grownMiB)));
        lines.push([
          name,
          whole(runs[0]?.rows ?? 0),
          whole(rates.at(-1) ?? 0),
          (growths.at(-1) ?? 0).toFixed(1),
        ]);
      }
      lines.push([name, 'large / small', ratio(rates), ratio(growths)]);
    }
    process.stdout.write(`${table(['file', 'rows', 'rows a second', 'grown by, MiB'], lines)}\n`);
  } finally {
    for (let stop = stops.pop(); stop; stop = stops.pop()) await stop();
  }
}

const ratio = ([small = 0, large = 0]: number[]): string => (large / small).toFixed(2);

/** The day up to which about so many of all entries lie. */
function lastDayOf(size: number, all: number): string {
  const days = Math.max(1, Math.round((DAYS * size) / all)) - 1;
  return new Date(Date.parse(FIRST_DAY) + days * 86_400_000).toISOString().slice(0, 10);
}

async function inChild(...args: string[]): Promise<Grown> {
  const { stdout } = await promisify(execFile)(process.execPath, [
    '--import',
    'tsx',
    fileURLToPath(import.meta.url),
    'child',
    ...args,
  ]);
  return JSON.parse(stdout);
}

/** Charges of ten years on two hundred accounts and as many pieces as a tenth of them, every thirtieth struck out. */
async function fillLedger(
  adminUrl: string,
  appUrl: string,
  personId: number,
  bearer: string,
  count: number,
): Promise<void> {
  const database = connect(appUrl, { max: 1 });
  const now = systemClock.now();
  const sql = postgres(adminUrl, { max: 1, onnotice: () => {} });
  try {
    const actor = await createSessions(database, systemClock, { secure: false }).findByToken(bearer);
    if (!actor) throw new Error('no such token');
    await database.db.update(people).set({ role: 'manager' });
    await database.transaction((tx) =>
      registerPieces({ tx, actor, now }, registerForm.parse({ form: 'beaker', cone: '6', ownClay: 'Buff' })),
    );
    // Written all at once, so the triggers that look at every entry stay out of it.
    await sql`set session_replication_role = replica`;
    await sql`insert into pieces overriding system value
      select (jsonb_populate_record(p, jsonb_build_object('id', p.id + i, 'number', p.number + i))).*
      from pieces p, generate_series(1, ${Math.round(count / 10)}::int) i`;
    const [first] = await sql`select min(id) as id from pieces`;
    await sql`insert into people (name, email, role, password_hash, joined_at)
      select 'Member ' || i, 'member-' || i || '@millrace.example', 'member', 'none', now() from generate_series(1, 200) i`;
    await sql`insert into fee_accounts (kind, number, person_id, made_at)
      select 'payer', row_number() over (order by id), id, now() from people where role = 'member'`;
    await sql`insert into fee_accounts (kind, key, made_at) values ('income', 'firing', now()), ('tax', 'tax', now())`;
    await sql`insert into fee_entries (number, kind, period, day, happened_at, recorded_at, by, account_id,
        amount_minor, net_minor, tax_minor, piece_id, load, firing_kind, cone, line, cm3, v, payload)
      select i, 'firing', to_char(d.day, 'YYYY-MM'), d.day, d.day, d.day, ${personId},
        (select id from fee_accounts where number = 1 + i % 200), 420, 350, 70,
        ${first?.id}::bigint + i % ${Math.round(count / 10)}::int, i / 40, 'glaze', '6', 'VOL', 1200, 1,
        '{"name":"By volume","because":["1.2 L at £2.92"],"against":"income:firing"}'
      from generate_series(1, ${count}::int) i,
        lateral (select ${FIRST_DAY}::date + ((i - 1)::bigint * ${DAYS} / ${count}::int)::int as day) d`;
    await sql`update fee_entries set kind = 'void', piece_id = null, amount_minor = -420, net_minor = -350,
        tax_minor = -70, voids = id - 7 where number % 30 = 0`;
    await sql`insert into fee_postings (entry_id, position, account_id, period, amount_minor)
      select e.id, side.position, side.account_id, e.period, side.amount from fee_entries e, lateral (values
        (0, e.account_id, e.amount_minor),
        (1, (select id from fee_accounts where kind = 'income'), -e.net_minor),
        (2, (select id from fee_accounts where kind = 'tax'), -e.tax_minor)) side (position, account_id, amount)`;
    await sql`insert into fee_books (last_entry) values (${count})`;
    await sql`analyze`;
  } finally {
    await sql.end();
    await database.close();
  }
}

const [asked, url, token, file, to] = process.argv.slice(2);
if (asked === 'child') await exportOnce(url as string, token as string, file as File, to as string);
else await bench(asked === '--quick' ? [1_000, 20_000] : [10_000, 1_000_000]);
