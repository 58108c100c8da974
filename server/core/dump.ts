import { createHash } from 'node:crypto';
import { Readable, type Writable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGunzip, createGzip } from 'node:zlib';
import type postgres from 'postgres';
import { z } from 'zod';
import { migrate, readJournal } from './database.ts';
import { asOwner, quoted } from './owner.ts';

// A whole database as one compressed stream: what Postgres itself writes with COPY, table by table, between lines of
// JSON that say what comes and how much of it came. Made in one snapshot, so that it is a state the database was in.

/** A dump that cannot be made or read back, with what to do. */
export class DumpRefusal extends Error {}

const FORMAT = 1;
/** Ends the rows of a table, as in COPY's text format: no row can look so. */
const END = '\\.';

const header = z.object({
  wareboard: z.literal(FORMAT),
  madeAt: z.iso.datetime(),
  server: z.string(),
  /** When each migration that the database had was written, oldest first. */
  migrations: z.array(z.number()),
});
const tableLine = z.object({ table: z.string(), columns: z.array(z.string()).min(1) });
const sumLine = z.object({ rows: z.int(), sum: z.string() });
const lastLine = z.object({
  sequences: z.record(z.string(), z.object({ last: z.string(), called: z.boolean() })),
});

export interface TableSum {
  rows: number;
  /** The rows' hashes added up, whatever their order. */
  sum: string;
}
export interface DumpReport {
  madeAt: string;
  migrations: number;
  tables: Record<string, TableSum>;
}

/**
 * Streams every table of a database into `out`, gzipped, in one snapshot; nobody is kept from writing meanwhile.
 * @throws DumpRefusal where there is no database of ours
 */
export async function writeDump(ownerUrl: string, out: Writable, madeAt: Date): Promise<DumpReport> {
  return asOwner(ownerUrl, (sql) =>
    sql.begin('isolation level repeatable read read only', async (tx) => {
      const migrations = await appliedMigrations(tx);
      if (migrations.length === 0) throw new DumpRefusal('This database has no tables of Wareboard.');
      const tables = await tablesOf(tx);
      const report: DumpReport = { madeAt: madeAt.toISOString(), migrations: migrations.length, tables: {} };
      async function* lines() {
        const [server] = await tx`show server_version`;
        yield json({ wareboard: FORMAT, madeAt: report.madeAt, server: server?.server_version, migrations });
        for (const { name, columns } of tables) {
          yield json({ table: name, columns });
          const sums = new Sums();
          for await (const chunk of copyOut(tx, name, columns)) {
            sums.take(chunk);
            yield chunk;
          }
          report.tables[name] = sums.told();
          yield `${END}\n${json(report.tables[name])}`;
        }
        yield json({ sequences: await sequencesOf(tx) });
      }
      await pipeline(Readable.from(lines(), { objectMode: false }), createGzip(), out);
      return report;
    }),
  );
}

/**
 * Fills an empty database from a dump: the tables as they were then, in one transaction, every row counted and summed
 * again as the database gives it back, and then what this release added since.
 * @throws DumpRefusal for a file that is no dump, is not whole or is of a newer release, for a database that is not
 * empty, and where what was restored is not what was kept; there are at most empty tables then
 */
export async function readDump(ownerUrl: string, appUrl: string, input: Readable): Promise<DumpReport> {
  const lines = new Lines(input);
  try {
    const { madeAt, migrations } = await lines.json(header);
    const known = readJournal().entries.map(({ when }) => when);
    if (migrations.some((when, i) => when !== known[i]))
      throw new DumpRefusal('This backup was made by a newer release of Wareboard: install that one first.');
    await mustBeEmpty(ownerUrl, migrations.length);
    await migrate(ownerUrl, appUrl, migrations.length);
    const tables = await asOwner(ownerUrl, (sql) => sql.begin((tx) => load(tx, lines)));
    await migrate(ownerUrl, appUrl);
    return { madeAt, migrations: migrations.length, tables };
  } finally {
    input.destroy();
  }
}

async function load(tx: postgres.TransactionSql, lines: Lines): Promise<DumpReport['tables']> {
  const known = await tablesOf(tx);
  const columnsOf = new Map(known.map(({ name, columns }) => [name, columns]));
  // What guards ledgers and closed months guards them against what comes later, not against what was there.
  const triggers = async (command: 'disable' | 'enable') => {
    for (const { name } of known) await tx.unsafe(`alter table ${quoted(name)} ${command} trigger user`);
  };
  await triggers('disable');
  const loaded: DumpReport['tables'] = {};
  for (;;) {
    const next = await lines.json(z.union([tableLine, lastLine]));
    if ('sequences' in next) {
      if (Object.keys(loaded).length !== known.length)
        throw new DumpRefusal('This backup does not hold every table.');
      for (const [name, { last, called }] of Object.entries(next.sequences))
        await tx`select setval(${quoted(name)}::regclass, ${last}::bigint, ${called})`;
      break;
    }
    const { table, columns } = next;
    if (table in loaded || String(columnsOf.get(table)?.toSorted()) !== String(columns.toSorted()))
      throw new DumpRefusal(`This backup holds a table that this release does not know so: ${table}.`);
    const into = await tx.unsafe(`copy ${listed(table, columns)} from stdin`).writable();
    await pipeline(Readable.from(lines.rows(), { objectMode: false }), into);
    const kept = await lines.json(sumLine);
    const found = await sumOf(tx, table, columns);
    if (found.rows !== kept.rows || found.sum !== kept.sum)
      throw new DumpRefusal(
        `${table} came back with ${found.rows} rows, not as the ${kept.rows} that were kept. Nothing was restored.`,
      );
    loaded[table] = found;
  }
  await triggers('enable');
  return loaded;
}

/** Counts and sums every table as it is, as a dump would. */
export const sumTables = (ownerUrl: string): Promise<DumpReport['tables']> =>
  asOwner(ownerUrl, (sql) =>
    sql.begin('isolation level repeatable read read only', async (tx) => {
      const all: DumpReport['tables'] = {};
      for (const { name, columns } of await tablesOf(tx)) all[name] = await sumOf(tx, name, columns);
      return all;
    }),
  );

async function sumOf(
  tx: postgres.TransactionSql,
  table: string,
  columns: readonly string[],
): Promise<TableSum> {
  const sums = new Sums();
  for await (const chunk of copyOut(tx, table, columns)) sums.take(chunk);
  return sums.told();
}

async function* copyOut(
  tx: postgres.TransactionSql,
  table: string,
  columns: readonly string[],
): AsyncGenerator<Buffer> {
  const rows = await tx.unsafe(`copy ${listed(table, columns)} to stdout`).readable();
  yield* rows;
  // The driver stops reading while rows wait to be taken, and nobody else tells it to go on once they have ended.
  rows._read(0);
}

const listed = (table: string, columns: readonly string[]): string =>
  `${quoted(table)} (${columns.map(quoted).join(', ')})`;
const json = (value: object): string => `${JSON.stringify(value)}\n`;

async function appliedMigrations(sql: postgres.ISql): Promise<number[]> {
  const [there] = await sql`select to_regclass('drizzle.__drizzle_migrations') is not null as is`;
  if (!there?.is) return [];
  const rows = await sql`select created_at::text as at from drizzle.__drizzle_migrations order by created_at`;
  return rows.map(({ at }) => Number(at));
}

/** The tables that hold rows and their columns, each behind those it refers to. */
async function tablesOf(sql: postgres.ISql): Promise<{ name: string; columns: string[] }[]> {
  const tables = await sql<{ name: string; columns: string[]; needs: string[] }[]>`
    select c.relname as name,
      array(select a.attname::text from pg_attribute a
        where a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped and a.attgenerated = ''
        order by a.attnum) as columns,
      array(select distinct f.confrelid::regclass::text from pg_constraint f
        where f.contype = 'f' and f.conrelid = c.oid and f.confrelid <> c.oid) as needs
    from pg_class c where c.relnamespace = 'public'::regnamespace and c.relkind = 'r' order by c.relname`;
  const sorted: { name: string; columns: string[] }[] = [];
  const done = new Set<string>();
  while (sorted.length < tables.length) {
    const next = tables.filter(({ name, needs }) => !done.has(name) && needs.every((one) => done.has(one)));
    if (next.length === 0) throw new Error('Tables refer to one another in a circle.');
    for (const { name, columns } of next) {
      done.add(name);
      sorted.push({ name, columns: [...columns] });
    }
  }
  return sorted;
}

async function sequencesOf(sql: postgres.ISql): Promise<z.output<typeof lastLine>['sequences']> {
  const names = await sql<{ name: string }[]>`
    select relname as name from pg_class
    where relnamespace = 'public'::regnamespace and relkind = 'S' order by relname`;
  const all: z.output<typeof lastLine>['sequences'] = {};
  for (const { name } of names) {
    const [row] = await sql<{ last: string; called: boolean }[]>`
      select last_value::text as last, is_called as called from ${sql(name)}`;
    if (row) all[name] = row;
  }
  return all;
}

/** A restore neither mixes two studios nor writes over one. */
const mustBeEmpty = (ownerUrl: string, migrations: number): Promise<void> =>
  asOwner(ownerUrl, async (sql) => {
    const applied = (await appliedMigrations(sql)).length;
    if (applied !== 0 && applied !== migrations)
      throw new DumpRefusal('There are tables of another release in this database: name an empty one.');
    for (const { name } of await tablesOf(sql)) {
      const [row] = await sql`select exists (select from ${sql(name)}) as is`;
      if (row?.is) throw new DumpRefusal('This database is not empty, and nothing in it is written over.');
    }
  });

/** Counts lines and adds up their hashes, however they are cut into pieces. */
class Sums {
  private rows = 0;
  private sum = 0n;
  private begun: Buffer[] = [];

  take(chunk: Buffer): void {
    let from = 0;
    for (let to = chunk.indexOf(10); to >= 0; to = chunk.indexOf(10, from)) {
      this.begun.push(chunk.subarray(from, to));
      this.line();
      from = to + 1;
    }
    if (from < chunk.length) this.begun.push(Buffer.from(chunk.subarray(from)));
  }

  private line(): void {
    const hash = createHash('sha256');
    for (const part of this.begun) hash.update(part);
    this.begun = [];
    this.rows += 1;
    this.sum = BigInt.asUintN(64, this.sum + hash.digest().readBigUInt64BE());
  }

  told = (): TableSum => ({ rows: this.rows, sum: this.sum.toString(16).padStart(16, '0') });
}

/** The lines of a dump, one after the other. */
class Lines {
  private readonly chunks: AsyncIterator<Buffer>;
  private rest: Buffer = Buffer.alloc(0);

  constructor(input: Readable) {
    const unzip = createGunzip();
    pipeline(input, unzip).catch(() => {}); // whoever reads meets it
    this.chunks = unzip[Symbol.asyncIterator]();
  }

  async json<T>(schema: z.ZodType<T>): Promise<T> {
    let end = this.rest.indexOf(10);
    while (end < 0) {
      if (!(await this.more()) || this.rest.length > 1_000_000) throw notADump();
      end = this.rest.indexOf(10);
    }
    const line = this.rest.subarray(0, end).toString();
    this.rest = this.rest.subarray(end + 1);
    const read = schema.safeParse(line.startsWith('{') ? parsed(line) : null);
    if (!read.success) throw notADump();
    return read.data;
  }

  /** The rows up to the end of a table, many at a time. */
  async *rows(): AsyncGenerator<Buffer> {
    for (;;) {
      // Whole lines only: the end mark must not be cut in two.
      const last = this.rest.lastIndexOf(10);
      const whole = this.rest.subarray(0, last + 1);
      const end = endIn(whole);
      if (end >= 0) {
        if (end > 0) yield whole.subarray(0, end);
        this.rest = this.rest.subarray(end + END.length + 1);
        return;
      }
      this.rest = this.rest.subarray(last + 1);
      if (whole.length > 0) yield whole;
      if (!(await this.more())) throw notADump();
    }
  }

  private async more(): Promise<boolean> {
    try {
      const { value, done } = await this.chunks.next();
      if (done) return false;
      this.rest = this.rest.length === 0 ? value : Buffer.concat([this.rest, value]);
      return true;
    } catch {
      throw notADump();
    }
  }
}

/** Where the line that ends a table begins among whole lines; -1 where there is none. */
function endIn(lines: Buffer): number {
  const mark = Buffer.from(`${END}\n`);
  if (lines.subarray(0, mark.length).equals(mark)) return 0;
  const at = lines.indexOf(`\n${END}\n`);
  return at < 0 ? -1 : at + 1;
}

function parsed(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch {
    return null;
  }
}

const notADump = () => new DumpRefusal('This is not a backup of Wareboard, or not the whole of one.');
