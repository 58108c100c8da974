import { once } from 'node:events';
import { connect } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { examineLedgers } from '../../server/buckets/service/index.ts';
import { freePort } from '../bench/children.ts';
import { type Doorkeeper, startProxy } from '../helpers/proxy.ts';
import { aStudio } from '../helpers/studio.ts';
import { type Service, startProcess } from './service.ts';
import { client, type Door, eventsOf, keepBusy, numberOf, stir } from './traffic.ts';

const running: Service[] = [];
let proxy: Doorkeeper | null = null;
afterEach(async () => {
  await proxy?.close();
  proxy = null;
  for (const { process } of running.splice(0)) process.kill('SIGKILL');
});

type Studio = Awaited<ReturnType<typeof aStudio>>;

async function aProcess(s: Studio, env: Record<string, string> = {}, more: string[] = []): Promise<Service> {
  const { databaseUrl } = s.services.config;
  const service = await startProcess(
    {
      DATABASE_URL: databaseUrl as string,
      DATABASE_OWNER_URL: s.ownerUrl,
      PORT: '0',
      API_RATE_LIMIT: '0',
      ...env,
    },
    more,
  );
  running.push(service);
  return service;
}

const portOf = ({ address }: Service): number => Number(new URL(address).port);
const end = async (service: Service): Promise<number | null> => {
  service.process.kill('SIGTERM');
  return (await service.ended).code;
};

describe('two processes behind a proxy, replaced one by one while people work', () => {
  it('no request is lost and every write is there once', { timeout: 300_000 }, async () => {
    const s = await aStudio();
    const codes = await Promise.all([
      s.aBucket({ sg: 1.46 }),
      s.aBucket({ sg: 1.47 }),
      s.aBucket({ sg: 1.45 }),
    ]);
    const people = [s.people.member, s.people.technician, await s.aPerson('member')];
    const processes = await Promise.all([aProcess(s, { STOP_DELAY: '1' }), aProcess(s, { STOP_DELAY: '1' })]);
    const ports = processes.map(portOf);
    proxy = await startProxy(ports);
    const door: Door = { port: proxy.port };
    const busy = keepBusy(door, { people, clients: 6, codes, pauseMs: 30 });
    await sleep(500);
    for (const [i, port] of ports.entries()) {
      const begun = processes[i] as Service;
      expect(await end(begun), begun.output()).toBe(0);
      processes[i] = await aProcess(s, { STOP_DELAY: '1', PORT: String(port) });
      await sleep(500);
    }
    const { answered, lost, stirs } = await busy.stop();
    expect(lost).toEqual([]);
    expect(answered).toBeGreaterThan(200);

    const { send, close } = client(door);
    for (const [code, acknowledged] of stirs) {
      expect(acknowledged.length).toBeGreaterThan(5);
      const events = await eventsOf(door, code, s.people.member.token);
      expect(events.map(({ number }) => number)).toEqual(events.map((_, i) => i + 1));
      // The first two came with the bucket: it was set up and read, with a stir.
      const stirred = events.filter(({ kind }) => kind === 'stir').map(({ number }) => number);
      const numbers = acknowledged.map(({ number }) => number).sort((a, b) => a - b);
      expect(stirred.slice(-numbers.length)).toEqual(numbers);
      expect(stirred.length - numbers.length).toBe(1);
    }
    // What a client sends again because it never saw the answer is answered as it was, by whichever process.
    const [code = '', [first] = []] = [...stirs][0] ?? [];
    for (const person of people) {
      const { status, text } = await send(stir(code, person.token, first?.key ?? ''));
      expect(status).toBe(201);
      if (person === people[0]) expect(numberOf(text)).toBe(first?.number);
    }
    close();
    expect((await s.database.transaction(examineLedgers)).faults).toEqual([]);
  });
});

/** A connection that a test writes to byte by byte. */
async function anOpening(port: number) {
  const socket = connect(port, '127.0.0.1');
  await once(socket, 'connect');
  let received = '';
  socket.setEncoding('utf8').on('data', (chunk) => {
    received += chunk;
  });
  socket.on('error', () => {});
  return {
    write: (text: string) => socket.write(text),
    received: () => received,
    closed: once(socket, 'close'),
  };
}

describe('a process that is told to stop', { timeout: 90_000 }, () => {
  it('takes what is on its way in, ends open screens, and ends although somebody is connected and silent', async () => {
    const s = await aStudio();
    const code = await s.aBucket({ sg: 1.46 });
    const service = await aProcess(s);
    const slow = await anOpening(portOf(service));
    const silent = await anOpening(portOf(service));
    const { headers } = stir(code, s.people.member.token, 'a-slow-request');
    const head = Object.entries({ host: 'localhost', 'content-length': '2', ...headers });
    slow.write(`POST /api/v1/buckets/${code}/stirs HTTP/1.1\r\n`);
    slow.write(`${head.map(([name, value]) => `${name}: ${value}\r\n`).join('')}\r\n{`);
    silent.write('GET /wall HTTP/1.1\r\n');
    const screen = await anOpening(portOf(service));
    screen.write(
      `GET /live?watch=wall HTTP/1.1\r\nHost: localhost\r\nCookie: ${s.people.member.cookie}\r\n\r\n`,
    );
    while (!screen.received().includes('text/event-stream')) await sleep(50);
    await sleep(300);
    service.process.kill('SIGTERM');
    await sleep(700);
    slow.write('}');
    await slow.closed;
    expect(slow.received()).toMatch(/^HTTP\/1\.1 201 /);
    expect(slow.received()).toMatch(/\r\nconnection: close\r\n/i);
    await screen.closed;
    // Ended, not cut off: the last chunk is there.
    expect(screen.received()).toMatch(/\r\n0\r\n\r\n$/);
    expect((await service.ended).code, service.output()).toBe(0);
    const events = await s.api(s.people.member, 'GET', `/buckets/${code}/events`);
    expect(events.json().events[0].kind).toBe('stir');
  });

  it('goes on when something fails that nobody waits for, and says so', async () => {
    const s = await aStudio();
    const mistake = `process.on('SIGUSR2', () => void Promise.reject(new Error('nobody waits for this')))`;
    const more = ['--import', `data:text/javascript,${encodeURIComponent(mistake)}`];
    const metrics = String(await freePort());
    const service = await aProcess(s, { METRICS_PORT: metrics }, more);
    service.process.kill('SIGUSR2');
    for (let i = 0; i < 100 && !service.output().includes('nobody waits for this'); i++) await sleep(50);
    const line = service
      .output()
      .split('\n')
      .find((one) => one.includes('nobody waits for this'));
    expect(JSON.parse(line ?? '{}')).toMatchObject({
      level: 50,
      err: { message: 'nobody waits for this' },
      msg: 'failed, and nobody was waiting for it',
    });
    const { send, close } = client({ port: portOf(service) });
    const wall = await send({ method: 'GET', path: '/wall', headers: { cookie: s.people.member.cookie } });
    expect(wall.status).toBe(200);
    close();
    const measured = await (await fetch(`http://127.0.0.1:${metrics}/metrics`)).text();
    expect(measured).toMatch(/^wareboard_unseen_failures_total 1$/m);
    expect(await end(service)).toBe(0);
  });
});
