/**
 * A studio at its busiest: 200 members, of whose requests 70 % look and 30 % write: `npm run bench:load`, or with
 * `-- --quick` for a smoke run. First as they come, then as many as go; then whether memory stays as it is.
 */
import { setTimeout as sleep } from 'node:timers/promises';
import postgres from 'postgres';
import { type Stops, startFloor, startWatched } from './children.ts';
import { fire, sizeOf, type Target } from './load.ts';
import { floorMix, mix, settleMembers } from './mix.ts';
import { ms, percentile, table, times, whole } from './numbers.ts';
import { page, post } from './page-and-post.ts';
import { used, usedByPostgres } from './processor.ts';
import { measuredOn, run, say } from './running.ts';
import { fillStudio, startServer } from './studio.ts';

const MEMBERS = 200;
/** Each sends one every two seconds: 100 a second of all. */
const EVERY_MS = 2000;
const quick = process.argv.includes('--quick');
const PLAN = quick
  ? { forMs: 6_000, warmMs: 3_000, requests: 4_000, idleMs: 5_000 }
  : { forMs: 60_000, warmMs: 10_000, requests: 200_000, idleMs: 60_000 };

async function bench(stops: Stops): Promise<void> {
  const server = await startServer(stops);
  const studio = await fillStudio(server, { streams: 30, length: 50 });
  const members = await settleMembers(studio, MEMBERS);
  const service = await startWatched(stops, studio.appUrl, studio.ownerUrl);
  const one = { studio, port: service.port };
  const bytes = { page: await sizeOf(page(one)), answer: await sizeOf(post(one)) };
  const floor = floorMix(await startFloor(stops, studio.appUrl, bytes));
  const ours = mix({ studio, members, port: service.port });
  say(`${MEMBERS} members, ${studio.codes.length} buckets; warming up`);
  for (const target of [ours, floor]) await fire(target, { clients: MEMBERS, forMs: PLAN.warmMs });

  const measured = async (target: Target, everyMs?: number) => {
    const took = await fire(target, {
      clients: MEMBERS,
      forMs: PLAN.forMs,
      ...(everyMs !== undefined && { everyMs }),
    });
    return { rate: (took.length / PLAN.forMs) * 1000, p50: percentile(took, 50), p99: percentile(took, 99) };
  };
  const rows: string[][] = [];
  for (const [words, everyMs] of [
    ['one each every 2 s', EVERY_MS],
    ['one after another', undefined],
  ] as const) {
    const [a, b] = [await measured(ours, everyMs), await measured(floor, everyMs)];
    rows.push([
      words,
      ...[a, b].flatMap(({ rate, p50, p99 }) => [whole(rate), ms(p50), ms(p99)]),
      times(a.p99 / b.p99),
      times(a.rate / b.rate),
    ]);
    say(`${words}: done, no request refused`);
  }

  const before = await service.memory();
  const began = { app: used(service.pid), postgres: usedByPostgres() };
  await fire(ours, { clients: MEMBERS, requests: PLAN.requests });
  const cost = { app: used(service.pid) - began.app, postgres: usedByPostgres() - began.postgres };
  const after = await service.memory();
  await sleep(2_000);
  const rested = { app: used(service.pid), postgres: usedByPostgres() };
  await sleep(PLAN.idleMs);
  const idle = (name: 'app' | 'postgres', now: number) => ms(((now - rested[name]) / PLAN.idleMs) * 1000);
  const idling = [idle('app', used(service.pid)), idle('postgres', usedByPostgres())];
  const held = await holdings(server.template.ownerUrl, studio.appUrl);

  const mib = (n: number) => (n / 2 ** 20).toFixed(1);
  say(`
${measuredOn({ quick })}
Client, service and database share these cores. No request was refused or failed.

${table(
  ['200 members', 'ours /s', 'p50 ms', 'p99', 'floor /s', 'p50 ms', 'p99', 'p99 ratio', 'rate ratio'],
  rows,
)}

${whole(PLAN.requests)} requests: heap ${mib(before.heapUsed)} MiB before, ${mib(after.heapUsed)} after, both collected; process ${mib(before.rss)} and ${mib(after.rss)} MiB.
A request took ${ms(cost.app / PLAN.requests)} ms of processor in the service and ${ms(cost.postgres / PLAN.requests)} in Postgres.
With nobody there the service takes ${idling[0]} ms of processor a second and Postgres ${idling[1]}.
A process holds ${held.connections} connections; an empty studio's database takes ${mib(held.bytes)} MiB in ${whole(held.relations)} tables and indexes.
`);
}

/** What a studio takes of a Postgres without doing anything. */
async function holdings(emptyUrl: string, busyUrl: string) {
  const sql = postgres(emptyUrl, { max: 1, onnotice: () => {} });
  try {
    const [found] = await sql<{ bytes: number; relations: number; connections: number }[]>`
      select pg_database_size(current_database())::float as bytes,
        (select count(*)::int from pg_class where relkind in ('r', 'i', 't')) as relations,
        (select count(*)::int from pg_stat_activity where datname = ${new URL(busyUrl).pathname.slice(1)}
          and application_name like 'wareboard%') as connections`;
    if (!found) throw new Error('no answer');
    return found;
  } finally {
    await sql.end();
  }
}

await run(bench);
