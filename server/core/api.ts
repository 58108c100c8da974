import { Readable } from 'node:stream';
import etag from '@fastify/etag';
import rateLimit from '@fastify/rate-limit';
import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import type { Act, Read } from './actor.ts';
import { MINUTE } from './clock.ts';
import { CSV_TYPE } from './csv.ts';
import { Invalid, TooMany, Unauthorised } from './errors.ts';
import type { Example } from './examples.ts';
import { parse } from './forms.ts';
import type { Access } from './http.ts';
import { isAnswered, once } from './idempotency.ts';
import { askedPage, nextLink, type Page, pageQuery } from './paging.ts';
import { scopesFor } from './policy.ts';
import type { Services } from './services.ts';

type Schema = z.ZodType | undefined;
type Out<S extends Schema> = S extends z.ZodType ? z.output<S> : undefined;

interface Common<P extends Schema, A extends z.ZodType> {
  path: string;
  permission: Access;
  summary: string;
  params?: P;
  answer: A;
  /** Comes from a file: see `withExamples`. */
  example?: Example;
}

/** A route of the API. It is validated, described in OpenAPI and answered from these same schemas. */
export type Endpoint =
  | (Common<Schema, z.ZodType> & {
      method: 'GET';
      query?: Schema;
      /** What `run` answers is text, sent while it is made. */
      isCsv?: true;
      /** What it answers is one page of a list, whose `next` says where the one after it begins. */
      isPage?: true;
      /** Why a list that comes whole cannot grow long. */
      whole?: string;
      run(read: Read, input: never): Promise<unknown>;
    })
  | (Common<Schema, z.ZodType> & {
      method: 'POST';
      body: z.ZodType;
      status: 200 | 201;
      prepare?(read: Read, input: never): Promise<unknown>;
      run(act: Act, input: never): Promise<unknown>;
    });

export function read<A extends z.ZodType, P extends Schema = undefined, Q extends Schema = undefined>(
  endpoint: Common<P, A> & {
    query?: Q;
    whole?: string;
    run(read: Read, input: { params: Out<P>; query: Out<Q> }): Promise<z.input<A>>;
  },
): Endpoint {
  return { method: 'GET', ...endpoint };
}

/** A list that grows, a page at a time from the newest back; `query` are its filters. */
export function pages<
  A extends z.ZodObject<{ next: z.ZodNullable<z.ZodNumber> }>,
  P extends Schema = undefined,
  Q extends z.ZodRawShape = Record<never, never>,
>({
  query = {} as Q,
  page,
  ...endpoint
}: Common<P, A> & {
  query?: Q;
  page: { most: number; usual: number };
  run(read: Read, input: { params: Out<P>; query: z.output<z.ZodObject<Q>> & Page }): Promise<z.input<A>>;
}): Endpoint {
  return {
    method: 'GET',
    isPage: true,
    query: z.strictObject({ ...query, ...pageQuery(page) }),
    ...endpoint,
  };
}

/** A GET whose answer is a CSV file, made while it is sent; `run` throws what is refused before the first line. */
export function csvFile<P extends Schema = undefined, Q extends Schema = undefined>(
  endpoint: Omit<Common<P, z.ZodType>, 'answer'> & {
    query?: Q;
    run(read: Read, input: { params: Out<P>; query: Out<Q> }): Promise<AsyncIterable<string>>;
  },
): Endpoint {
  return { method: 'GET', isCsv: true, answer: z.string(), ...endpoint };
}

export function write<A extends z.ZodType, B extends z.ZodType, P extends Schema = undefined, M = undefined>(
  endpoint: Common<P, A> & {
    body: B;
    status?: 200 | 201;
    /** Work that takes long, done outside the transaction; what it answers reaches `run` as `prepared`. */
    prepare?(read: Read, input: { params: Out<P>; body: z.output<B> }): Promise<M>;
    run(act: Act, input: { params: Out<P>; body: z.output<B>; prepared: M }): Promise<z.input<A>>;
  },
): Endpoint {
  return { method: 'POST', status: 201, ...endpoint };
}

const BASE = '/api/v1';

/** In a scope of its own: what only programs get, limits and entity tags, no page has. */
export async function registerApi(
  app: FastifyInstance,
  services: Services,
  endpoints: Endpoint[],
): Promise<void> {
  const { database, clock, config } = services;
  await app.register(etag);
  if (config.apiRateLimit > 0)
    await app.register(rateLimit, {
      max: config.apiRateLimit,
      timeWindow: MINUTE,
      // Once it is known whose token it is.
      hook: 'preHandler',
      keyGenerator: ({ caller, ip }) => (caller ? `token ${caller.tokenId}` : ip),
      enableDraftSpec: true,
      errorResponseBuilder: (_request, { max, ttl }) =>
        new TooMany(`This token may ask ${max} times a minute.`, ttl / 1000),
    });
  for (const endpoint of endpoints) {
    app.route({
      method: endpoint.method,
      url: BASE + endpoint.path,
      config: { permission: endpoint.permission },
      handler: async (request, reply) => {
        const actor = request.caller;
        if (!actor) throw new Unauthorised('Send a token of yours as "Authorization: Bearer …".');
        const now = clock.now();
        const params = endpoint.params && parse(endpoint.params, request.params);
        if (endpoint.method === 'GET') {
          const sent = endpoint.query && parse(endpoint.query, request.query);
          const query = endpoint.isPage ? askedPage(request.url, sent as Page) : sent;
          const answer = await endpoint.run({ tx: database.db, actor, now }, { params, query } as never);
          const link = endpoint.isPage && nextLink(request.url, (answer as { next: number | null }).next);
          if (link) reply.header('link', link);
          // Kept by whoever asked, and asked for again by its tag.
          reply.header('cache-control', 'private, no-cache');
          if (!endpoint.isCsv) return reply.send(answer);
          return reply.type(CSV_TYPE).send(Readable.from(answer as AsyncIterable<string>));
        }
        const body = parse(endpoint.body, request.body ?? {});
        const { method, url: path } = request;
        const sent = {
          key: idempotencyKey(request.headers['idempotency-key']),
          method,
          path,
          body: request.body,
        };
        const read = { tx: database.db, actor, now };
        const { prepare } = endpoint;
        const prepared =
          prepare && !(await isAnswered(read, sent))
            ? await prepare(read, { params, body } as never)
            : undefined;
        const answer = await database.transaction(async (tx) => {
          const act = { tx, actor, now };
          return once(act, sent, () => endpoint.run(act, { params, body, prepared } as never));
        });
        if (answer.replayed) reply.header('idempotency-replayed', 'true');
        return reply.code(endpoint.status).send(answer.answer);
      },
    });
  }
  const document = JSON.stringify(openApi(endpoints));
  app.get(`${BASE}/openapi.json`, { config: { permission: 'public' } }, (_request, reply) =>
    reply.type('application/json').send(document),
  );
}

function idempotencyKey(header: string | string[] | undefined): string | null {
  if (header === undefined) return null;
  if (typeof header !== 'string' || !/^[\x21-\x7e]{1,255}$/.test(header))
    throw new Invalid([
      { path: 'Idempotency-Key', message: 'One to 255 printable characters, without spaces.' },
    ]);
  return `api:${header}`;
}

const PROBLEM = {
  description: 'Refused, with the reason (RFC 9457)',
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
};

const TOO_MANY = {
  ...PROBLEM,
  description: 'This token asked too often; Retry-After says when it may again',
  headers: { 'Retry-After': { schema: { type: 'integer' }, description: 'Seconds' } },
};

function openApi(endpoints: Endpoint[]): object {
  const paths: Record<string, Record<string, unknown>> = {};
  for (const endpoint of endpoints) {
    const path = endpoint.path.replace(/:(\w+)/g, '{$1}');
    const status = endpoint.method === 'GET' ? 200 : endpoint.status;
    const operation = {
      summary: endpoint.summary,
      description: explain(endpoint),
      parameters: [
        ...parameters('path', endpoint.params, endpoint.example?.params),
        ...(endpoint.method === 'GET'
          ? parameters('query', endpoint.query, endpoint.example?.query)
          : [IDEMPOTENCY_KEY]),
      ],
      ...(endpoint.method === 'POST' && {
        requestBody: {
          required: true,
          content: {
            'application/json': {
              schema: jsonSchema(endpoint.body, 'input'),
              example: endpoint.example?.body,
            },
          },
        },
      }),
      responses: {
        [status]: {
          description: 'Done',
          ...(endpoint.method === 'GET' && endpoint.isPage && { headers: { Link: LINK } }),
          content: {
            [endpoint.method === 'GET' && endpoint.isCsv ? 'text/csv' : 'application/json']: {
              schema: jsonSchema(endpoint.answer, 'output'),
              example: endpoint.example?.answer,
            },
          },
        },
        ...(endpoint.method === 'GET' &&
          !endpoint.isCsv && { 304: { description: 'As it was, by the tag in If-None-Match' } }),
        429: TOO_MANY,
        default: PROBLEM,
      },
    };
    paths[path] = { ...paths[path], [endpoint.method.toLowerCase()]: operation };
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Wareboard',
      version: '1',
      description: 'The glaze wall of a studio, for its own programs and instruments.',
    },
    servers: [{ url: BASE }],
    security: [{ token: [] }],
    components: {
      securitySchemes: { token: { type: 'http', scheme: 'bearer' } },
      schemas: {
        Problem: {
          type: 'object',
          required: ['type', 'title', 'status', 'detail', 'errors'],
          properties: {
            type: { type: 'string' },
            title: { type: 'string' },
            status: { type: 'integer' },
            detail: { type: 'string' },
            instance: { type: 'string' },
            errors: {
              type: 'array',
              items: {
                type: 'object',
                required: ['path', 'message'],
                properties: { path: { type: 'string' }, message: { type: 'string' } },
              },
            },
          },
        },
      },
    },
    paths,
  };
}

const LINK = {
  schema: { type: 'string' },
  description: 'The address of the next page, as rel="next" (RFC 8288); left out on the last one',
};

const IDEMPOTENCY_KEY = {
  name: 'Idempotency-Key',
  in: 'header',
  required: false,
  description: 'A retry with the same key and body is done once and answered the same.',
  schema: { type: 'string', maxLength: 255 },
};

/** What a token needs for it, and why a list that comes whole is short. */
function explain(endpoint: Endpoint): string {
  const { permission, method } = endpoint;
  const [scope] = permission === 'public' ? [] : scopesFor(permission, { reads: method === 'GET' });
  const needs = scope ? `A token limited to ${scope} may do this.` : 'No token that is limited may do this.';
  return method === 'GET' && endpoint.whole ? `${needs} It answers all at once: ${endpoint.whole}.` : needs;
}

function parameters(place: 'path' | 'query', schema: Schema, example: Example['params'] = {}): object[] {
  if (!schema) return [];
  return Object.entries((schema as z.ZodObject).shape).map(([name, field]) => ({
    name,
    in: place,
    required: place === 'path' || !(field as z.ZodType).safeParse(undefined).success,
    schema: jsonSchema(field as z.ZodType, 'input'),
    ...(Object.hasOwn(example, name) && { example: String(example[name]) }),
  }));
}

function jsonSchema(schema: z.ZodType, io: 'input' | 'output'): object {
  const { $schema: _, ...rest } = z.toJSONSchema(schema, { io, unrepresentable: 'any' });
  return rest;
}
