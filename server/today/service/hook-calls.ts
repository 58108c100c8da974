import type { LookupFunction } from 'node:net';
import type { Act } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { DAY, HOUR, type Instant, MINUTE } from '../../core/clock.ts';
import { tell } from '../../core/messages.ts';
import type { Services } from '../../core/services.ts';
import { sentBody, sentId, signature, triedAgainAt, WHATS, type What } from '../hook-call.ts';
import { type Outcome, post } from '../hook-sender.ts';
import * as store from '../store/hooks.ts';
import { activeStaff } from '../store/reminders.ts';

type Needed = Pick<Services, 'database' | 'clock' | 'config'>;

/** Changes are kept for three days; an hour less, for clocks and for who tidies. */
const KEPT_FOR = 3 * DAY - HOUR;
const CALLS_KEPT_FOR = 30 * DAY;

const AT_ONCE = 5;
/** Longer than any try takes, and so short that what a process took with it when it died goes out soon. */
const HELD_FOR = MINUTE;
const FAILURES_TO_PAUSE = 5;
const GONE = 410;
const TOO_MANY_FAILED = `${FAILURES_TO_PAUSE} calls in a row came to nothing`;

/**
 * Puts down a call for every subject that changed since a hook looked last: each change in exactly one of its calls,
 * however many processes do so at once. Of what is older than changes are kept it only says that something changed.
 */
async function queueCalls({ database, clock }: Needed): Promise<void> {
  for (const id of await store.listening(database.db))
    await database.transaction(async (tx) => {
      const hook = await store.takeListening(tx, id);
      if (!hook) return;
      const now = clock.now();
      const { upTo, found } = await store.changesSince(tx, hook);
      // A restored database counts its transactions anew.
      const isLost = hook.seenAt < now - KEPT_FOR || BigInt(hook.seenTo) > BigInt(upTo);
      const calls: store.NewCall[] = isLost ? [{ what: 'everything', subject: '', changedAt: now }] : [];
      const ids = (what: What) => found.filter((one) => one.what === what).map((one) => one.subjectId);
      const subjects = new Map(
        await Promise.all(
          WHATS.map(async (what) => [what, await store.subjectsOf(tx, what, ids(what))] as const),
        ),
      );
      for (const { what, subjectId, at } of found) {
        const subject = subjects.get(what)?.get(subjectId);
        if (subject !== undefined) calls.push({ what, subject, changedAt: at });
      }
      await store.addCalls(tx, id, calls, now);
      await store.markSeen(tx, id, upTo, now);
    });
}

async function send(call: store.DueCall, now: Instant, config: Needed['config'], lookup?: LookupFunction) {
  const body = sentBody(call.secret, call);
  const id = sentId(call.secret, call.callId);
  const timestamp = Math.floor(now / 1000);
  const headers = {
    'content-type': 'application/json',
    'user-agent': 'Wareboard',
    'webhook-id': id,
    'webhook-timestamp': String(timestamp),
    'webhook-signature': signature(call.secret, id, timestamp, body),
  };
  return post(new URL(call.url), headers, body, {
    toPrivate: config.hooksToPrivate,
    ...(lookup && { lookup }),
  });
}

/** The managers learn what nobody did by hand. */
async function tellManagers({ tx, now }: Pick<Act, 'tx' | 'now'>, words: string): Promise<void> {
  const managers = (await activeStaff(tx)).filter(({ role }) => role === 'manager');
  await tell(
    { tx, now, actor: null },
    { personIds: managers.map(({ id }) => id), kind: 'hook', words, href: '/hooks' },
  );
}

/** Writes down what came of a try, and what follows from it for the hook. */
async function settle({ database, clock }: Needed, call: store.DueCall, outcome: Outcome): Promise<void> {
  await database.transaction(async (tx) => {
    const now = clock.now();
    const hook = await store.lockHook(tx, { id: call.hookId });
    const status = 'status' in outcome ? outcome.status : null;
    const lastError = 'error' in outcome ? outcome.error : null;
    if (status !== null && status >= 200 && status < 300) {
      await store.updateCall(tx, call.callId, { status, lastError, doneAt: now });
      if (hook && call.what !== 'test') await store.updateHook(tx, hook.id, { failures: 0 });
      return;
    }
    const again = status === GONE || call.what === 'test' ? null : triedAgainAt(call.callId, call.tries, now);
    await store.updateCall(tx, call.callId, {
      status,
      lastError,
      ...(again === null ? { givenUpAt: now } : { dueAt: again }),
    });
    if (!hook || again !== null) return;
    const act = { tx, now, actor: null };
    if (status === GONE) {
      await store.updateHook(tx, hook.id, { endedAt: now });
      await record(act, 'hook.gone', `hook:${hook.id}`);
      await tellManagers(act, `The hook ${hook.name} has ended: the other system says it is gone for good.`);
    } else if (call.what !== 'test') {
      const failures = hook.failures + 1;
      const pauses = failures >= FAILURES_TO_PAUSE && hook.pausedAt === null;
      await store.updateHook(tx, hook.id, {
        failures,
        ...(pauses && { pausedAt: now, pausedWhy: TOO_MANY_FAILED }),
      });
      if (!pauses) return;
      await record(act, 'hook.given-up', `hook:${hook.id}`);
      await tellManagers(act, `The hook ${hook.name} is paused: ${TOO_MANY_FAILED}.`);
    }
  });
}

/**
 * Tells the studio's other systems of what changed: puts down what is new, then sends what is due, five calls at once,
 * until nothing is. A call goes out at least once; its id lets who gets it twice know.
 * @param more.stopping ends it after the calls under way
 * @param more.lookup how names become addresses; that of the system if left out
 */
export async function sendDueCalls(
  services: Needed,
  { stopping, lookup }: { stopping?: AbortSignal; lookup?: LookupFunction } = {},
): Promise<void> {
  const { database, clock, config } = services;
  await queueCalls(services);
  while (!stopping?.aborted) {
    const now = clock.now();
    const calls = await store.takeDue(database.db, { now, heldUntil: now + HELD_FOR, limit: AT_ONCE });
    if (calls.length === 0) break;
    await Promise.all(
      calls.map(async (call) => settle(services, call, await send(call, clock.now(), config, lookup))),
    );
  }
  await store.forgetCallsBefore(database.db, clock.now() - CALLS_KEPT_FOR);
}
