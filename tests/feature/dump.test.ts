import { once } from 'node:events';
import { PassThrough, Readable } from 'node:stream';
import { buffer } from 'node:stream/consumers';
import { gunzipSync, gzipSync } from 'node:zlib';
import { eq } from 'drizzle-orm';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { examine } from '../../server/cli/examine.ts';
import { connect, migrate, type Tx } from '../../server/core/database.ts';
import { DumpRefusal, readDump, sumTables, writeDump } from '../../server/core/dump.ts';
import { files, people } from '../../server/core/schema.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { anEmptyDatabase, aStudio, type Studio } from '../helpers/studio.ts';

const MADE = new Date('2026-11-28T08:00:00Z');
/** What COPY has to write otherwise than it is. */
const AWKWARD = 'tab\t newline\n return\r backslash \\ and \\N\n\\.\n"quoted", {"table":"people"} ünï';

let made: Studio;
let dump: Buffer;

beforeAll(async () => {
  made = await aStudio();
  await made.aBucket({ code: 'TB', sg: 1.52, stirredMinutesAgo: 5 });
  const { id } = made.people.member;
  await made.database.db.update(people).set({ name: AWKWARD }).where(eq(people.id, id));
  const bytes = Buffer.from(Array.from({ length: 300_000 }, (_, i) => (i * 7 + (i >> 8)) % 256));
  await made.database.db
    .insert(files)
    .values({ sha256: 'ab'.repeat(32), type: 'image/jpeg', bytes, madeBy: id, madeAt: 0 });
  dump = await dumped(made.ownerUrl);
}, 60_000);

const dipped = (tx: Tx) =>
  recordAct({ tx, actor: made.people.member.caller, now: made.clock.now() }, 'TB', 'dippings', {
    pieces: 1,
    stirred: false,
  });

async function dumped(ownerUrl: string): Promise<Buffer> {
  const out = new PassThrough();
  const [bytes] = await Promise.all([buffer(out), writeDump(ownerUrl, out, MADE)]);
  return bytes;
}

const restored = async (bytes: Buffer, into?: { ownerUrl: string; appUrl: string }) => {
  const empty = into ?? (await anEmptyDatabase());
  return { empty, report: await readDump(empty.ownerUrl, empty.appUrl, Readable.from([bytes])) };
};

const changed = (change: (text: string) => string): Buffer =>
  gzipSync(Buffer.from(change(gunzipSync(dump).toString('latin1')), 'latin1'));

describe('a backup', () => {
  it('comes back row by row, photos, awkward words and numbers to come included', async () => {
    const { empty, report } = await restored(dump);
    const before = await sumTables(made.ownerUrl);
    expect(report.tables).toEqual(before);
    expect(await sumTables(empty.ownerUrl)).toEqual(before);
    expect(before.bucket_events?.rows).toBeGreaterThan(1);
    expect(report.madeAt).toBe(MADE.toISOString());

    const database = connect(empty.appUrl, { max: 2 });
    whenFileIsDone(() => database.close());
    expect((await examine(database)).faults).toEqual([]);
    // The ledger goes on: new ids and numbers do not meet old ones, and what guards it is awake again.
    await database.transaction((tx) => dipped(tx));
    const owner = postgres(empty.ownerUrl, { max: 1 });
    whenFileIsDone(() => owner.end());
    await expect(owner`delete from bucket_events`).rejects.toThrow(/append-only|refuse|change/i);
  });

  it('is one moment of a studio that goes on writing', async () => {
    const before = await sumTables(made.ownerUrl);
    // Nobody takes what it writes yet, so it waits, somewhere before its end.
    const out = new PassThrough();
    const writing = writeDump(made.ownerUrl, out, MADE);
    await once(out, 'readable');
    for (let i = 0; i < 3; i++) await made.database.transaction((tx) => dipped(tx));
    const [bytes, report] = await Promise.all([buffer(out), writing]);
    expect(report.tables).toEqual(before);
    expect((await sumTables(made.ownerUrl)).bucket_events).not.toEqual(before.bucket_events);
    const { empty } = await restored(bytes);
    const database = connect(empty.appUrl, { max: 2 });
    whenFileIsDone(() => database.close());
    expect((await examine(database)).faults).toEqual([]);
  });

  it('goes into the tables of the release that made it first, and comes up to date', async () => {
    const { ownerUrl, appUrl } = await anEmptyDatabase();
    await migrate(ownerUrl, appUrl, 2);
    const old = await dumped(ownerUrl);
    const { empty, report } = await restored(old);
    expect(report.migrations).toBe(2);
    expect(Object.keys(await sumTables(empty.ownerUrl))).toEqual(Object.keys(await sumTables(made.ownerUrl)));
  });
});

describe('what is refused, with nothing restored', () => {
  const refused: [string, () => Buffer, RegExp][] = [
    ['no backup', () => Buffer.from('a letter'), /not a backup/],
    ['something else, compressed', () => gzipSync('{"some":"json"}\n'), /not a backup/],
    ['half of one', () => dump.subarray(0, dump.length / 2), /not the whole/],
    [
      'one without its end',
      () => changed((text) => text.slice(0, text.lastIndexOf('{"sequences"'))),
      /not the whole/,
    ],
    [
      'one of a newer release',
      () => changed((text) => text.replace(/"migrations":\[/, '"migrations":[1,')),
      /newer/,
    ],
    ['a changed row', () => changed((text) => text.replace('Millrace', 'Millrice')), /not as the .* kept/],
    [
      'a row less',
      () => changed((text) => text.replace(/(\{"table":"studio"[^\n]*\n)[^\n]*\n/, '$1')),
      /came back/,
    ],
    [
      'a table that there is not',
      () => changed((text) => text.replace('"table":"studio"', '"table":"pg_class"')),
      /does not know/,
    ],
    [
      'columns that there are not',
      () => changed((text) => text.replace(/("table":"studio","columns":\[)/, '$1"more",')),
      /does not know/,
    ],
  ];
  let into: { ownerUrl: string; appUrl: string };
  beforeAll(async () => {
    into = await anEmptyDatabase();
  });

  it.each(refused)('%s', async (_name, bytes, why) => {
    const failure = await restored(bytes(), into).catch((error: unknown) => error);
    expect(failure).toBeInstanceOf(DumpRefusal);
    expect((failure as Error).message).toMatch(why);
    const rows = Object.values(await sumTables(into.ownerUrl)).reduce((sum, one) => sum + one.rows, 0);
    expect(rows).toBe(0);
  });

  it('a second one, where the right one was taken after all those', async () => {
    await restored(dump, into);
    await expect(restored(dump, into)).rejects.toThrow(/not empty/);
  });

  it('a database that is none of ours', async () => {
    const { ownerUrl } = await anEmptyDatabase();
    await expect(writeDump(ownerUrl, new PassThrough(), MADE)).rejects.toThrow(/no tables of Wareboard/);
  });
});
