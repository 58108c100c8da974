import { createReadStream, readdirSync } from 'node:fs';
import postgres from 'postgres';
import { describe, expect, it } from 'vitest';
import { examine } from '../../server/cli/examine.ts';
import { connect, migrate, readJournal } from '../../server/core/database.ts';
import { readDump, sumTables } from '../../server/core/dump.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { anEmptyDatabase, appOn } from '../helpers/studio.ts';

/** The demo of earlier releases, each kept by its own code on the tables it had: 'schema-07' had seven migrations. */
const KEPT = new URL('../upgrade/', import.meta.url);
const ALL = readJournal().entries.length;

describe.each(readdirSync(KEPT))('a studio of an earlier release: %s', (file) => {
  it('comes up to date with every row, and its ledgers and pages say what they said', async () => {
    const { ownerUrl, appUrl } = await anEmptyDatabase();
    const kept = await readDump(ownerUrl, appUrl, createReadStream(new URL(file, KEPT)));
    expect(file).toBe(`schema-${String(kept.migrations).padStart(2, '0')}.backup`);
    const now = await sumTables(ownerUrl);
    for (const [table, { rows }] of Object.entries(kept.tables))
      expect([table, now[table]?.rows]).toEqual([table, rows]);
    expect(kept.tables.bucket_events?.rows).toBeGreaterThan(400);

    const { database, services, app } = await appOn(appUrl);
    expect((await examine(database)).faults).toEqual([]);
    const sql = postgres(appUrl, { max: 1 });
    whenFileIsDone(() => sql.end());
    for (const role of ['member', 'technician', 'manager']) {
      const [person] = await sql`select id from people where role = ${role} order by id limit 1`;
      const cookie = (await services.sessions.start(Number(person?.id))).split(';')[0] as string;
      for (const url of ['/wall', '/buckets/TB', '/buckets/TB/ledger', '/ware', '/kilns', '/fees', '/me']) {
        const { statusCode } = await app.inject({ url, headers: { cookie } });
        expect([role, url, statusCode]).toEqual([role, url, 200]);
      }
    }
  }, 60_000);
});

describe('migrations', () => {
  it('run once, however many processes start', async () => {
    const { ownerUrl, appUrl } = await anEmptyDatabase();
    await Promise.all(Array.from({ length: 4 }, () => migrate(ownerUrl, appUrl)));
    const sql = postgres(ownerUrl, { max: 1 });
    whenFileIsDone(() => sql.end());
    const [row] = await sql`select count(*)::int as n from drizzle.__drizzle_migrations`;
    expect(row?.n).toBe(ALL);
  }, 60_000);

  it('leave the old tables as they were where one of them fails, and go on once it can', async () => {
    const { ownerUrl, appUrl } = await anEmptyDatabase();
    await migrate(ownerUrl, appUrl, 3);
    const sql = postgres(ownerUrl, { max: 1 });
    whenFileIsDone(() => sql.end());
    // In the way of what comes later.
    await sql`create table fee_entries (id int)`;
    const tables = async () =>
      (await sql`select relname from pg_class where relnamespace = 'public'::regnamespace order by 1`).map(
        ({ relname }) => relname,
      );
    const before = await tables();
    await expect(migrate(ownerUrl, appUrl)).rejects.toThrow();
    expect(await tables()).toEqual(before);
    const old = connect(appUrl, { max: 1 });
    whenFileIsDone(() => old.close());
    expect(await old.db.execute('select count(*)::int as n from buckets')).toEqual([{ n: 0 }]);

    await sql`drop table fee_entries`;
    await migrate(ownerUrl, appUrl);
    expect(await tables()).toContain('fee_entries');
  }, 60_000);
});
