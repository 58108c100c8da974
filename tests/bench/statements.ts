import { findRow, recordAct } from '../../server/buckets/service/index.ts';
import { systemClock } from '../../server/core/clock.ts';
import { connect } from '../../server/core/database.ts';
import { createSessions } from '../../server/core/session.ts';
import type { FilledStudio } from './studio.ts';

/** A value that a statement is sent with: what was sent, or what every transaction has for itself. */
export type Value = { sent: unknown } | { own: 'code' | 'bucketId' | 'next' | 'afterNext' };

export interface Statement {
  text: string;
  values: Value[];
  /** Its one row says which bucket it is and how far its ledger goes. */
  finds: boolean;
}

/** Buckets to take, each time one by chance. */
export interface Choice {
  from: number;
  to: number;
}

/** A bucket's state carries its recent readings, at most 40: so many as the buckets of ours do on average. */
const READ_BEFORE = 20;
const READING = { method: 'weighed', grams: 146, millilitres: 100, stirred: true, confirm: false } as const;

/** What one reading sends to the database, from the look-up of the token to the commit. */
export async function captureReading(studio: FilledStudio, code: string): Promise<Statement[]> {
  const database = connect(studio.appUrl, { max: 1 });
  const sessions = createSessions(database, systemClock, { secure: false });
  const sent: { text: string; values: unknown[] }[] = [];
  try {
    const now = systemClock.now();
    const actor = await sessions.findByToken(studio.token);
    if (!actor) throw new Error('The token is not known.');
    const read = () => database.transaction((tx) => recordAct({ tx, actor, now }, code, 'readings', READING));
    for (let i = 0; i < READ_BEFORE; i++) await read();
    const { state } = await findRow({ tx: database.db, actor, now }, code);
    // postgres.js calls this with every statement that it sends.
    const { $client } = database.db as unknown as { $client: { options: { debug: unknown } } };
    $client.options.debug = (_: number, text: string, values: unknown[]) => sent.push({ text, values });
    await sessions.findByToken(studio.token);
    await read();
    const own = {
      [code]: 'code',
      [state.bucketId]: 'bucketId',
      [state.lastNumber + 1]: 'next',
      [state.lastNumber + 2]: 'afterNext',
    } as const;
    return sent.map(({ text, values }) => ({
      text,
      values: values.map((value): Value => {
        const name = own[String(value)];
        return name ? { own: name } : { sent: value };
      }),
      finds: /^select .*"last_number"/.test(text),
    }));
  } finally {
    await database.close();
  }
}
