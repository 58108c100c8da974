import { eq } from 'drizzle-orm';
import { MINUTE } from '../../server/core/clock.ts';
import { hookCalls, hooks } from '../../server/core/schema.ts';
import { WHATS } from '../../server/today/hook-call.ts';
import { makeHook, pauseHook } from '../../server/today/service/hooks.ts';
import type { Studio } from '../helpers/studio.ts';

/** A hook with a call of every kind and fate, and one that is paused; names and words without a gap. */
export async function someHooks(
  { as, people, clock, database: { db } }: Studio,
  unbroken: string,
): Promise<void> {
  const { manager } = people;
  const url = `https://shop.example/${unbroken.repeat(3)}`;
  await as(manager, (act) =>
    makeHook(act, { name: unbroken.slice(0, 60), url, whats: [...WHATS] }, { toPrivate: false }),
  );
  await as(manager, (act) =>
    makeHook(
      act,
      { name: 'Door screen', url: 'https://screen.example/', whats: ['load'] },
      { toPrivate: false },
    ),
  );
  await as(manager, (act) => pauseHook(act, 'Door screen'));
  await db
    .update(hooks)
    .set({ pausedWhy: '5 calls in a row came to nothing' })
    .where(eq(hooks.name, 'Door screen'));
  const now = clock.now();
  const [one] = await db.select({ id: hooks.id }).from(hooks).orderBy(hooks.id).limit(1);
  const call = { hookId: (one as { id: number }).id, changedAt: now - MINUTE, dueAt: now + MINUTE };
  await db.insert(hookCalls).values([
    { ...call, what: 'test', subject: '', tries: 1, status: 500, givenUpAt: now },
    { ...call, what: 'everything', subject: '' },
    { ...call, what: 'bucket', subject: 'READY', tries: 1, status: 204, doneAt: now },
    { ...call, what: 'entry', subject: '14', tries: 3, lastError: 'its address lies in a private network' },
  ]);
}
