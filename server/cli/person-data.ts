import { createWriteStream } from 'node:fs';
import { rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type postgres from 'postgres';
import { NotFound } from '../core/errors.ts';
import { asOwner, quoted } from '../core/owner.ts';
import { HELD, type Held, typed, WORDS } from './person-tables.ts';
import { type Reference, referencesTo } from './references.ts';

/** How many rows of each table an export holds. */
export type Told = Record<string, number>;

const FORMAT = 1;
const MANY = 200;

/**
 * Writes everything the studio holds about one person into a new file that only its owner may read, as JSON, in one
 * snapshot and row by row. Other people stand in it as 'somebody else'.
 * @throws NotFound where nobody has this address; what was begun of the file is removed
 */
export async function exportPerson(
  ownerUrl: string,
  { email, file, madeAt }: { email: string; file: string; madeAt: Date },
): Promise<Told> {
  return asOwner(ownerUrl, (sql) =>
    sql.begin('isolation level repeatable read read only', async (tx) => {
      const [person] = await tx<{ id: string }[]>`select id from people where email = ${email}`;
      if (!person) throw new NotFound(`Nobody here has the e-mail address ${email}.`);
      const told: Told = {};
      const out = createWriteStream(file, { flags: 'wx', mode: 0o600 });
      try {
        await pipeline(Readable.from(lines(tx, person.id, { email, madeAt }, told)), out);
      } catch (error) {
        // One that was there before is somebody's.
        if ((error as { code?: unknown }).code !== 'EEXIST') await rm(file, { force: true });
        throw error;
      }
      return told;
    }),
  );
}

async function* lines(
  tx: postgres.TransactionSql,
  id: string,
  { email, madeAt }: { email: string; madeAt: Date },
  told: Told,
): AsyncGenerator<string> {
  const references = await referencesTo(tx, ['people', 'files']);
  const about = {
    wareboard: 'person',
    format: FORMAT,
    email,
    madeAt: madeAt.toISOString(),
    note: 'Times are UTC, lengths mm, masses kg unless their name says otherwise, money in minor units.',
  };
  yield `${JSON.stringify(about).slice(0, -1)},"tables":{`;
  let between = '';
  for (const [table, held] of Object.entries(HELD)) {
    const { meaning, without = {} } = held;
    const head = JSON.stringify({ meaning, leftOut: without }).slice(0, -1);
    yield `${between}\n${JSON.stringify(table)}:${head},"rows":[`;
    between = ',';
    told[table] = 0;
    const query = await queryOf(tx, table, held, references);
    for await (const rows of tx.unsafe<{ row: string }[]>(query, [id]).cursor(table === 'files' ? 1 : MANY))
      for (const { row } of rows) {
        yield `${told[table] === 0 ? '\n' : ',\n'}${row}`;
        told[table] += 1;
      }
    yield ']}';
  }
  yield '\n}}\n';
}

/** A table's rows of `$1`, each as JSON: other people veiled, words and hashes of files in place of their ids. */
async function queryOf(
  tx: postgres.TransactionSql,
  table: string,
  held: Held,
  references: readonly Reference[],
): Promise<string> {
  const { without = {}, also = {}, people = [] } = held;
  const veiled = new Set([...people, ...columnsTo('people', table, references)]);
  const files = columnsTo('files', table, references);
  const words = WORDS.filter((one) => one.table === table);
  const columns = (await columnsOf(tx, table))
    .filter(
      (name) => !(name in without) && !files.includes(name) && !words.some(({ column }) => column === name),
    )
    .map((name) => (veiled.has(name) ? veil(name) : `t.${quoted(name)}`));
  const more = [
    ...files.map((name) => `(select f.sha256 from files f where f.id = t.${quoted(name)}) as ${plain(name)}`),
    ...[...new Map(words.map((one) => [one.column, one])).values()].map(
      ({ notes, column, key = `t.${quoted(column)}`, told = 'true' }) =>
        `case when ${told} then (select n.text from ${quoted(notes)} n where n.id = ${key}) end as ${plain(column)}`,
    ),
    ...Object.entries(also).map(([name, sql]) => `${sql} as ${quoted(name)}`),
  ];
  const order = (await keyOf(tx, table)).map((name) => `t.${quoted(name)}`).join(', ');
  return typed(`select to_jsonb(s)::text as row from (
    select ${[...columns, ...more].join(', ')} from ${quoted(table)} t where ${whose(held)} order by ${order}) s`);
}

const whose = ({ people = [], or }: Held): string =>
  [...people.map((name) => `t.${quoted(name)} = $1::bigint`), ...(or ? [`(${or})`] : [])].join(' or ');

const columnsTo = (to: string, table: string, references: readonly Reference[]): string[] =>
  references.filter((one) => one.to === to && one.table === table).map(({ column }) => column);

const veil = (name: string): string =>
  `case when t.${quoted(name)} = $1::bigint then 'this person'
    when t.${quoted(name)} is not null then 'somebody else' end as ${quoted(name)}`;

/** 'note_id' leads to a 'note'. */
const plain = (name: string): string => quoted(name.replace(/_id$/, ''));

async function columnsOf(tx: postgres.ISql, table: string): Promise<string[]> {
  const rows = await tx<{ name: string }[]>`
    select attname::text as name from pg_attribute
    where attrelid = ${quoted(table)}::regclass and attnum > 0 and not attisdropped order by attnum`;
  return rows.map(({ name }) => name);
}

async function keyOf(tx: postgres.ISql, table: string): Promise<string[]> {
  const rows = await tx<{ name: string }[]>`
    select a.attname::text as name from pg_index i
    join pg_attribute a on a.attrelid = i.indrelid and a.attnum = any(i.indkey)
    where i.indrelid = ${quoted(table)}::regclass and i.indisprimary order by a.attnum`;
  return rows.map(({ name }) => name);
}
