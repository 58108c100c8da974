import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { Studio } from './actor.ts';
import { asRefusal } from './database.ts';
import { type Device, findDevice, sentDevice } from './device.ts';
import {
  Doubtful,
  Forbidden,
  Malformed,
  NotFound,
  Refusal,
  TooMany,
  Unauthorised,
  Unavailable,
} from './errors.ts';
import { mustBeAsMeant } from './late.ts';
import { isForTablets, isInScope, may, type Permission, scopesFor } from './policy.ts';
import { wantsFragment, wantsProblem } from './routes.ts';
import type { Services } from './services.ts';
import { type Caller, findStudio } from './session.ts';

/** What a route must hold: a permission, or nothing to be asked. */
export type Access = Permission | 'public';

declare module 'fastify' {
  interface FastifyContextConfig {
    permission?: Access;
    /** The page that a paired tablet shows instead, where nobody is signed in on it. */
    atTablet?: string;
    /** Its answer goes on for as long as somebody reads it. */
    isStream?: true;
  }
  interface FastifyRequest {
    caller: Caller | null;
    studio: Studio | null;
    /** The paired tablet this comes from, whether or not somebody is signed in on it. */
    device: Device | null;
  }
}

const SAFE = new Set(['GET', 'HEAD', 'OPTIONS']);

const HEADERS = {
  'content-security-policy':
    "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
  'referrer-policy': 'same-origin',
  'x-content-type-options': 'nosniff',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'permissions-policy': 'camera=(), geolocation=(), microphone=()',
};

const OWES_FACTOR =
  'This studio asks technicians and managers for a code from their phone when they sign in. Set that up first, under Me.';

export const isApi = (request: FastifyRequest): boolean => request.url.startsWith('/api/');

/** Only a program reads it, and could not follow where a page is led. */
const isStream = (request: FastifyRequest): boolean => request.routeOptions.config.isStream === true;

/**
 * Guards every request, in this order: the host is ours, the caller is known, a form comes from our own page,
 * the studio is set up, and the route's permission is held and within what a token is limited to. A route without a permission stops the start.
 */
export function guard(app: FastifyInstance, services: Services): void {
  const { config, sessions, database } = services;
  const secure = config.publicUrl?.protocol === 'https:';
  let setUp = false;

  app.addHook('onRoute', (route) => {
    if (!route.config?.permission)
      throw new Error(`Route ${String(route.method)} ${route.url} names no permission.`);
  });
  app.decorateRequest('caller', null);
  app.decorateRequest('studio', null);
  app.decorateRequest('device', null);

  app.addHook('onRequest', async (request, reply) => {
    reply.headers(HEADERS);
    if (secure) reply.header('strict-transport-security', 'max-age=31536000; includeSubDomains');
    const probe = isProbe(request);
    if (config.publicUrl && request.host !== config.publicUrl.host && !probe)
      return reply.code(421).type('text/plain').send('This address is not served here.');
    if (probe || request.routeOptions.url === '/assets/:file') return;

    reply.header('cache-control', 'no-store');
    let isRevoked = false;
    if (isApi(request)) {
      const bearer = /^Bearer ([\w-]{20,100})$/i.exec(request.headers.authorization ?? '')?.[1];
      request.caller = bearer ? await sessions.findByToken(bearer) : null;
    } else {
      const cookie = sessions.read(request.headers.cookie);
      const secret = sentDevice(request.headers.cookie, secure);
      if (!SAFE.has(request.method) && !comesFromOurPage(request, cookie !== null || secret !== null))
        throw new Forbidden(
          'This form was not sent from a page of ours. Open the page again and send it from there.',
        );
      const [found, device] = await Promise.all([
        cookie ? sessions.find(cookie) : null,
        secret ? findDevice(database.db, secret) : null,
      ]);
      request.caller = found?.caller ?? null;
      isRevoked = device?.revoked ?? false;
      request.device = isRevoked ? null : device;
      if (found?.renewed) reply.header('set-cookie', found.renewed);
    }
    request.studio = request.caller?.studio ?? (await findStudio(database.db));
    setUp ||= request.studio !== null;
    const access = request.routeOptions.config.permission;
    if (!setUp && access !== 'public') {
      if (isApi(request)) throw new Unavailable('This studio is being set up.');
      return reply.redirect('/setup', 303);
    }
    if (request.is404 || access === undefined || access === 'public') return;
    const { atTablet } = request.routeOptions.config;
    if (!request.caller && (atTablet || isForTablets(access))) {
      if (isRevoked && !isStream(request)) return leadTo(request, reply, '/unpaired');
      if (request.device && atTablet) return leadTo(request, reply, filled(atTablet, request.params));
    }
    if (request.device && isForTablets(access)) return;
    if (!request.caller) throw new Unauthorised('Sign in to go on.');
    if (isForTablets(access)) throw new Forbidden('This page is for the tablet at the wall.');
    mustBeAsMeant(request, request.caller.id);
    if (request.caller.owesFactor && access !== 'own.sign-in') {
      if (!SAFE.has(request.method)) throw new Forbidden(OWES_FACTOR);
      if (!may(request.caller.role, access)) return leadTo(request, reply, '/me/second-factor');
    }
    if (!may(request.caller.role, access))
      throw new Forbidden('This is not open to you. Ask a technician or manager.');
    const how = { reads: SAFE.has(request.method) };
    if (!isInScope(request.caller.scopes, access, how)) throw new Forbidden(beyond(access, how));
  });

  app.addHook('onResponse', async (request, reply) => {
    // A proxy asks every second.
    request.log[isProbe(request) && reply.statusCode < 400 ? 'debug' : 'info'](
      {
        method: request.method,
        route: request.routeOptions.url ?? 'none',
        status: reply.statusCode,
        ms: Math.round(reply.elapsedTime),
      },
      'answered',
    );
  });
}

const isProbe = ({ routeOptions: { url } }: FastifyRequest): boolean =>
  url === '/healthz' || url === '/readyz';

/** Which scope a token would need for this. */
function beyond(permission: Permission, how: { reads: boolean }): string {
  const [scope] = scopesFor(permission, how);
  return scope
    ? `This token lacks the scope ${scope}.`
    : 'No scope opens this: it needs a token that may do everything its person may.';
}

function leadTo(request: FastifyRequest, reply: FastifyReply, to: string): FastifyReply {
  if (wantsFragment(request)) return reply.code(200).header('hx-redirect', to).send();
  return reply.redirect(to, 303);
}

const filled = (path: string, params: unknown): string =>
  path.replace(/:(\w+)/g, (_, name) => encodeURIComponent(String((params as Record<string, unknown>)[name])));

function comesFromOurPage(request: FastifyRequest, hasCookie: boolean): boolean {
  const { origin } = request.headers;
  if (origin !== undefined) return URL.canParse(origin) && new URL(origin).host === request.host;
  const site = request.headers['sec-fetch-site'];
  return site === undefined ? !hasCookie : site === 'same-origin';
}

/** Whatever was thrown, as something a person may be told; null where the fault is ours. */
export function toRefusal(error: unknown): { refusal: Refusal; hole: boolean } | null {
  if (error instanceof Refusal) return { refusal: error, hole: false };
  const fromDatabase = asRefusal(error);
  if (fromDatabase) return fromDatabase;
  const status = (error as { statusCode?: unknown }).statusCode;
  if (typeof status !== 'number' || status < 400 || status >= 500) return null;
  if (status === 404) return { refusal: new NotFound('There is nothing at this address.'), hole: false };
  return { refusal: new HttpRefusal(status), hole: false };
}

/** A request that Fastify itself would not take. */
class HttpRefusal extends Malformed {
  override readonly status: never;
  constructor(status: number) {
    super(
      { 413: 'This is larger than is taken here.', 415: 'This kind of content is not taken here.' }[status] ??
        'The request could not be read. Check its form and send it again.',
    );
    this.status = status as never;
  }
}

/** An address that is none (`%E0%A4%A`) reaches no route and no hook; it is answered here, and not repeated. */
export function refuseAddress(_error: unknown, _request: unknown, { raw }: Pick<FastifyReply, 'raw'>): void {
  raw
    .writeHead(400, { ...HEADERS, 'cache-control': 'no-store', 'content-type': 'text/plain; charset=utf-8' })
    .end('This address cannot be read.');
}

/** One handler for everything thrown: problem+json under /api, else a page made by `renderError`. */
export function handleErrors(
  app: FastifyInstance,
  renderError: (request: FastifyRequest, status: number, title: string, detail: string) => string,
): void {
  const answer = (request: FastifyRequest, reply: FastifyReply, error: unknown) => {
    const known = toRefusal(error);
    if (!known || known.hole)
      request.log.error({ err: scrub(error) }, known ? 'validation let this through' : 'failed');
    const refusal = known?.refusal;
    if (refusal instanceof Unavailable && refusal !== error)
      request.log.warn({ err: scrub(error) }, 'the database did not do it');
    const status = refusal?.status ?? 500;
    const title = refusal?.title ?? 'Something broke on our side';
    const detail =
      (refusal instanceof Doubtful && isApi(request)
        ? `${refusal.message} Send it again with "confirm": true if it is.`
        : refusal?.message) ??
      `Nothing was recorded. Tell the technician this number if it happens again: ${request.id}.`;
    if (refusal instanceof TooMany || refusal instanceof Unavailable)
      reply.header('retry-after', refusal.retryAfterSeconds);
    if (isApi(request) || isStream(request) || wantsProblem(request)) {
      if (status === 401 && isApi(request)) reply.header('www-authenticate', 'Bearer');
      const errors = refusal?.errors ?? [];
      return reply
        .code(status)
        .type('application/problem+json')
        .send(
          JSON.stringify({
            type: 'about:blank',
            title,
            status,
            detail,
            instance: `urn:request:${request.id}`,
            errors,
            ...(refusal instanceof Doubtful && !isApi(request) && { doubtful: true }),
          }),
        );
    }
    if (refusal instanceof Unauthorised) {
      const next = request.method === 'GET' ? `?next=${encodeURIComponent(request.url)}` : '';
      if (request.headers['hx-request'] === 'true')
        return reply.code(401).header('hx-redirect', `/sign-in${next}`).send();
      return reply.redirect(`/sign-in${next}`, 303);
    }
    return reply
      .code(status)
      .type('text/html; charset=utf-8')
      .send(renderError(request, status, title, detail));
  };
  app.setErrorHandler((error, request, reply) => answer(request, reply, error));
  app.setNotFoundHandler((request, reply) =>
    answer(request, reply, new NotFound('There is nothing at this address.')),
  );
}

/** An error without the SQL and parameter values that drizzle puts into its message. */
export function scrub(error: unknown): { type: string; message: string; stack: string | undefined } {
  const e = error instanceof Error ? error : new Error(String(error));
  const cause = e.constructor.name === 'DrizzleQueryError' && e.cause instanceof Error ? e.cause : e;
  return { type: cause.constructor.name, message: cause.message, stack: cause.stack };
}
