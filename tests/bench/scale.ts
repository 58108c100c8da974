/**
 * One, two and four processes on one Postgres behind a proxy: `npm run bench:scale`, or with `-- --quick`. Rounds are
 * interleaved, so that whatever else the machine does falls on all of them.
 */
import { type Stops, startProxyProcess, startWatched, type Watched } from './children.ts';
import { fire } from './load.ts';
import { mix, settleMembers } from './mix.ts';
import { median, ms, table, times, whole } from './numbers.ts';
import { used, usedByPostgres } from './processor.ts';
import { measuredOn, run, say } from './running.ts';
import { fillStudio, startServer } from './studio.ts';

const CLIENTS = 32;
const SIZES = [1, 2, 4];
const quick = process.argv.includes('--quick');
const PLAN = quick ? { rounds: 1, forMs: 2_000 } : { rounds: 6, forMs: 5_000 };

interface Round {
  rate: number;
  /** Milliseconds of processor a request, of each kind of process. */
  cost: { service: number; postgres: number; proxy: number; client: number };
}

async function bench(stops: Stops): Promise<void> {
  const server = await startServer(stops);
  const studio = await fillStudio(server, { streams: 30, length: 50 });
  const members = await settleMembers(studio, CLIENTS);
  const services: Watched[] = [];
  while (services.length < Math.max(...SIZES))
    services.push(await startWatched(stops, studio.appUrl, studio.ownerUrl));
  const proxies = [];
  for (const size of SIZES)
    proxies.push(
      await startProxyProcess(
        stops,
        services.slice(0, size).map(({ port }) => port),
      ),
    );
  const now = (proxy: { pid: number }) => ({
    service: services.reduce((sum, { pid }) => sum + used(pid), 0),
    postgres: usedByPostgres(),
    proxy: used(proxy.pid),
    client: process.cpuUsage().user / 1000 + process.cpuUsage().system / 1000,
  });
  const rows: string[][] = [];
  for (const onlyReads of [true, false]) {
    const rounds: Round[][] = SIZES.map(() => []);
    for (let round = 0; round <= PLAN.rounds; round++)
      for (const [i, proxy] of proxies.entries()) {
        const before = now(proxy);
        const took = await fire(mix({ studio, members, port: proxy.port }, { onlyReads }), {
          clients: CLIENTS,
          forMs: PLAN.forMs,
        });
        const after = now(proxy);
        const each = (name: keyof Round['cost']) => (after[name] - before[name]) / took.length;
        // The first only warms up.
        if (round > 0)
          rounds[i]?.push({
            rate: (took.length / PLAN.forMs) * 1000,
            cost: {
              ...{ service: each('service'), postgres: each('postgres') },
              ...{ proxy: each('proxy'), client: each('client') },
            },
          });
      }
    const rateOf = (i: number) => median((rounds[i] ?? []).map(({ rate }) => rate));
    for (const [i, size] of SIZES.entries()) {
      const cost = (name: keyof Round['cost']) => ms(median((rounds[i] ?? []).map((one) => one.cost[name])));
      rows.push([
        `${onlyReads ? 'reads' : '70 % reads, 30 % writes'}, ${size} process${size > 1 ? 'es' : ''}`,
        whole(rateOf(i)),
        times(rateOf(i) / rateOf(0)),
        ...(['service', 'postgres', 'proxy', 'client'] as const).map(cost),
      ]);
    }
    say(onlyReads ? 'reads: done' : 'reads and writes: done');
  }
  say(`
${measuredOn({ quick })}
Client, proxy, services and database share these cores. Processor in ms a request.

${table(['', 'requests /s', 'against one', 'services', 'Postgres', 'proxy', 'client'], rows)}
`);
}

await run(bench);
