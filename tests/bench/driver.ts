import postgres, { type ParameterOrJSON } from 'postgres';
import type { Choice, Statement } from './statements.ts';

/** For a machine without pgbench: transactions a second that the bare driver makes of the statements. */
export async function runDriver(
  statements: Statement[],
  o: { choice: Choice; url: string; seconds: number },
): Promise<number> {
  const sql = postgres(o.url, { max: 10, types: { bool: sentAsIs(16), json: sentAsIs(114, 3802) } });
  const asked = statements.filter(({ values }) => values.length > 0); // `begin` makes its own frame
  const until = performance.now() + o.seconds * 1000;
  let done = 0;
  const client = async () => {
    while (performance.now() < until) {
      await sql.begin(async (tx) => {
        const own = { code: pick(o.choice), bucketId: 0, next: 0, afterNext: 0 };
        for (const { text, values, finds } of asked) {
          const sent = values.map((value) => ('own' in value ? own[value.own] : value.sent));
          const rows = await tx.unsafe(text, sent.map(asText), { prepare: true });
          if (finds) {
            const [row] = rows;
            Object.assign(own, {
              bucketId: row?.bucket_id,
              next: row?.last_number + 1,
              afterNext: row?.last_number + 2,
            });
          }
        }
      });
      done++;
    }
  };
  try {
    await Promise.all(Array.from({ length: 10 }, client));
  } finally {
    await sql.end();
  }
  return done / o.seconds;
}

/** The values were made into text when they were captured; the driver would do it again for these types. */
const sentAsIs = (...types: number[]) => ({
  to: types[0] ?? 0,
  from: types,
  serialize: (value: string) => value,
  parse: (value: string) => value,
});

const pick = ({ from, to }: Choice): number => from + Math.floor(Math.random() * (to - from + 1));

const asText = (value: unknown) => (value === null ? null : String(value)) as ParameterOrJSON<never>;
