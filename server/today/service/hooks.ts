import { randomBytes } from 'node:crypto';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { HOUR, type Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { wake } from '../../core/jobs.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { wrongWithUrl } from '../hook-address.ts';
import type { CallKind, What } from '../hook-call.ts';
import * as store from '../store/hooks.ts';

const MOST_HOOKS = 20;
const MOST_TESTS_AN_HOUR = 20;
const CALLS_SHOWN = 10;

export interface ShownCall {
  what: CallKind;
  subject: string;
  changedAt: Instant;
  tries: number;
  status: number | null;
  error: string | null;
  standing: 'waiting' | 'done' | 'given-up';
  /** Of one that waits: when it is tried next. */
  dueAt: Instant;
}

export interface ShownHook {
  name: string;
  url: string;
  whats: string[];
  by: string;
  madeAt: Instant;
  pausedAt: Instant | null;
  pausedWhy: string | null;
  /** The newest first. */
  calls: ShownCall[];
}

/** Every hook in use, with what became of its last calls. */
export async function listHooks({ tx, actor }: Read): Promise<ShownHook[]> {
  mustBeAllowed(actor, 'hooks.edit');
  const hooks = await store.listHooks(tx);
  return Promise.all(
    hooks.map(async ({ id, ...hook }) => ({
      ...hook,
      calls: (await store.lastCalls(tx, id, CALLS_SHOWN)).map(
        ({ what, subject, changedAt, tries, status, lastError, doneAt, givenUpAt, dueAt }) => ({
          what: what as CallKind,
          subject,
          changedAt,
          tries,
          status,
          error: lastError,
          standing: doneAt !== null ? ('done' as const) : givenUpAt !== null ? 'given-up' : 'waiting',
          dueAt,
        }),
      ),
    })),
  );
}

export interface HookWish {
  name: string;
  url: string;
  whats: What[];
}

/** Makes a hook that is told of what changes from now on. Only this answer ever shows the secret that signs its calls. */
export async function makeHook(
  act: Act,
  { name, url, whats }: HookWish,
  rules: { toPrivate: boolean },
): Promise<string> {
  mustBeAllowed(act.actor, 'hooks.edit');
  const wrong = wrongWithUrl(url, rules);
  if (wrong) throw new Invalid([{ path: 'url', message: wrong }]);
  await store.lockNames(act.tx);
  const live = await store.listHooks(act.tx);
  if (live.some((hook) => hook.name.toLowerCase() === name.toLowerCase()))
    throw new Invalid([{ path: 'name', message: 'There is a hook of this name. Choose another.' }]);
  if (live.length >= MOST_HOOKS)
    throw new Conflict(`At most ${MOST_HOOKS} hooks. End one that nobody needs.`);
  const secret = `whsec_${randomBytes(24).toString('base64')}`;
  const id = await store.insertHook(act.tx, {
    name,
    url: new URL(url).href,
    secret,
    whats: [...new Set(whats)],
    madeBy: act.actor.id,
    madeAt: act.now,
  });
  // Not its address: that may hold a key of the other system.
  await record(act, 'hook.made', `hook:${id}`, { whats: whats.join(' ') });
  return secret;
}

async function held(act: Act, name: string): Promise<store.Hook> {
  mustBeAllowed(act.actor, 'hooks.edit');
  const hook = await store.lockHook(act.tx, { name });
  if (!hook) throw new NotFound('There is no hook of this name, or it has ended.');
  return hook;
}

/** Sends a call that says nothing but that it came; once, and a paused hook too. */
export async function testHook(act: Act, name: string): Promise<void> {
  const { id } = await held(act, name);
  if ((await store.testsSince(act.tx, id, act.now - HOUR)) >= MOST_TESTS_AN_HOUR)
    throw new Conflict(`That were ${MOST_TESTS_AN_HOUR} test calls within an hour. Wait a while.`);
  await store.addCalls(act.tx, id, [{ what: 'test', subject: '', changedAt: act.now }], act.now);
  await record(act, 'hook.tested', `hook:${id}`);
  await wake(act.tx, 'hooks');
}

/** No call goes out until it goes on; what changes meanwhile is told then. */
export async function pauseHook(act: Act, name: string): Promise<void> {
  const { id, pausedAt } = await held(act, name);
  if (pausedAt !== null) throw new Conflict('It is paused already.');
  await store.updateHook(act.tx, id, { pausedAt: act.now, pausedWhy: null });
  await record(act, 'hook.paused', `hook:${id}`);
}

export async function resumeHook(act: Act, name: string): Promise<void> {
  const { id, pausedAt } = await held(act, name);
  if (pausedAt === null) throw new Conflict('It is not paused.');
  await store.updateHook(act.tx, id, { pausedAt: null, pausedWhy: null, failures: 0 });
  await record(act, 'hook.resumed', `hook:${id}`);
  await wake(act.tx, 'hooks');
}

/** It is called no more; what waits for it is dropped. */
export async function endHook(act: Act, name: string): Promise<void> {
  const { id } = await held(act, name);
  await store.updateHook(act.tx, id, { endedAt: act.now });
  await record(act, 'hook.ended', `hook:${id}`);
}
