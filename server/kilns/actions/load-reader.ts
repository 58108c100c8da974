import type { Instant } from '../../core/clock.ts';
import { NotFound } from '../../core/errors.ts';
import { isAnswered } from '../../core/idempotency.ts';
import { may } from '../../core/policy.ts';
import { type Answer, go, type Visit } from '../../core/routes.ts';
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
export function loadNumber(visit: Visit): number {
  const raw = visit.param('number');
  if (!/^[1-9]\d{0,8}$/.test(raw)) throw new NotFound('There is no load with this number.');
  return Number(raw);
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
  const piece = visit.param('piece');
  if (!/^[1-9]\d{0,8}$/.test(piece)) throw new NotFound('There is no piece with this number.');
  return go(`/kilns/loads/${loadNumber(visit)}/pieces/${piece}`);
};
