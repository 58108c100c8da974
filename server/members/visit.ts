import type { Act, Studio } from '../core/actor.ts';
import { deviceCookie, sentDevice } from '../core/device.ts';
import type { Visit } from '../core/routes.ts';

/** The session id that this browser sent. */
export const sentSession = ({ services, request }: Visit): string | null =>
  services.sessions.read(request.headers.cookie);

/** Signs a person in with a fresh session, whatever this browser had before. */
export async function enter(visit: Visit, personId: number): Promise<string> {
  const { sessions } = visit.services;
  const old = sentSession(visit);
  if (old) await sessions.end(old);
  return sessions.start(personId);
}

const isSecure = ({ services }: Visit): boolean => services.config.publicUrl?.protocol === 'https:';

/** The secret by which this screen is a paired tablet, still or no more. */
export const sentTablet = (visit: Visit): string | null =>
  sentDevice(visit.request.headers.cookie, isSecure(visit));

export const tabletCookie = (visit: Visit, secret: string): string => deviceCookie(secret, isSecure(visit));

/** Makes this screen a tablet: whoever was signed in on it is not any more. Gives the cookies for that. */
export async function becomeTablet(visit: Visit, secret: string): Promise<string[]> {
  const { sessions } = visit.services;
  const session = sentSession(visit);
  if (session) await sessions.end(session);
  return [sessions.blankCookie(), tabletCookie(visit, secret)];
}

/** A path of ours as a link that works outside this browser. */
export const absolute = ({ services, request }: Visit, path: string): string =>
  new URL(path, services.config.publicUrl ?? `${request.protocol}://${request.host}`).href;

/** One act whose answer is a secret: it is not kept for a retry, so it takes no idempotency key. */
export const actInSecret = <T>(
  { services, caller, now }: Visit,
  work: (act: Act) => Promise<T>,
): Promise<T> => services.database.transaction((tx) => work({ tx, actor: caller, now }));

/** What the holder of a link acts with, who is nobody here yet. Only a studio that is set up has links. */
export const here = ({ services, request, now }: Visit) => ({
  database: services.database,
  passwords: services.passwords,
  studio: request.studio as Studio,
  now,
});
