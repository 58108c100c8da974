import { createHash } from 'node:crypto';
import { mkdtemp, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type postgres from 'postgres';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { DEMO_PEOPLE } from '../../seed/people.ts';
import { recordAct } from '../../server/buckets/service/index.ts';
import { exportPerson } from '../../server/cli/person-data.ts';
import { HELD, NOT_FOLLOWED, WORDS } from '../../server/cli/person-tables.ts';
import { referencesTo } from '../../server/cli/references.ts';
import { NotFound } from '../../server/core/errors.ts';
import { secretHash } from '../../server/core/secrets.ts';
import { followUp, logEntry } from '../../server/safety/service/log.ts';
import { aKeptDemo } from '../helpers/kept-demo.ts';
import { aStudio } from '../helpers/studio.ts';
import { upload } from '../helpers/upload.ts';

interface Export {
  email: string;
  tables: Record<
    string,
    { meaning: string; leftOut: Record<string, string>; rows: Record<string, unknown>[] }
  >;
}

let made: Awaited<ReturnType<typeof aKeptDemo>>;
let sql: postgres.Sql;
let folder: string;
beforeAll(async () => {
  made = await aKeptDemo();
  sql = made.sql;
  folder = await mkdtemp(join(tmpdir(), 'person-'));
});
afterAll(() => rm(folder, { recursive: true }));

const NOTES = ['bucket_notes', 'stock_notes', 'piece_notes', 'safety_notes', 'fee_notes'];

async function told(email: string): Promise<Export> {
  const file = join(folder, `${email}.json`);
  await exportPerson(made.ownerUrl, { email, file, madeAt: new Date(made.clock.now()) });
  return JSON.parse(await readFile(file, 'utf8'));
}

describe('what the export knows of', () => {
  it('is every column that refers to a person, or says why not', async () => {
    const named = (await referencesTo(sql, ['people'])).map(({ table, column }) => [table, column] as const);
    // Not every one of them is a foreign key: an audit line and a key outlive what they name.
    const loose = await sql<{ table: string; column: string }[]>`
      select table_name as table, column_name as column from information_schema.columns
      where table_schema = 'public' and data_type = 'bigint'
        and (column_name in ('by', 'person_id', 'owner_id') or column_name like '%_by')`;
    const all = [...named, ...loose.map(({ table, column }) => [table, column] as const)];
    expect(all.length).toBeGreaterThan(80);
    const forgotten = all.filter(
      ([table, column]) => !HELD[table]?.people?.includes(column) && !(`${table}.${column}` in NOT_FOLLOWED),
    );
    expect(forgotten).toEqual([]);
  });

  it('is every table that belongs to their pieces, accounts and entries', async () => {
    const below = await referencesTo(sql, ['pieces', 'fee_accounts', 'groups', 'safety_entries']);
    expect(below.filter(({ table }) => !(table in HELD))).toEqual([]);
  });

  it('is every column that leads to words, each with who wrote them', async () => {
    const found = await sql<{ name: string }[]>`
      select relname as name from pg_class
      where relnamespace = 'public'::regnamespace and relkind = 'r' and relname like '%_notes' order by relname`;
    expect(found.map(({ name }) => name)).toEqual([...NOTES].sort());
    const leads = await referencesTo(sql, NOTES);
    const forgotten = leads.filter(
      ({ table, column, to }) =>
        !WORDS.some((one) => one.table === table && one.column === column && one.notes === to),
    );
    expect(forgotten).toEqual([]);
    expect(WORDS.filter(({ table }) => !(table in HELD))).toEqual([]);
  });

  it('is every column that keeps an address: one more needs a line in the erasure, too', async () => {
    const found = await sql<{ name: string }[]>`
      select table_name || '.' || column_name as name from information_schema.columns
      where table_schema = 'public' and column_name like '%mail%' order by 1`;
    expect(found.map(({ name }) => name)).toEqual(['links.email', 'people.email', 'sign_in_failures.email']);
  });

  it('names no column that is not there', async () => {
    const columns = await sql<{ name: string }[]>`
      select table_name || '.' || column_name as name from information_schema.columns where table_schema = 'public'`;
    const there = new Set(columns.map(({ name }) => name));
    const listed = [
      ...Object.entries(HELD).flatMap(([table, { people = [], without = {} }]) =>
        [...people, ...Object.keys(without)].map((column) => `${table}.${column}`),
      ),
      ...Object.keys(NOT_FOLLOWED),
    ];
    expect(listed.filter((name) => !there.has(name))).toEqual([]);
  });

  it('leaves out every column that keeps a secret', async () => {
    const hashes = await sql<{ table: string; column: string }[]>`
      select table_name as table, column_name as column from information_schema.columns
      where table_schema = 'public' and column_name like '%hash%'`;
    expect(hashes.length).toBeGreaterThanOrEqual(8);
    expect(hashes.filter(({ table, column }) => !(column in (HELD[table]?.without ?? {})))).toEqual([]);
  });
});

describe('an export', () => {
  it('tells what the demo knows of each person, and nothing that opens a door', async () => {
    const secrets = await sql<{ secret: string }[]>`
      select password_hash as secret from people union select hash from tokens union select id_hash from sessions`;
    for (const { email, name } of DEMO_PEOPLE) {
      const { tables } = await told(email);
      expect(tables.people?.rows, email).toMatchObject([{ name, email }]);
      const text = JSON.stringify(tables);
      for (const { secret } of secrets) expect(text).not.toContain(secret);
      // Addresses of others are theirs.
      for (const other of DEMO_PEOPLE) if (other.email !== email) expect(text).not.toContain(other.email);
    }
  });

  it('tells words, figures and pictures of theirs, and not what others wrote of others', async () => {
    const s = await aStudio();
    const { technician, member } = s.people;
    const bucket = await s.aBucket({ sg: 1.46 });
    await s.as(technician, (act) => recordAct(act, bucket, 'notes', { note: 'Lid is cracked' } as never));
    const bytes = await sharp({ create: { width: 60, height: 40, channels: 3, background: '#aa3300' } })
      .png()
      .toBuffer();
    await upload(s, technician, '/ware/marks', { text: 'W in a ring' }, { bytes });
    const hurt = { kind: 'first-aid', place: 'Kiln room', what: 'A burn on the left hand' } as const;
    const number = await s.as(member, (act) => logEntry(act, hurt));
    const wish = { what: 'Look at the gloves', owner: technician.email, dueOn: '2099-01-01' };
    await s.as(s.people.manager, (act) => followUp(act, number, wish));

    const tell = async (email: string): Promise<Export['tables']> => {
      const file = join(folder, `${email}.json`);
      await exportPerson(s.ownerUrl, { email, file, madeAt: new Date(s.clock.now()) });
      return JSON.parse(await readFile(file, 'utf8')).tables;
    };
    const hers = await tell(technician.email);
    expect(hers.bucket_events?.rows.at(-1)).toMatchObject({
      kind: 'note',
      by: 'this person',
      note: 'Lid is cracked',
    });
    const [file] = (hers.files?.rows ?? []) as { sha256: string; base64: string }[];
    expect(
      createHash('sha256')
        .update(Buffer.from(file?.base64 ?? '', 'base64'))
        .digest('hex'),
    ).toBe(file?.sha256);
    expect(hers.marks?.rows).toMatchObject([
      { text: 'W in a ring', file: file?.sha256, person_id: 'this person' },
    ]);
    expect(hers.safety_entries?.rows).toMatchObject([
      { kind: 'follow-up', by: 'somebody else', owner_id: 'this person', what: null },
    ]);
    expect(JSON.stringify(hers)).not.toContain('burn');
    const his = await tell(member.email);
    expect(his.safety_entries?.rows).toMatchObject([
      { kind: 'first-aid', by: 'this person', what: 'A burn on the left hand' },
      { kind: 'follow-up', by: 'somebody else', owner_id: 'somebody else', what: 'Look at the gloves' },
    ]);
    for (const one of [technician, member])
      expect(JSON.stringify([hers, his])).not.toContain(secretHash(one.token));
  });

  it('is a file that only its owner reads, and is never written over', async () => {
    const file = join(folder, 'once.json');
    const wish = { email: 'member@millrace.example', file, madeAt: new Date(0) };
    await exportPerson(made.ownerUrl, wish);
    expect((await stat(file)).mode & 0o777).toBe(0o600);
    const before = await readFile(file, 'utf8');
    await expect(exportPerson(made.ownerUrl, wish)).rejects.toThrow('EEXIST');
    expect(await readFile(file, 'utf8')).toBe(before);
    const nobody = { ...wish, email: 'nobody@millrace.example', file: join(folder, 'nobody.json') };
    await expect(exportPerson(made.ownerUrl, nobody)).rejects.toThrow(NotFound);
    await expect(stat(nobody.file)).rejects.toThrow('ENOENT');
  });
});
