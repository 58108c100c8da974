import { randomUUID } from 'node:crypto';
import type { FastifyInstance, InjectOptions, LightMyRequestResponse } from 'fastify';
import postgres from 'postgres';
import { inject } from 'vitest';
import type { KindPath } from '../../server/buckets/kinds.ts';
import { createBucketWithRecipe, recordAct } from '../../server/buckets/service/index.ts';
import type { Act } from '../../server/core/actor.ts';
import { MINUTE } from '../../server/core/clock.ts';
import type { Access } from '../../server/core/http.ts';
import type { Role } from '../../server/core/policy.ts';
import { studio, tokens } from '../../server/core/schema.ts';
import { randomSecret, secretHash } from '../../server/core/secrets.ts';
import type { Caller } from '../../server/core/session.ts';
import { createPerson } from '../../server/members/service/people.ts';
import { anAppOn } from './app.ts';
import { whenFileIsDone } from './closing.ts';
import { shareWithAnother } from './other-process.ts';

/** Somebody with a browser and a token of their own. */
export interface Person {
  id: number;
  name: string;
  email: string;
  password: string;
  role: Role;
  cookie: string;
  token: string;
  caller: Caller;
}

const ORIGIN = 'http://localhost';
export const PASSWORD = 'slip trail lantern 7';

let serial = 0;

/** A database of its own, copied from the template, dropped when the file is done. */
export async function aDatabase(): Promise<{ appUrl: string; ownerUrl: string }> {
  const name = `t_${randomUUID().replaceAll('-', '')}`;
  const template = new URL(inject('adminUrl')).pathname.slice(1);
  const server = new URL(inject('adminUrl'));
  server.pathname = '/postgres';
  const admin = postgres(server.href, { max: 1, onnotice: () => {} });
  await admin.unsafe(`create database "${name}" template "${template}"`);
  whenFileIsDone(async () => {
    await admin.unsafe(`drop database "${name}" with (force)`);
    await admin.end();
  });
  const at = (url: string) => {
    const own = new URL(url);
    own.pathname = `/${name}`;
    return own.href;
  };
  return { appUrl: at(inject('appUrl')), ownerUrl: at(inject('adminUrl')) };
}

/** A database with nothing in it, owned by a role that may do nothing else, as a studio's is. */
export async function anEmptyDatabase(): Promise<{ ownerUrl: string; appUrl: string }> {
  const name = `r_${randomUUID().replaceAll('-', '')}`;
  const server = new URL(inject('adminUrl'));
  server.pathname = '/postgres';
  const admin = postgres(server.href, { max: 1, onnotice: () => {} });
  await admin.unsafe(`create role "${name}" login password 'owner'`);
  await admin.unsafe(`create database "${name}" owner "${name}"`);
  whenFileIsDone(async () => {
    await admin.unsafe(`drop database "${name}" with (force)`);
    await admin.unsafe(`drop role "${name}"`);
    await admin.end();
  });
  const at = (url: string, user?: string) => {
    const own = new URL(url);
    own.pathname = `/${name}`;
    if (user) Object.assign(own, { username: user, password: 'owner' });
    return own.href;
  };
  return { ownerUrl: at(inject('adminUrl'), name), appUrl: at(inject('appUrl')) };
}

/** The app on a fresh database, or the one given: not yet set up. */
export async function anApp(env: NodeJS.ProcessEnv = {}, given?: { appUrl: string; ownerUrl: string }) {
  const { appUrl, ownerUrl } = given ?? (await aDatabase());
  return { ...(await appOn(appUrl, env)), ownerUrl };
}

/**
 * The app on a database that is there already. With TEST_PROCESSES=2 every second request goes to the same app in another
 * process.
 */
export async function appOn(appUrl: string, env: NodeJS.ProcessEnv = {}) {
  const routes: { method: string; url: string; permission: Access }[] = [];
  const made = await anAppOn(appUrl, env, ({ method, url, config }) =>
    routes.push({ method: String(method), url, permission: config?.permission as Access }),
  );
  whenFileIsDone(async () => {
    await made.app.close();
    await made.database.close();
  });
  if (process.env.TEST_PROCESSES === '2')
    await shareWithAnother(made.app, { appUrl, env, clock: made.clock });
  return { ...made, routes };
}

export type Studio = Awaited<ReturnType<typeof aStudio>>;

/** A studio that is set up, with one person of each role. */
export async function aStudio(env: NodeJS.ProcessEnv = {}, given?: { appUrl: string; ownerUrl: string }) {
  const made = await anApp(env, given);
  const { services, clock, database, app } = made;
  await database.db.insert(studio).values({
    name: 'Millrace Clay Commons',
    timeZone: 'Europe/London',
    currency: 'GBP',
    units: 'metric',
    setUpAt: clock.now(),
  });

  async function aPerson(role: Role = 'member', name = `Person ${++serial}`): Promise<Person> {
    const email = `person-${++serial}@millrace.example`;
    const passwordHash = await services.passwords.hash(PASSWORD);
    const id = await database.transaction((tx) =>
      createPerson(tx, { name, email, role, passwordHash }, clock.now()),
    );
    const token = randomSecret();
    await database.db
      .insert(tokens)
      .values({ personId: id, name: 'test', hash: secretHash(token), createdAt: clock.now() });
    const cookie = (await services.sessions.start(id)).split(';')[0] as string;
    const caller = (await services.sessions.findByToken(token)) as Caller;
    return {
      id,
      name,
      email,
      password: PASSWORD,
      role,
      cookie,
      token,
      caller: { ...caller, tokenId: null, deviceId: null },
    };
  }

  const people = {
    member: await aPerson('member', 'Ida'),
    technician: await aPerson('technician', 'Wren'),
    manager: await aPerson('manager', 'Maro'),
  };

  /** Runs a use case as somebody, in a transaction of its own. */
  const as = <T>(person: Person, work: (act: Act) => Promise<T>): Promise<T> =>
    database.transaction((tx) => work({ tx, actor: person.caller, now: clock.now() }));

  /** A bucket of 25 L, band 1.44 to 1.48, with 18 L of what the options say. */
  async function aBucket(options: BucketOptions = {}): Promise<string> {
    const code = options.code ?? `B${++serial}`;
    await as(people.technician, (act) =>
      createBucketWithRecipe(act, {
        code,
        name: options.name ?? `Glaze ${code}`,
        colour: '#4a6b5d',
        capacityLitres: 25,
        target: { low: 1.44, aim: 1.46, high: 1.48 },
        stirIntervalMinutes: options.stirIntervalMinutes ?? 5,
        readingTrustedHours: 168,
        sieveMesh: 80,
        mixMoreFraction: 1 / 3,
        solidsDensity: 2.6,
        hasSolubles: options.hasSolubles ?? false,
      }),
    );
    const past = (minutes: number) => clock.now() - minutes * MINUTE;
    const record = (path: KindPath, body: object) =>
      as(people.technician, (act) => recordAct(act, code, path, body as never));
    const stirred = options.stirredMinutesAgo;
    if (options.litres !== null)
      await record('setup', {
        litres: options.litres ?? 18,
        specificGravity: options.sg ?? 1.46,
        happenedAt: past((stirred ?? 0) + 60),
      });
    if (options.sg !== undefined)
      await record('readings', {
        method: 'weighed',
        grams: options.sg * 1000,
        millilitres: 1000,
        stirred: true,
        confirm: true,
        happenedAt: past(stirred ?? 0),
      });
    return code;
  }

  return { ...made, people, aPerson, as, aBucket, ...client(app) };
}

export interface BucketOptions {
  code?: string;
  name?: string;
  /** Read, by a weighed litre, with a stir; without it the bucket was never read. */
  sg?: number;
  stirredMinutesAgo?: number;
  /** Null: never set up. */
  litres?: number | null;
  stirIntervalMinutes?: number;
  hasSolubles?: boolean;
}

/** Requests as a browser, a browser with htmx, or a program sends them. */
function client(app: FastifyInstance) {
  type Headers = Record<string, string>;
  const send = (options: InjectOptions): Promise<LightMyRequestResponse> => app.inject(options);
  const cookieOf = (person: Person | null): Headers => (person ? { cookie: person.cookie } : {});

  return {
    visit: (person: Person | null, url: string, headers: Headers = {}) =>
      send({ method: 'GET', url, headers: { ...cookieOf(person), ...headers } }),

    submit: (
      person: Person | null,
      url: string,
      fields: Record<string, string | string[]>,
      headers: Headers = {},
    ) => {
      const form = new URLSearchParams();
      for (const [name, value] of Object.entries(fields))
        for (const one of [value].flat()) form.append(name, one);
      return send({
        method: 'POST',
        url,
        payload: form.toString(),
        headers: {
          ...cookieOf(person),
          origin: ORIGIN,
          host: 'localhost',
          'content-type': 'application/x-www-form-urlencoded',
          ...headers,
        },
      });
    },

    api: (
      person: Person | null,
      method: 'GET' | 'POST',
      path: string,
      body?: object,
      headers: Headers = {},
    ) =>
      send({
        method,
        url: `/api/v1${path}`,
        headers: { ...(person ? { authorization: `Bearer ${person.token}` } : {}), ...headers },
        ...(body === undefined ? {} : { payload: body }),
      }),
  };
}

/** What htmx adds to a request that replaces a part of the page. */
export const PARTIAL = { 'hx-request': 'true', 'hx-request-type': 'partial' };
