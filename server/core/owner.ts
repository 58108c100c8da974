import postgres from 'postgres';

/**
 * One connection as the role that owns the tables, for what only `server/cli` may do; a backup needs no more than a role
 * that may read. Values are written the same way whatever the server's settings are.
 */
export async function asOwner<T>(ownerUrl: string, work: (sql: postgres.Sql) => Promise<T>): Promise<T> {
  const sql = postgres(ownerUrl, {
    max: 1,
    onnotice: () => {},
    connection: {
      application_name: 'wareboard owner',
      TimeZone: 'UTC',
      DateStyle: 'ISO, YMD',
      IntervalStyle: 'postgres',
      extra_float_digits: '1',
      bytea_output: 'hex',
    },
  });
  try {
    return await work(sql);
  } finally {
    await sql.end({ timeout: 5 });
  }
}

/** A name of a table or column as it stands in SQL. */
export const quoted = (name: string): string => `"${name.replaceAll('"', '""')}"`;
