import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Database, isCurrent, MIGRATIONS } from '../core/database.ts';
import { quoted } from '../core/owner.ts';
import { wholeMebibytes } from './sizes.ts';

/** What is wrong, and what is only worth knowing. */
export interface Findings {
  faults: string[];
  notes: string[];
}

type Client = Database['client'];

/** Whether the tables are those of this release; nothing else can be looked at where they are not. */
export async function examineMigrations({ db }: Database): Promise<string[]> {
  const isSo = await isCurrent(db).catch(() => false);
  return isSo
    ? []
    : ['The tables are not those of this release: start Wareboard once, which brings them up to date.'];
}

/**
 * What the database holds against its own rules: constraints, those that a restore or a repair by hand went round as
 * well; triggers that are missing or off; indexes that are not whole; numbers that would be given twice; files that
 * nothing refers to.
 */
export async function examineTables({ client }: Database): Promise<Findings> {
  const faults = [
    ...(await checkConstraints(client)),
    ...(await references(client)),
    ...(await indexes(client)),
    ...(await triggers(client)),
    ...(await sequences(client)),
  ];
  return { faults, notes: await orphans(client) };
}

interface Constraint {
  name: string;
  table: string;
  isValidated: boolean;
}

async function checkConstraints(client: Client): Promise<string[]> {
  const found = await client.unsafe<(Constraint & { rule: string })[]>(`
    select conname as name, conrelid::regclass::text as table, convalidated as "isValidated",
      pg_get_expr(conbin, conrelid) as rule
    from pg_constraint where contype = 'c' and connamespace = 'public'::regnamespace order by 2, 1`);
  const faults: string[] = [];
  for (const { name, table, isValidated, rule } of found) {
    if (!isValidated)
      faults.push(`Constraint ${name} of ${table} was never checked for the rows that were there.`);
    const [row] = await client.unsafe<{ n: number }[]>(
      `select count(*)::int as n from ${table} where not (${rule})`,
    );
    if (row && row.n > 0) faults.push(`${table}: ${row.n} rows break constraint ${name}.`);
  }
  return faults;
}

async function references(client: Client): Promise<string[]> {
  const found = await client.unsafe<(Constraint & { to: string; pairs: [own: string, other: string][] })[]>(`
    select c.conname as name, c.conrelid::regclass::text as table, c.confrelid::regclass::text as to,
      c.convalidated as "isValidated",
      (select json_agg(json_build_array(own.attname, other.attname))
        from unnest(c.conkey, c.confkey) as key (own, other)
        join pg_attribute own on own.attrelid = c.conrelid and own.attnum = key.own
        join pg_attribute other on other.attrelid = c.confrelid and other.attnum = key.other) as pairs
    from pg_constraint c where contype = 'f' and connamespace = 'public'::regnamespace order by 2, 1`);
  const faults: string[] = [];
  for (const { name, table, to, isValidated, pairs } of found) {
    if (!isValidated)
      faults.push(`Constraint ${name} of ${table} was never checked for the rows that were there.`);
    const isGiven = pairs.map(([own]) => `one.${quoted(own)} is not null`).join(' and ');
    const isThere = pairs.map(([own, other]) => `other.${quoted(other)} = one.${quoted(own)}`).join(' and ');
    const [row] = await client.unsafe<{ n: number }[]>(
      `select count(*)::int as n from ${table} one where ${isGiven} and not exists (select from ${to} other where ${isThere})`,
    );
    if (row && row.n > 0) faults.push(`${table}: ${row.n} rows refer to what is not in ${to} (${name}).`);
  }
  return faults;
}

async function indexes(client: Client): Promise<string[]> {
  const broken = await client.unsafe<{ name: string }[]>(`
    select indexrelid::regclass::text as name from pg_index i join pg_class c on c.oid = i.indrelid
    where c.relnamespace = 'public'::regnamespace and not (indisvalid and indisready)`);
  return broken.map(({ name }) => `Index ${name} is not whole: reindex it.`);
}

/** Every trigger that the migrations made, off or not there; whatever only writes on a ledger asks for them. */
async function triggers(client: Client): Promise<string[]> {
  const rows = await client.unsafe<{ name: string; isOn: boolean }[]>(`
    select tgname as name, tgenabled in ('O', 'A') as "isOn" from pg_trigger t join pg_class c on c.oid = t.tgrelid
    where c.relnamespace = 'public'::regnamespace and not tgisinternal`);
  const there = new Map(rows.map(({ name, isOn }) => [name, isOn]));
  return expectedTriggers()
    .filter(([name]) => there.get(name) !== true)
    .map(([name, table]) => `Trigger ${name} of ${table} is ${there.has(name) ? 'off' : 'not there'}.`);
}

/** Name and table of each, as the migrations leave them. */
function expectedTriggers(): [name: string, table: string][] {
  const made = new Map<string, string>();
  const files = readdirSync(MIGRATIONS).filter((name) => name.endsWith('.sql'));
  for (const file of files.sort())
    for (const [, does, name = '', table = ''] of readFileSync(join(MIGRATIONS, file), 'utf8').matchAll(
      /^(CREATE (?:CONSTRAINT )?|DROP )TRIGGER "?(\w+)"?[^;]*? ON "?(\w+)"?/gim,
    ))
      if (does?.startsWith('DROP')) made.delete(name);
      else made.set(name, table);
  return [...made].sort();
}

async function sequences(client: Client): Promise<string[]> {
  const columns = await client.unsafe<{ table: string; column: string; sequence: string }[]>(`
    select c.oid::regclass::text as table, a.attname as column,
      pg_get_serial_sequence(c.oid::regclass::text, a.attname) as sequence
    from pg_attribute a join pg_class c on c.oid = a.attrelid
    where a.attidentity <> '' and c.relnamespace = 'public'::regnamespace order by 1`);
  const faults: string[] = [];
  for (const { table, column, sequence } of columns) {
    const [row] = await client.unsafe<{ isBehind: boolean }[]>(`
      select (select coalesce(max(${quoted(column)}), 0) from ${table})
        > (select case when is_called then last_value else last_value - 1 end from ${sequence}) as "isBehind"`);
    if (row?.isBehind) faults.push(`${table}: the next ${column} was given before (${sequence} is behind).`);
  }
  return faults;
}

/** Files that nothing refers to: a photo whose form was refused and never sent again leaves one. */
async function orphans(client: Client): Promise<string[]> {
  const users = await client.unsafe<{ table: string; column: string }[]>(`
    select c.conrelid::regclass::text as table, a.attname as column
    from pg_constraint c join pg_attribute a on a.attrelid = c.conrelid and a.attnum = c.conkey[1]
    where c.contype = 'f' and c.confrelid = 'public.files'::regclass`);
  const used = users
    .map(({ table, column }) => `select ${quoted(column)} as id from ${table}`)
    .join(' union all ');
  const [row] = await client.unsafe<{ n: number; bytes: string }[]>(`
    select count(*)::int as n, coalesce(sum(octet_length(bytes)), 0) as bytes from files
    where not exists (select from (${used}) used where used.id = files.id)`);
  if (!row || row.n === 0) return [];
  return [`${row.n} files that nothing refers to, ${wholeMebibytes(Number(row.bytes))} in all.`];
}
