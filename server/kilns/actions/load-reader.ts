import type { Instant } from '../../core/clock.ts';
import { isAnswered } from '../../core/idempotency.ts';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, type FormState, go, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';

/** For whom a page of a load is made. */
export interface LoadReader {
  /** Proposes, changes, approves and cancels loads. */
  mayPlan: boolean;
  /** Loads a kiln. */
  mayLoad: boolean;
  timeZone: string;
  currency: string;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const loadReaderOf = (visit: Visit): LoadReader => ({
  mayPlan: may(visit.caller.role, 'loads.plan'),
  mayLoad: may(visit.caller.role, 'loads.load'),
  timeZone: visit.studio.timeZone,
  currency: visit.studio.currency,
  now: visit.now,
  key: randomSecret(),
});

/** The load's number in the address. @throws NotFound for what cannot be one */
export const loadNumber = (visit: Visit): number =>
  numberIn(visit, 'number', 'There is no load with this number.');

/** What came of the last act, by the address of the page that tells it; nothing beside what was refused. */
export function doneIn(
  { query }: Visit,
  form: FormState,
  words: Readonly<Record<string, string>>,
): string | null {
  const { did } = query;
  if (form.errors.length > 0 || typeof did !== 'string' || !Object.hasOwn(words, did)) return null;
  return words[did] ?? null;
}

/** Runs what takes long before an act, unless the form was answered before: a retry stores nothing anew. */
export async function unlessRetried<T>(visit: Visit, prepare: () => Promise<T>): Promise<T> {
  const { key } = visit.typed;
  const isRetry = typeof key === 'string' && (await isAnswered(visit.read, { key }));
  // The answer of a retry is the one that was kept: nothing of what is prepared here is asked for.
  return isRetry ? (undefined as T) : prepare();
}

/** The address of an act on a load, opened by itself, leads to the page it is done on. */
export const backTo =
  (page = '') =>
  async (visit: Visit): Promise<Answer> =>
    go(`/kilns/loads/${loadNumber(visit)}${page}`);

export const backToPiece = async (visit: Visit): Promise<Answer> => {
  const piece = numberIn(visit, 'piece', 'There is no piece with this number.');
  return go(`/kilns/loads/${loadNumber(visit)}/pieces/${piece}`);
};
