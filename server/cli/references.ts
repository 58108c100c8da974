import type postgres from 'postgres';

/** A column that refers to another table. */
export interface Reference {
  table: string;
  column: string;
  to: string;
}

/** Every reference of one column to a table, as the database itself has them. */
export async function referencesTo(sql: postgres.ISql, tables: readonly string[]): Promise<Reference[]> {
  const rows = await sql<Reference[]>`
    select c.conrelid::regclass::text as table, a.attname::text as column, c.confrelid::regclass::text as to
    from pg_constraint c join pg_attribute a on a.attrelid = c.conrelid and a.attnum = c.conkey[1]
    where c.contype = 'f' and cardinality(c.conkey) = 1 and c.connamespace = 'public'::regnamespace
      and c.confrelid::regclass::text = any(${[...tables]})
    order by 1, 2`;
  return rows.map(({ table, column, to }) => ({ table, column, to }));
}
