import { Readable } from 'node:stream';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { VNode } from 'preact';
import type { z } from 'zod';
import type { Act, Actor, Read, Studio } from './actor.ts';
import type { Instant } from './clock.ts';
import { Doubtful, type FieldError, Refusal, TooMany, Unauthorised } from './errors.ts';
import type { Upload } from './files.ts';
import { type FormSetting, readForm, type Typed } from './forms.ts';
import type { Access } from './http.ts';
import { once } from './idempotency.ts';
import { type Late, lateOf } from './late.ts';
import type { Services } from './services.ts';
import type { Caller } from './session.ts';

/** What an action answers with; the sending is done in one place. */
export type Answer =
  | { kind: 'page'; page: PageContent; status?: number; cookie?: string; retryAfterSeconds?: number }
  | { kind: 'go'; to: string; cookie?: string | string[] }
  | { kind: 'download'; name: string; type: string; content: AsyncIterable<string> };

export interface PageContent {
  title: string;
  section: string | null;
  body: VNode;
  /** For a screen that anybody may have left open. */
  idle?: Idle;
  /** What it is told of while it is open: words of topics, see `core/live.ts`. */
  watches?: string[];
}

/** Where a page leads by itself when nobody touches it for a minute. */
export interface Idle {
  to: string;
  /** Without scripts nobody sees whether it is touched: it leaves this long after it came. */
  seconds: number;
  /** With scripts it stays: it renews itself, or there is nothing to leave. */
  stays?: boolean;
}

export interface Route {
  method: 'GET' | 'POST';
  path: string;
  permission: Access;
  action: (visit: Visit) => Promise<Answer>;
  atTablet?: string;
  /** Its form may bring a file. */
  takesFiles?: true;
}

export const get = (
  path: string,
  permission: Access,
  action: Route['action'],
  more: Pick<Route, 'atTablet'> = {},
): Route => ({ method: 'GET', path, permission, action, ...more });
export const post = (path: string, permission: Access, action: Route['action']): Route => ({
  method: 'POST',
  path,
  permission,
  action,
});

/** A form that may bring a file: see `Visit.upload`. */
export const postWithFiles = (path: string, permission: Access, action: Route['action']): Route => ({
  ...post(path, permission, action),
  takesFiles: true,
});

export const page = (title: string, section: string | null, body: VNode, status = 200): Answer => ({
  kind: 'page',
  page: { title, section, body },
  status,
});

/** The same page, told while it is open when one of these changes. */
export const watching = (watches: string[], answer: Answer): Answer =>
  answer.kind === 'page' ? { ...answer, page: { ...answer.page, watches } } : answer;

export const go = (to: string, cookie?: string | string[]): Answer => ({
  kind: 'go',
  to,
  ...(cookie ? { cookie } : {}),
});

/** A file made while it is sent, to be kept under this name (ASCII). */
export const download = (name: string, type: string, content: AsyncIterable<string>): Answer => ({
  kind: 'download',
  name,
  type,
  content,
});

/** What is wrong with a form, and what was typed into it. */
export interface FormState {
  typed: Typed;
  errors: FieldError[];
  /** What was typed is possible but odd: sent again with `confirm` it is taken. */
  doubtful?: boolean;
}

export const emptyForm = (typed: Typed = {}): FormState => ({ typed, errors: [] });

/** One request to a page, as actions see it. */
export class Visit {
  readonly services: Services;
  readonly request: FastifyRequest;
  readonly now: Instant;

  constructor(services: Services, request: FastifyRequest) {
    this.services = services;
    this.request = request;
    this.now = services.clock.now();
  }

  get caller(): Caller {
    if (!this.request.caller) throw new Unauthorised('Sign in to go on.');
    return this.request.caller;
  }

  /** What a browser says of a form that it kept while there was no network. */
  get late(): Late | null {
    return lateOf(this.request);
  }

  get studio(): Studio {
    return this.caller.studio;
  }

  get read(): Read {
    return { tx: this.services.database.db, actor: this.caller, now: this.now };
  }

  param(name: string): string {
    return String((this.request.params as Record<string, unknown>)[name] ?? '');
  }

  get query(): Typed {
    return this.request.query as Typed;
  }

  /** What was done on the page before this one, in these words; null where its address says nothing of theirs. */
  done(words: Readonly<Record<string, string>>): string | null {
    const { done } = this.query;
    return typeof done === 'string' && Object.hasOwn(words, done) ? (words[done] ?? null) : null;
  }

  /** The fields of a form; whatever a body of another kind brings is as good as not sent. */
  get typed(): Typed {
    const fields = Object.entries((this.request.body ?? {}) as Record<string, unknown>);
    return Object.fromEntries(
      fields.filter((field): field is [string, string | string[]] => isTyped(field[1])),
    );
  }

  /** The file that came in this field; null where none was chosen. */
  upload(field: string): Upload | null {
    return this.request.uploads?.get(field) ?? null;
  }

  get formSetting(): FormSetting {
    const { timeZone, currency } = this.studio;
    return { units: this.caller.units, timeZone, currency };
  }

  form<S extends z.ZodType>(schema: S, typed = this.typed): z.output<S> {
    return readForm(schema, typed, this.formSetting);
  }

  /**
   * One act in one transaction; the form's hidden `key` makes a double tap harmless. A PIN is left out of what is
   * kept with the key: with so few of them, a hash gives it away.
   */
  async act<T>(work: (act: Act) => Promise<T>, as: Actor = this.caller): Promise<T> {
    const { key, pin: _, ...body } = this.typed;
    const { method, url: path } = this.request;
    const sent = {
      key: typeof key === 'string' && /^[\w-]{8,64}$/.test(key) ? key : null,
      method,
      path,
      body,
    };
    return this.services.database.transaction(async (tx) => {
      const act = { tx, actor: as, now: this.now };
      return (await once(act, sent, () => work(act))).answer;
    });
  }

  /**
   * Runs a form's act; what it refuses comes back as the form, filled in as it was typed, with the reason
   * beside its field. A missing record or permission is not the form's to explain and goes on up.
   */
  async submit(
    show: (form: FormState) => Promise<Answer> | Answer,
    work: () => Promise<Answer>,
  ): Promise<Answer> {
    try {
      return await work();
    } catch (error) {
      if (!(error instanceof Refusal) || ![409, 422, 429].includes(error.status)) throw error;
      if (wantsProblem(this.request)) throw error;
      const errors = error.errors.length > 0 ? error.errors : [{ path: '', message: error.message }];
      const answer = await show({ typed: this.typed, errors, doubtful: error instanceof Doubtful });
      if (answer.kind !== 'page') return answer;
      const wait = error instanceof TooMany ? { retryAfterSeconds: error.retryAfterSeconds } : {};
      return { ...answer, status: error.status, ...wait };
    }
  }
}

const isTyped = (value: unknown): boolean =>
  typeof value === 'string' || (Array.isArray(value) && value.every((one) => typeof one === 'string'));

/** `full` wants the whole document, `partial` only what changes; htmx says so in a header of its own. */
export const wantsFragment = (request: FastifyRequest): boolean =>
  request.headers['hx-request-type'] === 'partial';

/** A form that a program sends by itself: it wants to be told in its own terms what was refused. */
export const wantsProblem = (request: FastifyRequest): boolean =>
  request.headers.accept === 'application/problem+json';

export interface Renderer {
  document(request: FastifyRequest, content: PageContent): string;
  fragment(content: PageContent): string;
}

export function registerRoutes(
  app: FastifyInstance,
  services: Services,
  routes: Route[],
  renderer: Renderer,
): void {
  for (const { method, path, permission, atTablet, action } of routes) {
    app.route({
      method,
      url: path,
      config: { permission, ...(atTablet && { atTablet }) },
      handler: async (request, reply) =>
        send(request, reply, await action(new Visit(services, request)), renderer),
    });
  }
}

function send(
  request: FastifyRequest,
  reply: FastifyReply,
  answer: Answer,
  renderer: Renderer,
): FastifyReply {
  if (answer.kind === 'download') {
    reply.type(answer.type).header('content-disposition', `attachment; filename="${answer.name}"`);
    return reply.send(Readable.from(answer.content));
  }
  if (answer.cookie) reply.header('set-cookie', answer.cookie);
  if (answer.kind === 'go') {
    // For a part of a page fetch would follow a 303 with htmx's headers on, and answer into the old place.
    if (wantsFragment(request)) return reply.code(200).header('hx-location', answer.to).send();
    return reply.redirect(answer.to, 303);
  }
  if (answer.retryAfterSeconds) reply.header('retry-after', answer.retryAfterSeconds);
  reply
    .code(answer.status ?? 200)
    .type('text/html; charset=utf-8')
    .header('vary', 'HX-Request-Type');
  return reply.send(
    wantsFragment(request) ? renderer.fragment(answer.page) : renderer.document(request, answer.page),
  );
}
