import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { seedDemo } from '../../seed/millrace.ts';
import { DEMO_PEOPLE } from '../../seed/people.ts';
import { buildApp, ENDPOINTS } from '../../server/app.ts';
import type { Endpoint } from '../../server/core/api.ts';
import type { Database, Tx } from '../../server/core/database.ts';
import { type Example, exampleName } from '../../server/core/examples.ts';
import { parse } from '../../server/core/forms.ts';
import type { Role } from '../../server/core/policy.ts';
import { issueToken } from '../../server/members/service/tokens.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { anApp } from '../helpers/studio.ts';

/** RECORD_EXAMPLES=1 writes what the service answers into the file of each feature, cut to size. */
const RECORD = process.env.RECORD_EXAMPLES === '1';

type Reply = { statusCode: number; body: string; json(): unknown };
let send: (who: Role, method: 'GET' | 'POST', path: string, body?: object) => Promise<Reply>;
let undone: <T>(work: () => Promise<T>) => Promise<T>;

beforeAll(async () => {
  const { services, clock, database } = await anApp();
  clock.forward(Date.parse('2026-11-27T14:00:00Z') - clock.now());
  await seedDemo(services);
  const tokens = new Map<Role, string>();
  for (const { role, email } of DEMO_PEOPLE)
    if (!tokens.has(role))
      tokens.set(
        role,
        await database.transaction((tx) =>
          issueToken({ tx, now: clock.now() }, email, { name: 'Examples', days: 1, scopes: null }),
        ),
      );
  const held = holding(database);
  undone = held.undone;
  const app = await buildApp({ ...services, database: held.database }, { logger: false });
  whenFileIsDone(() => app.close());
  send = (who, method, path, body) =>
    app.inject({
      method,
      url: `/api/v1${path}`,
      headers: { authorization: `Bearer ${tokens.get(who)}` },
      ...(body && { payload: body }),
    });
}, 120_000);

/** The same database, where all that is done by one piece of work comes to nothing: every example begins with the demo. */
function holding(real: Database) {
  let outer: Tx | null = null;
  const enough = new Error('enough');
  const database: Database = {
    ...real,
    get db() {
      return outer ?? real.db;
    },
    async transaction(work) {
      if (!outer) return real.transaction(work);
      return outer.transaction(async (inner) => {
        const sent: Promise<unknown>[] = [];
        const answer = await work(
          Object.assign(inner as unknown as Tx, { withCommit: (p: Promise<unknown>) => void sent.push(p) }),
        );
        await Promise.all(sent);
        return answer;
      });
    },
  };
  return {
    database,
    async undone<T>(work: () => Promise<T>): Promise<T> {
      let made: { answer: T } | undefined;
      await real
        .transaction(async (tx) => {
          outer = tx;
          made = { answer: await work() };
          // What is checked when a transaction ends is checked, too.
          await tx.execute('set constraints all immediate');
          throw enough;
        })
        .catch((error) => {
          if (error !== enough) throw error;
        })
        .finally(() => {
          outer = null;
        });
      return (made as { answer: T }).answer;
    },
  };
}

function addressOf({ path }: Endpoint, { params = {}, query }: Example): string {
  const at = path.replace(/:(\w+)/g, (_, name) => encodeURIComponent(String(params[name])));
  return query ? `${at}?${new URLSearchParams(Object.entries(query).map(([k, v]) => [k, String(v)]))}` : at;
}

/** As a document shows it. */
function cut(value: unknown): unknown {
  if (typeof value === 'string') return value.length > 400 ? value.split('\n').slice(0, 3).join('\n') : value;
  if (Array.isArray(value)) return value.slice(0, 2).map(cut);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, cut(inner)]));
}

const told: Record<string, Record<string, Example>> = {};

describe.each(Object.entries(ENDPOINTS))('%s', (feature, endpoints) => {
  it.each(endpoints.map((endpoint) => [exampleName(endpoint), endpoint] as const))(
    '%s',
    async (name, endpoint) => {
      const example = endpoint.example as Example;
      const who = example.as ?? 'manager';
      const reply = await undone(async () => {
        for (const { path, body } of example.after ?? []) {
          const before = await send(who, 'POST', path, body);
          expect([200, 201], `POST ${path}: ${before.body}`).toContain(before.statusCode);
        }
        return send(who, endpoint.method, addressOf(endpoint, example), example.body);
      });
      expect(reply.statusCode, reply.body).toBe(endpoint.method === 'GET' ? 200 : endpoint.status);
      const isText = endpoint.method === 'GET' && endpoint.isCsv;
      const answer = isText ? reply.body : reply.json();
      // Nothing is left out of the description, and nothing described is missing.
      expect(parse(endpoint.answer, answer)).toEqual(answer);
      if (RECORD) {
        told[feature] ??= {};
        (told[feature] as Record<string, Example>)[name] = { ...example, answer: cut(answer) };
      } else {
        expect(parse(endpoint.answer, example.answer)).toEqual(example.answer);
        expect(differences(example.answer, answer)).toEqual([]);
      }
    },
  );
});

/** Fields that one of two answers has and the other has not; where one has nothing or an empty list, nobody can say. */
function differences(one: unknown, other: unknown, at = ''): string[] {
  if (Array.isArray(one) && Array.isArray(other))
    return one.length === 0 || other.length === 0 ? [] : differences(one[0], other[0], `${at}[0]`);
  if (!isRecord(one) || !isRecord(other)) return [];
  return [...new Set([...Object.keys(one), ...Object.keys(other)])].flatMap((key) =>
    key in one && key in other ? differences(one[key], other[key], `${at}.${key}`) : [`${at}.${key}`],
  );
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

it.runIf(RECORD)('are written down', () => {
  const files = Object.entries(told).map(([feature, examples]) => {
    const file = new URL(`../../server/${feature}/api-examples.json`, import.meta.url).pathname;
    const kept = JSON.parse(readFileSync(file, 'utf8'));
    writeFileSync(file, `${JSON.stringify({ ...kept, ...examples }, null, 2)}\n`);
    return file;
  });
  execFileSync('npx', ['biome', 'format', '--write', ...files]);
});

it('stand in the document', async () => {
  const { paths } = (await send('manager', 'GET', '/openapi.json')).json() as {
    paths: Record<
      string,
      Record<string, { responses: Record<string, { content: Record<string, { example: unknown }> }> }>
    >;
  };
  const without = Object.entries(paths).flatMap(([path, operations]) =>
    Object.entries(operations)
      .filter(([, { responses }]) => {
        const done = responses[200] ?? responses[201];
        return Object.values(done?.content ?? {}).every(({ example }) => example === undefined);
      })
      .map(([method]) => `${method} ${path}`),
  );
  expect(without).toEqual([]);
});
