/**
 * What a thousand open screens cost one process, and how soon all of them are told: `npm run bench:live`, or with
 * `-- --streams=100`. It has its own database server and leaves nothing behind.
 */
import { once } from 'node:events';
import { get, type IncomingMessage } from 'node:http';
import { cpus } from 'node:os';
import { setTimeout as sleep } from 'node:timers/promises';
import { systemClock } from '../../server/core/clock.ts';
import { connect } from '../../server/core/database.ts';
import { createSessions } from '../../server/core/session.ts';
import { createPerson } from '../../server/members/service/people.ts';
import { type Stops, startWatched } from './children.ts';
import { fillStudio, type Studio, startServer } from './studio.ts';

const STREAMS = Number(/--streams=(\d+)/.exec(process.argv.join(' '))?.[1] ?? 1000);
const A_PERSON = 20;
const ROUNDS = 10;
/** Longer than looks for changes lie apart, so that each round begins with an idle process. */
const BETWEEN = 2_500;

const say = (line: string) => process.stdout.write(`${line}\n`);
const stops: Stops = [];
async function stopAll(): Promise<void> {
  for (let stop = stops.pop(); stop; stop = stops.pop()) await stop().catch((error) => say(String(error)));
}
for (const signal of ['SIGINT', 'SIGTERM'] as const)
  process.once(signal, () => void stopAll().then(() => process.exit(1)));

async function cookiesFor({ appUrl }: Studio, people: number): Promise<string[]> {
  const database = connect(appUrl, { max: 2 });
  const sessions = createSessions(database, systemClock, { secure: false });
  try {
    const cookies: string[] = [];
    for (let i = 0; i < people; i++) {
      const person = { name: `Member ${i}`, email: `member-${i}@millrace.example`, role: 'member' as const };
      const id = await database.transaction((tx) =>
        createPerson(tx, { ...person, passwordHash: 'nobody signs in by password' }, systemClock.now()),
      );
      cookies.push((await sessions.start(id)).split(';')[0] ?? '');
    }
    return cookies;
  } finally {
    await database.close();
  }
}

/** One open screen: counts what it is told. */
async function open(port: number, cookie: string, told: () => void): Promise<void> {
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

async function bench(): Promise<void> {
  const studio = await fillStudio(await startServer(stops), { streams: 20, length: 50 });
  const service = await startWatched(stops, studio.appUrl, studio.ownerUrl);
  const cookies = await cookiesFor(studio, Math.ceil(STREAMS / A_PERSON));
  const at = `http://127.0.0.1:${service.port}`;
  for (let i = 0; i < 50; i++)
    await (await fetch(`${at}/wall`, { headers: { cookie: cookies[0] ?? '' } })).text();
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
        open(service.port, cookies[i / A_PERSON] ?? '', told),
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
  const [cpu] = cpus();
  say(`
${new Date().toISOString().slice(0, 10)}, ${cpus().length} x ${cpu?.model.trim()}, Node ${process.versions.node}
${STREAMS} screens of the wall at one process, each of them told of a stir

| | |
| --- | --- |
| memory of the process before, MB | ${(before.rss / MB).toFixed(0)} (heap ${(before.heapUsed / MB).toFixed(0)}) |
| with all of them open, MB; aim 300 | ${(after.rss / MB).toFixed(0)} (heap ${(after.heapUsed / MB).toFixed(0)}) |
| a screen, KB | ${((after.rss - before.rss) / 1024 / STREAMS).toFixed(0)} (heap ${((after.heapUsed - before.heapUsed) / 1024 / STREAMS).toFixed(1)}) |
| all opened within, s | ${(opened / 1000).toFixed(1)} |
| from sending a stir until all were told, ms | ${times[times.length >> 1]?.toFixed(0)} median, ${times.at(-1)?.toFixed(0)} longest of ${ROUNDS} |`);
}

await bench()
  .catch((error) => {
    say(String(error?.stack ?? error));
    process.exitCode = 1;
  })
  .finally(stopAll);
