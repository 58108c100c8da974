import { mkdtemp, rm, utimes, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { examineSurroundings } from '../../server/cli/examine-surroundings.ts';
import { examineMigrations, examineTables } from '../../server/cli/examine-tables.ts';
import { readConfig } from '../../server/config.ts';
import { backupName } from '../../server/core/backups.ts';
import { DAY, HOUR, systemClock } from '../../server/core/clock.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { runCommand } from '../helpers/command.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
let owner: postgres.Sql;
let code: string;
beforeAll(async () => {
  s = await aStudio();
  owner = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
  whenFileIsDone(() => owner.end());
  code = await s.aBucket({ sg: 1.46 });
});

/** What the doctor says while something is broken, and that it says nothing once that is mended. */
async function whileBroken(breakIt: string, mend: string): Promise<string[]> {
  await owner.unsafe(breakIt);
  const { faults } = await examineTables(s.database);
  await owner.unsafe(mend);
  expect((await examineTables(s.database)).faults).toEqual([]);
  return faults;
}

describe('the tables', () => {
  it('sound ones are found sound', async () => {
    expect(await examineMigrations(s.database)).toEqual([]);
    expect(await examineTables(s.database)).toEqual({ faults: [], notes: [] });
  });

  it('a trigger that is off or gone', async () => {
    expect(
      await whileBroken(
        'alter table bucket_events disable trigger bucket_events_append_only',
        'alter table bucket_events enable trigger bucket_events_append_only',
      ),
    ).toEqual(['Trigger bucket_events_append_only of bucket_events is off.']);
    const [made] = await owner`
      select pg_get_triggerdef(oid) as sql from pg_trigger where tgname = 'fee_postings_not_emptied'`;
    expect(
      await whileBroken('drop trigger fee_postings_not_emptied on fee_postings', String(made?.sql)),
    ).toEqual(['Trigger fee_postings_not_emptied of fee_postings is not there.']);
  });

  it('rows that break a constraint nobody checked', async () => {
    expect(
      await whileBroken(
        `alter table people drop constraint people_role;
        update people set role = 'captain' where id = ${s.people.member.id};
        alter table people add constraint people_role check (role in ('member', 'technician', 'manager')) not valid`,
        `update people set role = 'member' where id = ${s.people.member.id};
        alter table people validate constraint people_role`,
      ),
    ).toEqual([
      'Constraint people_role of people was never checked for the rows that were there.',
      'people: 1 rows break constraint people_role.',
    ]);
  });

  it('a row that refers to nothing, as after a restore by hand', async () => {
    expect(
      await whileBroken(
        `set session_replication_role = replica;
        insert into sessions (id_hash, person_id, expires_at) values ('nobody', 999999, now());
        set session_replication_role = default`,
        `delete from sessions where id_hash = 'nobody'`,
      ),
    ).toEqual(['sessions: 1 rows refer to what is not in people (sessions_person_id_people_id_fk).']);
  });

  it('a sequence that would give a number twice', async () => {
    const [row] = await owner`select max(id) as id from people`;
    expect(
      await whileBroken(
        `select setval(pg_get_serial_sequence('people', 'id'), 1)`,
        `select setval(pg_get_serial_sequence('people', 'id'), ${Number(row?.id)})`,
      ),
    ).toEqual(['people: the next id was given before (public.people_id_seq is behind).']);
  });

  it('files that nothing refers to are told, and no fault', async () => {
    await owner`insert into files (sha256, type, bytes, made_by, made_at)
      values ('x', 'image/webp', ${Buffer.alloc(3 * 2 ** 20)}, ${s.people.member.id}, now())`;
    expect(await examineTables(s.database)).toEqual({
      faults: [],
      notes: ['1 files that nothing refers to, 3.0 MiB in all.'],
    });
    await owner`delete from files`;
  });

  it('tables of an older release', async () => {
    await owner`create table kept as select * from drizzle.__drizzle_migrations`;
    await owner`delete from drizzle.__drizzle_migrations where id = (select max(id) from drizzle.__drizzle_migrations)`;
    const faults = await examineMigrations(s.database);
    await owner`insert into drizzle.__drizzle_migrations select * from kept
      where id not in (select id from drizzle.__drizzle_migrations)`;
    await owner`drop table kept`;
    expect(faults).toEqual([expect.stringContaining('not those of this release')]);
    expect(await examineMigrations(s.database)).toEqual([]);
  });
});

describe('what the service stands on', () => {
  const now = Date.now();
  const look = (
    env: Record<string, string>,
    clock = systemClock,
    places: { words: string; folder: string }[] = [],
  ) => examineSurroundings(s.database, readConfig(env), places, clock);

  async function aFolder(): Promise<string> {
    const folder = await mkdtemp(join(tmpdir(), 'wareboard-doctor-'));
    whenFileIsDone(() => rm(folder, { recursive: true }));
    return folder;
  }

  it('says what is not set, and finds nothing wrong', async () => {
    expect(await look({})).toEqual({
      faults: [],
      notes: [
        'No backups are kept by themselves: BACKUP_DIR is not set.',
        'Mail goes nowhere and is kept to be read: SMTP_URL is not set.',
      ],
    });
  });

  it('backups that are missing, old or nowhere', async () => {
    const folder = await aFolder();
    const faults = async (env: Record<string, string>) => (await look(env)).faults;
    await owner`update studio set set_up_at = now()`;
    const fresh = await look({ BACKUP_DIR: folder });
    expect([fresh.faults, fresh.notes[0]]).toEqual([[], `Backups: there is none in ${folder} yet.`]);
    await owner`update studio set set_up_at = now() - interval '3 days'`;
    const tomorrow = join(folder, backupName(now + DAY));
    await writeFile(tomorrow, '');
    expect(await faults({ BACKUP_DIR: folder })).toEqual([`Backups: there is none in ${folder}.`]);
    await writeFile(join(folder, backupName(now - 3 * DAY)), '');
    expect(await faults({ BACKUP_DIR: folder })).toEqual([
      expect.stringMatching(/^Backups: the newest is 7[12] hours old\.$/),
    ]);
    await writeFile(join(folder, backupName(now - HOUR)), '');
    await utimes(tomorrow, 0, 0);
    expect(await faults({ BACKUP_DIR: folder })).toEqual([]);
    expect(await faults({ BACKUP_DIR: join(folder, 'nowhere') })).toEqual([
      `Backups: ${join(folder, 'nowhere')} is not there, or not to be written to.`,
    ]);
  });

  it('a disk without room', async () => {
    const { faults } = await look({}, systemClock, [{ words: 'Database', folder: '/proc' }]);
    expect(faults).toEqual(['Database: only 0.0 MiB are free on the disk of /proc; 512 MiB should be.']);
  });

  it('clocks that differ, and rows from a time to come', async () => {
    expect((await look({}, { now: () => Date.now() + HOUR })).faults).toEqual([
      expect.stringMatching(/^Clocks: the database's differs from this machine's by (3599|36\d\d) s\.$/),
    ]);
    s.clock.forward(400 * DAY);
    await s.api(s.people.member, 'POST', `/buckets/${code}/stirs`, {});
    s.clock.forward(-400 * DAY);
    expect((await look({})).notes).toContain(
      '1 bucket events were recorded later than now: a clock was wrong once.',
    );
  });

  it('a mail server that is away, and mail that has waited', async () => {
    const closed = createServer().listen(0, '127.0.0.1');
    await new Promise((resolve) => closed.once('listening', resolve));
    const { port } = closed.address() as { port: number };
    await new Promise((resolve) => closed.close(resolve));
    await owner`insert into mails (person_id, kind, subject, body, made_at, due_at)
      values (${s.people.member.id}, 'day', 'x', 'x', now() - interval '2 days', now() - interval '2 hours')`;
    const { faults } = await look({ SMTP_URL: `smtp://127.0.0.1:${port}`, MAIL_FROM: 'a@millrace.example' });
    await owner`delete from mails`;
    expect(faults).toEqual([
      expect.stringMatching(/^Mail: the server does not take us: .*ECONNREFUSED/),
      'Mail: 1 have waited for more than a day.',
    ]);
  });

  it('jobs that were given up', async () => {
    await owner`insert into pgboss.job (name, state) values ('backup', 'failed')`;
    const { faults } = await look({});
    await owner`delete from pgboss.job where state = 'failed'`;
    expect(faults).toEqual([expect.stringContaining('Jobs: backup was given up 1 times of late')]);
  });
});

describe('the command', () => {
  it('ends with 0, 1 or 2, and says the same as JSON', { timeout: 120_000 }, async () => {
    const settings = { DATABASE_URL: String(s.services.config.databaseUrl) };
    const sound = await runCommand('doctor', [], settings);
    expect([sound.code, sound.stderr]).toEqual([0, '']);
    expect(sound.stdout).toMatch(/1 buckets and \d+ events examined, .*\. No faults\.\n$/);
    await owner`alter table audit disable trigger audit_append_only`;
    const broken = await runCommand('doctor', ['--json'], settings);
    await owner`alter table audit enable trigger audit_append_only`;
    expect(broken.code).toBe(1);
    expect(JSON.parse(broken.stdout)).toMatchObject({
      faults: ['Trigger audit_append_only of audit is off.'],
      notes: expect.arrayContaining([expect.stringContaining('BACKUP_DIR')]),
    });
    const away = await runCommand('doctor', [], { DATABASE_URL: 'postgres://nobody@127.0.0.1:1/none' });
    expect([away.code, away.stdout]).toEqual([2, '']);
  });
});
