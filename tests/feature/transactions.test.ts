import { eq, sql } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { databaseError } from '../../server/core/database.ts';
import { idempotencyKeys } from '../../server/core/schema.ts';
import { given, statement } from '../../server/core/statement.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const insert = statement('test_insert', (db) => db.insert(idempotencyKeys).values(given(idempotencyKeys)));

const aKey = (key: string) => ({
  personId: s.people.member.id,
  key,
  fingerprint: 'x',
  answer: null,
  madeAt: s.clock.now(),
});

const found = (key: string) =>
  s.database.db.select().from(idempotencyKeys).where(eq(idempotencyKeys.key, key));

describe('statements sent with the commit', () => {
  it('are part of the transaction', async () => {
    const answer = await s.database.transaction(async (tx) => {
      tx.withCommit(insert(tx, aKey('kept')));
      return 'done';
    });
    expect(answer).toBe('done');
    expect(await found('kept')).toEqual([aKey('kept')]);
  });

  it('undo all of it when one of them fails, and its reason is what is thrown', async () => {
    const refused = s.database.transaction(async (tx) => {
      await insert(tx, aKey('undone'));
      tx.withCommit(insert(tx, aKey('undone')));
      tx.withCommit(insert(tx, aKey('after')));
      return 'done';
    });
    await expect(refused).rejects.toSatisfy((error) => databaseError(error)?.code === '23505');
    expect(await found('undone')).toEqual([]);
    expect(await found('after')).toEqual([]);
  });

  it('give the reason even where a later statement was refused because of them', async () => {
    const refused = s.database.transaction(async (tx) => {
      await insert(tx, aKey('first'));
      tx.withCommit(insert(tx, aKey('first')));
      await tx.select().from(idempotencyKeys);
    });
    await expect(refused).rejects.toSatisfy((error) => databaseError(error)?.code === '23505');
  });

  it('are undone when the work itself fails', async () => {
    const refused = s.database.transaction(async (tx) => {
      tx.withCommit(insert(tx, aKey('never')));
      throw new Error('thought better of it');
    });
    await expect(refused).rejects.toThrow('thought better of it');
    expect(await found('never')).toEqual([]);
  });
});

describe('what goes on after the end of a transaction', () => {
  it('is refused, not run outside of it', async () => {
    let late: Promise<unknown> = Promise.resolve();
    const refused = s.database.transaction(async (tx) => {
      const fails = Promise.reject(new Error('the other part failed'));
      late = tx.execute(sql`select pg_sleep(0.05)`).then(() => insert(tx, aKey('late')));
      await Promise.all([fails, late]);
    });
    await expect(refused).rejects.toThrow('the other part failed');
    await expect(late).rejects.toSatisfy((error) => String((error as Error).cause).includes('is over'));
    expect(await found('late')).toEqual([]);
  });
});

describe('a statement built once', () => {
  it('runs in the transaction that it is given, beside others on the pool', async () => {
    await s.database.transaction(async (tx) => {
      await insert(tx, aKey('inside'));
      expect(await found('inside')).toEqual([]);
      await insert(s.database.db, aKey('outside'));
    });
    expect(await found('inside')).toHaveLength(1);
    expect(await found('outside')).toHaveLength(1);
  });
});

describe('who waited for a bucket', () => {
  it('acts after those before, not before them', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 60 });
    const stirAt = (now: number) =>
      s.database.transaction((tx) =>
        recordAct({ tx, actor: s.people.member.caller, now }, code, 'stirs', {}),
      );
    const first = await stirAt(s.clock.now());
    const waited = await stirAt(s.clock.now() - 3_000);
    expect(waited.event.happenedAt).toBe(first.event.happenedAt);
    const lateClock = await stirAt(s.clock.now() - 60_000);
    expect(lateClock.event.happenedAt).toBe(s.clock.now() - 60_000);
  });
});
