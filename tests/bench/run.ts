/**
 * How fast the hot paths are, as ratios to what the parts can do: `npm run bench`, or with `-- --quick` for a
 * smoke run. It has its own database server and leaves nothing behind.
 */
import { type Stops, startFloor, startService } from './children.ts';
import { sizeOf } from './load.ts';
import { whole } from './numbers.ts';
import { floorTable, measurePageAndPost, type Ours, page, post, sizeTable } from './page-and-post.ts';
import { readingRates } from './reading-rate.ts';
import { measuredOn, run, say } from './running.ts';
import { fillStudio, startServer } from './studio.ts';

const quick = process.argv.includes('--quick');
const PLAN = quick
  ? {
      sizes: [20, 200].map((streams) => ({ streams, length: 50 })),
      rounds: 2,
      forMs: 200,
      seconds: 1,
      rates: 1,
    }
  : {
      sizes: [
        { streams: 20, length: 50 },
        { streams: 200, length: 500 },
        { streams: 2000, length: 500 },
      ],
      rounds: 12,
      forMs: 500,
      seconds: 3,
      rates: 4,
    };

const begun = performance.now();
const progress = (line: string) =>
  say(`  ${((performance.now() - begun) / 1000).toFixed(0).padStart(3)} s  ${line}`);

async function bench(stops: Stops): Promise<void> {
  const server = await startServer(stops);
  progress('Postgres runs, fsync on');
  const all: Ours[] = [];
  for (const size of PLAN.sizes) {
    const studio = await fillStudio(server, size);
    all.push({ studio, port: await startService(stops, studio.appUrl, studio.ownerUrl) });
    progress(`${whole(studio.events)} events in ${whole(size.streams)} buckets`);
  }
  const [smallest] = all as [Ours];
  const bytes = { page: await sizeOf(page(smallest)), answer: await sizeOf(post(smallest)) };
  const floor = await startFloor(stops, smallest.studio.appUrl, bytes);
  const measured = await measurePageAndPost(all, floor, { ...PLAN, say: progress });
  progress('readings a second');
  const rates = await readingRates(all[1] as Ours, {
    rounds: PLAN.rates,
    seconds: PLAN.seconds,
    folder: server.folder,
    say: progress,
  });

  say(`
${measuredOn({ quick })}
Client, service and database share these cores. Ratios are medians over ${PLAN.rounds} interleaved rounds.

(a) Against the floor: bare Fastify, one select by primary key, as many bytes (${whole(bytes.page)} page, ${whole(bytes.answer)} answer). Aim 2.0x.

${floorTable(measured)}

(b) Readings a second through the API, against the same statements. Aim 0.7x.

${rates}

(c) By number of events in the ledger. Aim 1.25x.

${sizeTable(
  measured,
  all.map(({ studio }) => studio.events),
)}
`);
}

await run(bench);
