import { getTableColumns, type SQL, sql } from 'drizzle-orm';
import type { PgTable } from 'drizzle-orm/pg-core';
import { drizzle } from 'drizzle-orm/postgres-js';
import type { Executor } from './database.ts';

interface Prepared<R> {
  execute(values: Record<string, unknown>): Promise<R>;
}

const unconnected: Executor = drizzle.mock();

/**
 * A statement that is built once, is prepared on the server, and runs on the pool or in any transaction. Drizzle
 * ties a prepared query to the connection it was built for, and building it anew takes several times as long as
 * Postgres takes to answer it.
 */
export function statement<R>(
  name: string,
  build: (db: Executor) => { prepare(name: string): Prepared<R> },
): (db: Executor, values: Record<string, unknown>) => Promise<R> {
  const prepared = build(unconnected).prepare(name);
  return (db, values) => {
    const { session } = db as unknown as { session: { client: unknown } };
    const here: Prepared<R> = Object.create(prepared, { client: { value: session.client } });
    return here.execute(values);
  };
}

/** Every column of a table, its value to be given under the column's name, after `prefix`, when the statement runs. */
export function given<T extends PgTable>(table: T, prefix = ''): Record<keyof T['_']['columns'], SQL> {
  const values = Object.entries(getTableColumns(table)).map(([name, column]) => {
    const encoder = {
      mapToDriverValue: (value: unknown) => (value === null ? null : column.mapToDriverValue(value)),
    };
    return [name, sql`${sql.param(sql.placeholder(prefix + name), encoder)}`];
  });
  return Object.fromEntries(values) as Record<keyof T['_']['columns'], SQL>;
}
