import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { isDeepStrictEqual } from 'node:util';
import postgres from 'postgres';
import { attachBundled } from '../../server/core/postgres.ts';
import { freePort } from '../bench/children.ts';
import { descendants } from './processes.ts';
import { runScript, type Service, startService } from './service.ts';

export interface Plan {
  /** Acts in all; each is sent until it is answered. */
  writes: number;
  clients: number;
  seed: number;
  /** So many acts are acknowledged between two kills. */
  between: [least: number, most: number];
  /** In this order, and again from the first, until everything is written. */
  kills: readonly Kill[];
  say?: (line: string) => void;
}

/** The service's own process, everything of Postgres, or one connection's process, after which Postgres recovers by itself. */
export type Kill = 'Node' | 'Postgres' | 'a backend';

export interface Outcome {
  /** Acts that were acknowledged, by kind. */
  acknowledged: Record<string, number>;
  /** Tries that had no answer or were told to come back. */
  sentAgain: number;
  kills: Record<Kill, number>;
  /** What should not be; nothing: all is as it must be. */
  wrong: string[];
}

/** Numbers from 0 to 1, the same for the same seed (mulberry32). */
function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

type Role = 'member' | 'technician' | 'manager';

interface Act {
  kind: string;
  role: Role;
  path: string;
  body: Record<string, unknown>;
  /** A page's form rather than the API. */
  isForm?: boolean;
  /** What may be refused as things stand, and then leaves nothing behind. */
  mayBeRefused?: boolean;
}

interface Answer {
  status: number;
  text: string;
}

const BUCKETS = ['HG', 'CB', 'CH', 'TB', 'KE', 'OS', 'RM'];
const TELLING = 'spill';
const ROLES: Role[] = ['member', 'technician', 'manager'];
const PASSWORDS = /technician\s+technician@millrace\.example\s+(.+)/;

/** Runs the demo as a process of its own, writes to it with many clients, kills it again and again, and counts. */
export async function writeAndKill(plan: Plan): Promise<Outcome> {
  const say = plan.say ?? (() => {});
  const dataDir = await mkdtemp(join(tmpdir(), 'wareboard-soak-'));
  // For root, Postgres runs as another account: in a closed folder it would leave its cluster elsewhere.
  await chmod(dataDir, 0o755);
  const soak = new Soak(plan, dataDir, await freePort(), say);
  try {
    return await soak.run();
  } finally {
    await soak.stop();
    await rm(dataDir, { recursive: true, force: true });
  }
}

class Soak {
  readonly #plan: Plan;
  readonly #dataDir: string;
  readonly #port: number;
  readonly #say: (line: string) => void;
  readonly #random: () => number;
  #service: Service | null = null;
  #left: number;
  #serial = 0;
  #tokens = {} as Record<Role, string>;
  #cookie = '';
  #sentAgain = 0;
  readonly #wrong: string[] = [];
  readonly #kills: Record<Kill, number> = { Node: 0, Postgres: 0, 'a backend': 0 };
  /** The answer to every act by its key. */
  readonly #answers = new Map<string, { act: Act; answer: Answer }>();
  /** What may yet be struck out: a member's own top-ups. */
  readonly #toVoid: { code: string; number: number }[] = [];
  /** Pieces that were registered and not moved yet, and those left to dry. */
  readonly #made: number[] = [];
  readonly #drying: number[] = [];
  readonly #accounts: number[] = [];

  constructor(plan: Plan, dataDir: string, port: number, say: (line: string) => void) {
    this.#plan = plan;
    this.#dataDir = dataDir;
    this.#port = port;
    this.#say = say;
    this.#left = plan.writes;
    this.#random = randomFrom(plan.seed);
  }

  async run(): Promise<Outcome> {
    await this.#start();
    await this.#prepare();
    const before = await this.#counts();
    const writing = Promise.all([
      ...Array.from({ length: this.#plan.clients - 1 }, () => this.#client(() => this.#next())),
      this.#loads(),
    ]);
    let isWriting = true;
    const done = writing.finally(() => {
      isWriting = false;
    });
    done.catch(() => {});
    for (let i = 0; isWriting; i++) {
      const [least, most] = this.#plan.between;
      const until = this.#answers.size + least + Math.floor(this.#random() * (most - least + 1));
      while (isWriting && this.#answers.size < until) await sleep(5);
      await sleep(this.#random() * 30);
      if (isWriting) await this.#kill(this.#plan.kills[i % this.#plan.kills.length] as Kill);
    }
    await done;
    await this.#verify(before);
    const acknowledged: Record<string, number> = {};
    for (const { act, answer } of this.#answers.values())
      if (answer.status < 400) acknowledged[act.kind] = (acknowledged[act.kind] ?? 0) + 1;
    return { acknowledged, sentAgain: this.#sentAgain, kills: this.#kills, wrong: this.#wrong };
  }

  async stop(): Promise<void> {
    this.#left = 0;
    this.#service?.process.kill('SIGTERM');
    await this.#service?.ended;
  }

  async #start(): Promise<void> {
    this.#service = await startService('demo', {
      DATA_DIR: this.#dataDir,
      PORT: String(this.#port),
      API_RATE_LIMIT: '0',
      LOG_LEVEL: 'warn',
    });
  }

  async #prepare(): Promise<void> {
    for (const role of ROLES) {
      const args = ['run', '--silent', 'token', '--', `${role}@millrace.example`];
      const command = runScript(args, { DATA_DIR: this.#dataDir });
      await command.ended;
      this.#tokens[role] = command.output().trim().split('\n').at(-1) ?? '';
    }
    const [, password = ''] = PASSWORDS.exec(this.#service?.output() ?? '') ?? [];
    const signedIn = await this.#form('/sign-in', {
      email: 'technician@millrace.example',
      password: password.trim(),
    });
    this.#cookie = String(signedIn.headers.get('set-cookie')).split(';')[0] ?? '';
    await this.#sql(
      (sql) => sql`
        insert into told_choices (person_id, kind, way)
        select id, 'safety', 'mail' from people on conflict do nothing`,
    );
    const accounts = await this.#sql(
      (sql) => sql`select number from fee_accounts where number is not null limit 5`,
    );
    this.#accounts.push(...accounts.map(({ number }) => Number(number)));
    await this.#send({
      kind: 'kiln',
      role: 'manager',
      path: '/kilns',
      body: {
        code: 'SOAK',
        name: 'A kiln to try',
        opens: 'top',
        shelf: { shape: 'round', diameterMm: 450 },
        fullShelves: 4,
        shelfThicknessMm: 15,
        usableHeightMm: 600,
        posts: [{ heightMm: 100, count: 12 }],
        maxCone: '8',
        atmospheres: ['oxidation'],
        power: 'electric',
        kilowatts: 8,
      },
    });
    const bowls = {
      form: 'bowl',
      howMany: 3,
      begins: 'drying',
      ownClay: 'From the river',
      kind: 'bisque',
      cone: '03',
    };
    const { text } = await this.#send({ kind: 'pieces', role: 'technician', path: '/pieces', body: bowls });
    for (const number of (JSON.parse(text) as { numbers: number[] }).numbers) {
      for (const [move, body] of [
        ['dry', {}],
        ['yes', { trayMm: 5 }],
      ] as const)
        await this.#send({ kind: move, role: 'technician', path: `/pieces/${number}/${move}`, body });
    }
    this.#answers.clear();
    this.#made.length = 0;
  }

  async #client(next: () => Act): Promise<void> {
    while (this.#left > 0) {
      this.#left--;
      await this.#send(next());
    }
  }

  /** One after the other: a load proposed, approved, and cancelled again. */
  async #loads(): Promise<void> {
    const wish = { kiln: 'SOAK', kind: 'bisque', cone: '03', atmosphere: 'oxidation' };
    while (this.#left > 0) {
      this.#left -= 3;
      const say = (kind: string, path: string, body: object): Promise<Answer> =>
        this.#send({ kind, role: 'technician', path, body: { ...body } });
      const { text } = await say('propose', '/loads/propose', wish);
      const [load] = (JSON.parse(text) as { loads: { number: number }[] }).loads;
      await say('approve', `/loads/${load?.number}/approve`, { version: 1 });
      await say('cancel', `/loads/${load?.number}/cancel`, { reason: 'Only a try' });
    }
  }

  #one<T>(list: readonly T[]): T {
    return list[Math.floor(this.#random() * list.length)] as T;
  }

  #next(): Act {
    const dice = this.#random();
    const code = this.#one(BUCKETS);
    const role = this.#one(ROLES);
    const acts = `/buckets/${code}`;
    if (dice < 0.25)
      return {
        kind: 'reading',
        role,
        path: `${acts}/readings`,
        body: {
          method: 'weighed',
          grams: 1400 + Math.floor(this.#random() * 100),
          millilitres: 1000,
          stirred: true,
          confirm: true,
        },
      };
    if (dice < 0.4) return { kind: 'stir', role, path: `${acts}/stirs`, body: {} };
    if (dice < 0.52)
      return {
        kind: 'top-up',
        role: 'member',
        path: `${acts}/top-ups`,
        body: { kind: 'water', litres: 0.01 },
        mayBeRefused: true,
      };
    const own = dice < 0.58 ? this.#toVoid.pop() : undefined;
    if (own)
      return {
        kind: 'void',
        role: 'member',
        path: `/buckets/${own.code}/events/${own.number}/void`,
        body: { reason: 'Typed twice' },
      };
    const made = dice < 0.68 ? this.#made.pop() : undefined;
    if (made !== undefined)
      return { kind: 'drying', role: 'member', path: `/pieces/${made}/drying`, body: {} };
    const drying = dice < 0.76 ? this.#drying.pop() : undefined;
    if (drying !== undefined)
      return { kind: 'dry', role: 'technician', path: `/pieces/${drying}/dry`, body: {} };
    if (dice < 0.82)
      return {
        kind: 'pieces',
        role: 'member',
        path: '/pieces',
        body: {
          form: 'beaker',
          howMany: 1 + Math.floor(this.#random() * 3),
          ownClay: 'From the river',
          kind: 'bisque',
          cone: '04',
        },
      };
    if (dice < 0.9)
      return {
        kind: 'entry',
        role: 'member',
        path: '/safety-log',
        body: { kind: TELLING, place: 'Glaze room', what: 'A litre of slip', action: 'Mopped wet' },
      };
    const amountMinor = 1 + Math.floor(this.#random() * 5000);
    if (dice < 0.95)
      return {
        kind: 'payment',
        role: 'manager',
        path: '/payments',
        body: { account: this.#one(this.#accounts), amountMinor, how: 'cash' },
      };
    return {
      kind: 'charge',
      role: 'technician',
      path: `/fees/accounts/${this.#one(this.#accounts)}/charge`,
      body: { amountMinor: (amountMinor / 100).toFixed(2), reason: 'Tools not returned' },
      isForm: true,
    };
  }

  /** Sends an act under a key of its own until it is answered, and keeps the answer. */
  async #send(act: Act): Promise<Answer> {
    const key = `soak-${this.#plan.seed}-${this.#serial++}`;
    for (;;) {
      const answer = await this.#ask(act, key);
      if (answer !== null && answer.status < 500) {
        this.#answers.set(key, { act, answer });
        this.#learn(act, answer);
        return answer;
      }
      this.#sentAgain++;
      if (answer !== null && answer.status !== 503)
        this.#say(
          this.#fault(`${act.kind} was answered with ${answer.status}: ${answer.text.slice(0, 300)}`),
        );
      if (this.#wrong.length > 20) throw new Error(this.#wrong.join('\n'));
      await sleep(50 + this.#random() * 200);
    }
  }

  #fault(words: string): string {
    this.#wrong.push(words);
    return words;
  }

  #learn(act: Act, { status, text }: Answer): void {
    if (status >= 400) {
      if (!act.mayBeRefused)
        this.#fault(`${act.kind} at ${act.path} was refused: ${status} ${text.slice(0, 300)}`);
      return;
    }
    if (act.kind === 'top-up') {
      const { event } = JSON.parse(text) as { event: { number: number } };
      this.#toVoid.push({ code: act.path.split('/')[2] ?? '', number: event.number });
    }
    if (act.kind === 'pieces') this.#made.push(...(JSON.parse(text) as { numbers: number[] }).numbers);
    if (act.kind === 'drying') this.#drying.push(Number(act.path.split('/')[2]));
  }

  /** Null: nobody answered. */
  async #ask(act: Act, key: string): Promise<Answer | null> {
    try {
      const answer = act.isForm
        ? await this.#form(act.path, { ...(act.body as Record<string, string>), key })
        : await fetch(`http://127.0.0.1:${this.#port}/api/v1${act.path}`, {
            method: 'POST',
            headers: {
              authorization: `Bearer ${this.#tokens[act.role]}`,
              'content-type': 'application/json',
              'idempotency-key': key,
            },
            body: JSON.stringify(act.body),
            signal: AbortSignal.timeout(40_000),
          });
      if (answer.status === 503 && !answer.headers.get('retry-after'))
        this.#fault(`${act.kind} was told to come back, and not when`);
      const text = act.isForm ? String(answer.headers.get('location')) : await answer.text();
      return { status: answer.status, text };
    } catch {
      return null;
    }
  }

  #form(path: string, fields: Record<string, string>): Promise<Response> {
    const origin = `http://127.0.0.1:${this.#port}`;
    return fetch(origin + path, {
      method: 'POST',
      headers: { origin, ...(this.#cookie && { cookie: this.#cookie }) },
      body: new URLSearchParams(fields),
      redirect: 'manual',
      signal: AbortSignal.timeout(40_000),
    });
  }

  async #kill(kind: Kill): Promise<void> {
    const service = this.#service;
    if (!service) return;
    const family = descendants(service.process.pid as number);
    const postgresAll = family.filter(({ name }) => name === 'postgres');
    const postmaster = postgresAll.find(({ parent }) => !postgresAll.some(({ pid }) => pid === parent));
    const backends = postgresAll.filter(({ pid }) => pid !== postmaster?.pid);
    const victims =
      kind === 'Node'
        ? family.filter(({ name }) => /^(node|MainThread)$/.test(name))
        : kind === 'Postgres'
          ? postgresAll
          : backends.length > 0
            ? [this.#one(backends.slice(-5))]
            : [];
    this.#kills[kind]++;
    this.#say(`killed ${kind}; ${this.#left} acts to go, ${this.#sentAgain} sent again`);
    for (const { pid } of victims) {
      try {
        process.kill(pid, 'SIGKILL');
      } catch {
        // It ended with its parent.
      }
    }
    if (kind === 'a backend') return;
    await service.ended;
    await this.#start();
  }

  /** One question as the owner of the tables. */
  async #sql(ask: (sql: postgres.Sql) => Promise<postgres.Row[]>): Promise<postgres.Row[]> {
    const { ownerUrl, release } = await attachBundled(this.#dataDir);
    const sql = postgres(ownerUrl, { max: 1, onnotice: () => {} });
    try {
      return await ask(sql);
    } finally {
      await sql.end();
      await release();
    }
  }

  async #counts(): Promise<Record<string, number>> {
    const [row] = await this.#sql(
      (sql) => sql`
        select ${sql.unsafe(
          ['reading', 'stir', 'addition', 'void']
            .map((kind) => `(select count(*) from bucket_events where kind = '${kind}') as "${kind}"`)
            .join(),
        )},
        (select count(*) from pieces) as pieces,
        (select count(*) from piece_events where kind = 'drying') as drying,
        (select count(*) from piece_events where kind = 'dry') as dry,
        (select count(*) from safety_entries where kind = ${TELLING}) as entries,
        (select count(*) from fee_entries where kind = 'payment') as payments,
        (select coalesce(sum(amount_minor), 0) from fee_entries where kind = 'payment') as paid,
        (select count(*) from fee_entries where payload ->> 'because' = 'Tools not returned'
          or kind not in ('payment', 'firing', 'dues')) as charges,
        (select count(*) from load_events where kind = 'approved') as approve,
        (select count(*) from load_events where kind = 'cancelled') as cancel`,
    );
    return Object.fromEntries(Object.entries(row ?? {}).map(([name, value]) => [name, Number(value)]));
  }

  async #verify(before: Record<string, number>): Promise<void> {
    const taken = [...this.#answers.values()].filter(({ answer }) => answer.status < 400);
    const of = (kind: string) => taken.filter(({ act }) => act.kind === kind);
    const sum = (kind: string, size: (act: Act) => number) =>
      of(kind).reduce((total, { act }) => total + size(act), 0);
    const expected: Record<string, number> = {
      reading: of('reading').length,
      stir: of('reading').length + of('stir').length,
      addition: of('top-up').length,
      void: of('void').length,
      pieces: sum('pieces', ({ body }) => Number(body.howMany)),
      drying: of('drying').length,
      dry: of('dry').length,
      entries: of('entry').length,
      payments: of('payment').length,
      paid: -sum('payment', ({ body }) => Number(body.amountMinor)),
      charges: of('charge').length,
      approve: of('approve').length,
      cancel: of('cancel').length,
    };
    const after = await this.#counts();
    for (const [name, times] of Object.entries(expected)) {
      const found = (after[name] ?? 0) - (before[name] ?? 0);
      if (found !== times) this.#fault(`${name}: ${times} acknowledged, ${found} there`);
    }
    await this.#findNumbers(taken);
    await this.#lookForGaps();
    await this.#sameAgain();
    const doctor = runScript(['run', '--silent', 'doctor'], { DATA_DIR: this.#dataDir });
    if ((await doctor.ended).code !== 0) this.#fault(`the doctor: ${doctor.output().slice(0, 1000)}`);
  }

  /** What was answered with a number is there under that number, and nobody else was given it. */
  async #findNumbers(taken: { act: Act; answer: Answer }[]): Promise<void> {
    const told: string[] = [];
    for (const { act, answer } of taken) {
      if (act.isForm) continue;
      const said = JSON.parse(answer.text) as {
        event?: { number: number };
        numbers?: number[];
        number?: number;
        entry?: number;
      };
      const code = act.path.split('/')[2];
      if (said.event) told.push(`bucket ${code} ${said.event.number}`);
      for (const number of said.numbers ?? []) told.push(`piece ${number}`);
      if (act.kind === 'entry') told.push(`entry ${said.number}`);
      if (act.kind === 'payment') told.push(`payment ${said.entry} ${act.body.amountMinor}`);
    }
    if (new Set(told).size !== told.length) this.#fault('two acts were given the same number');
    const rows = await this.#sql(
      (sql) => sql`
        select 'bucket ' || code || ' ' || e.number as name from bucket_events e join buckets b on b.id = e.bucket_id
        union all select 'piece ' || number from pieces
        union all select 'entry ' || number from safety_entries
        union all select 'payment ' || number || ' ' || -amount_minor from fee_entries where kind = 'payment'`,
    );
    const there = new Set(rows.map(({ name }) => String(name)));
    const lost = told.filter((name) => !there.has(name));
    if (lost.length > 0) this.#fault(`acknowledged and not there: ${lost.slice(0, 10).join(', ')}`);
  }

  /** Ledgers without gaps, books that balance, and who was told of an entry told once, by mail as in the inbox. */
  async #lookForGaps(): Promise<void> {
    const rows = await this.#sql(
      (sql) => sql`
        select 'bucket_events of ' || bucket_id as what from bucket_events group by bucket_id
          having min(number) <> 1 or max(number) <> count(*)
        union all select 'piece_events of ' || piece_id from piece_events group by piece_id
          having min(number) <> 1 or max(number) <> count(*)
        union all select 'load_events of ' || load_id from load_events group by load_id
          having min(number) <> 1 or max(number) <> count(*)
        union all select 'safety_entries' from safety_entries having max(number) <> count(*)
        union all select 'fee_entries' from fee_entries having max(number) <> count(*)
        union all select 'books' from fee_postings having sum(amount_minor) <> 0
        union all select 'a posting of ' || entry_id from fee_postings group by entry_id having sum(amount_minor) <> 0
        union all select 'told twice of ' || href from messages where kind = 'safety-entry'
          group by person_id, href having count(*) > 1
        union all select 'mail about ' || m.href from messages m where m.kind = 'safety-entry'
          and m.at > (select min(made_at) from mails)
          and (select count(*) from mails where mails.person_id = m.person_id and mails.body like '%' || m.href || E'\\n%'
            or mails.person_id = m.person_id and mails.body like '%' || m.href) <> 1
        union all select 'nobody told of entry ' || number from safety_entries e
          where kind = ${TELLING} and recorded_at > (select min(made_at) from mails)
          and not exists (select from messages where kind = 'safety-entry' and href like '%/' || e.number)`,
    );
    for (const { what } of rows) this.#fault(`wrong: ${what}`);
  }

  /** Sent once more, an act answers as it did and does nothing. */
  async #sameAgain(): Promise<void> {
    const before = await this.#counts();
    for (const [key, { act, answer }] of [...this.#answers].slice(-60)) {
      if (answer.status >= 400) continue;
      const again = await this.#ask(act, key);
      // Kept as jsonb, which has an order of its own.
      const isSame = act.isForm
        ? again?.text === answer.text
        : again !== null && isDeepStrictEqual(JSON.parse(again.text), JSON.parse(answer.text));
      if (again?.status !== answer.status || !isSame)
        this.#fault(`${act.kind} answers otherwise when it is sent again: ${again?.text.slice(0, 200)}`);
    }
    const after = await this.#counts();
    if (JSON.stringify(after) !== JSON.stringify(before)) this.#fault('acts sent again were done again');
  }
}
