import type { Act, Studio } from '../core/actor.ts';
import { deviceCookie, sentDevice } from '../core/device.ts';
import { type Answer, go, type Visit } from '../core/routes.ts';
import { secretInCookie } from '../core/secrets.ts';
import type { Self } from './service/passwords.ts';
import { askForCode, STEP_LASTS } from './service/sign-in.ts';

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

/** In, with this session's cookie: where they wanted to go, or where they must go first. */
export async function arrive(
  { services: { sessions } }: Visit,
  session: string,
  next: string,
  ...others: string[]
): Promise<Answer> {
  const found = await sessions.find(sessions.read(session) ?? '');
  return go(found?.caller.owesFactor ? '/me/second-factor' : next, [session, ...others]);
}

/** Lets in whoever opened a link of theirs, once they typed their code where they have a second factor. */
export async function admit(visit: Visit, personId: number): Promise<Answer> {
  const step = await askForCode(visit.services, personId, visit.now);
  return step === null
    ? arrive(visit, await enter(visit, personId), '/')
    : go('/sign-in/code', stepCookie(visit, step));
}

const stepName = (visit: Visit): string => (isSecure(visit) ? '__Host-wareboard-code' : 'wareboard-code');
const stepAttributes = (visit: Visit, seconds: number): string =>
  `Path=/; Max-Age=${seconds}; HttpOnly; SameSite=Lax${isSecure(visit) ? '; Secure' : ''}`;

/** What the browser keeps between the password and the code; it leaves by itself with the sign-in it belongs to. */
export const stepCookie = (visit: Visit, step: string): string =>
  `${stepName(visit)}=${step}; ${stepAttributes(visit, STEP_LASTS / 1000)}`;

export const blankStepCookie = (visit: Visit): string => `${stepName(visit)}=; ${stepAttributes(visit, 0)}`;

/** The half-done sign-in that this browser sent. */
export const sentStep = (visit: Visit): string | null =>
  secretInCookie(visit.request.headers.cookie, stepName(visit));

/** Whoever asks, for what takes more than their session. */
export const self = ({ caller: actor, request, now }: Visit): Self => ({ actor, address: request.ip, now });

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
