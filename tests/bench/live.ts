/**
 * What a thousand open screens cost one process, and how soon all of them are told: `npm run bench:live`, or with
 * `-- --streams=100`. It has its own database server and leaves nothing behind.
 */
import { once } from 'node:events';
import { get, type IncomingMessage } from 'node:http';
import { setTimeout as sleep } from 'node:timers/promises';
import { type Stops, startWatched } from './children.ts';
import { settleMembers } from './mix.ts';
import { measuredOn, run, say } from './running.ts';
import { fillStudio, startServer } from './studio.ts';

const STREAMS = Number(/--streams=(\d+)/.exec(process.argv.join(' '))?.[1] ?? 1000);
const A_PERSON = 20;
const ROUNDS = 10;
/** Longer than looks for changes lie apart, so that each round begins with an idle process. */
const BETWEEN = 2_500;

/** One open screen: counts what it is told. */
async function open(stops: Stops, port: number, cookie: string, told: () => void): Promise<void> {
  const request = get({ port, path: '/live?watch=wall', agent: false, headers: { cookie } });
  request.on('error', () => {});
  const [answer] = (await once(request, 'response')) as [IncomingMessage];
  if (answer.statusCode !== 200) throw new Error(`A stream was answered ${answer.statusCode}.`);
  stops.push(async () => void request.destroy());
  answer.on('error', () => {});
  answer.setEncoding('utf8');
  answer.on('data', (words: string) => {
    if (words.includes('event: changed-wall')) told();
  });
}

async function bench(stops: Stops): Promise<void> {
  const studio = await fillStudio(await startServer(stops), { streams: 20, length: 50 });
  const service = await startWatched(stops, studio.appUrl, studio.ownerUrl);
  const members = await settleMembers(studio, Math.ceil(STREAMS / A_PERSON));
  const at = `http://127.0.0.1:${service.port}`;
  for (let i = 0; i < 50; i++)
    await (await fetch(`${at}/wall`, { headers: { cookie: members[0]?.cookie ?? '' } })).text();
  const before = await service.memory();

  let count = 0;
  let all = () => {};
  const told = () => {
    count++;
    if (count === STREAMS) all();
  };
  const opening = performance.now();
  for (let i = 0; i < STREAMS; i += A_PERSON)
    await Promise.all(
      Array.from({ length: Math.min(A_PERSON, STREAMS - i) }, () =>
        open(stops, service.port, members[i / A_PERSON]?.cookie ?? '', told),
      ),
    );
  const opened = performance.now() - opening;
  await sleep(BETWEEN);
  const after = await service.memory();

  const times: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    count = 0;
    const everybody = new Promise<void>((resolve) => {
      all = resolve;
    });
    const since = performance.now();
    const answer = await fetch(`${at}/api/v1/buckets/${studio.codes[0]}/stirs`, {
      method: 'POST',
      headers: { authorization: `Bearer ${studio.token}`, 'content-type': 'application/json' },
      body: '{}',
    });
    if (!answer.ok) throw new Error(`A stir was answered ${answer.status}.`);
    await everybody;
    times.push(performance.now() - since);
    await sleep(BETWEEN);
  }
  times.sort((a, b) => a - b);
  const MB = 1024 * 1024;
  say(`
${measuredOn()}
${STREAMS} screens of the wall at one process, each of them told of a stir

| | |
| --- | --- |
| memory of the process before, MB | ${(before.rss / MB).toFixed(0)} (heap ${(before.heapUsed / MB).toFixed(0)}) |
| with all of them open, MB; aim 300 | ${(after.rss / MB).toFixed(0)} (heap ${(after.heapUsed / MB).toFixed(0)}) |
| a screen, KB | ${((after.rss - before.rss) / 1024 / STREAMS).toFixed(0)} (heap ${((after.heapUsed - before.heapUsed) / 1024 / STREAMS).toFixed(1)}) |
| all opened within, s | ${(opened / 1000).toFixed(1)} |
| from sending a stir until all were told, ms | ${times[times.length >> 1]?.toFixed(0)} median, ${times.at(-1)?.toFixed(0)} longest of ${ROUNDS} |`);
}

await run(bench);
