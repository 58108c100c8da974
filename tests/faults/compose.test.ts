import { execFile, spawnSync } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { freePort } from '../bench/children.ts';
import { client, type Door, eventsOf, keepBusy, type Sent } from './traffic.ts';

/** Compose as it is installed here: the plugin, or the classic one. */
const COMPOSE = [['docker', 'compose'], ['docker-compose']].find(
  ([program = '', ...args]) => spawnSync(program, [...args, 'version']).status === 0,
);
const IMAGES = ['node:24-bookworm-slim', 'postgres:17-bookworm', 'caddy:2'];
const haveImages = () =>
  spawnSync('docker', ['image', 'inspect', ...IMAGES], { stdio: 'ignore' }).status === 0;
/** It builds images and takes minutes, so it runs where it is asked for. */
const isAsked = process.env.TEST_COMPOSE === '1';
const runs = isAsked && COMPOSE !== undefined && haveImages();
if (isAsked && !runs) process.stdout.write('not run: no container engine with Compose and the images\n');

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const MANAGER = { name: 'Maro', email: 'maro@millrace.example', password: 'nine lids and a gate' };
const KEPT = '/var/backups/wareboard/by-hand.backup';
const PATIENCE = 600_000;

describe.skipIf(!runs)('a studio in containers', { timeout: PATIENCE }, () => {
  const project = `wareboard-test-${process.pid}`;
  let env: NodeJS.ProcessEnv;
  let door: Door;
  let token = '';
  let cookie = '';

  const compose = (...args: string[]) =>
    new Promise<string>((resolve, reject) => {
      const [program = '', ...first] = COMPOSE ?? [];
      execFile(
        program,
        [...first, '-p', project, ...args],
        { env, cwd: ROOT, maxBuffer: 2 ** 26 },
        (error, stdout, stderr) =>
          error ? reject(new Error(`${args.join(' ')}: ${stdout}\n${stderr.slice(-4000)}`)) : resolve(stdout),
      );
    });
  /** As a line that people type, with files in and out. */
  const shell = (line: string) => {
    const { status, stderr } = spawnSync('sh', ['-c', `${COMPOSE?.join(' ')} -p ${project} ${line}`], {
      ...{ env, cwd: ROOT, encoding: 'utf8' },
    });
    expect(status, stderr).toBe(0);
  };
  const inApp = (...args: string[]) => compose('exec', '-T', 'app1', ...args);

  async function send(sent: Sent): Promise<{ status: number; text: string; setCookie: string }> {
    const { send: once, close } = client(door);
    const answer = await once(sent).finally(close);
    return { ...answer, setCookie: answer.headers['set-cookie']?.[0]?.split(';')[0] ?? '' };
  }
  const api = async (method: 'GET' | 'POST', path: string, body?: object) => {
    const { status, text } = await send({
      method,
      path: `/api/v1${path}`,
      headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      ...(body && { body: JSON.stringify(body) }),
    });
    expect(status, `${path}: ${text}`).toBeLessThan(300);
    return JSON.parse(text);
  };
  async function untilAnswers(path: string, status: number): Promise<void> {
    for (const until = Date.now() + 120_000; ; await sleep(500)) {
      const answer = await send({ method: 'GET', path, headers: {} }).catch(() => null);
      if (answer?.status === status) return;
      if (Date.now() > until) throw new Error(`${path} answers ${answer?.status}, ${answer?.text}`);
    }
  }
  const isHealthy = async (service: string) => {
    const id = (await compose('ps', '-q', service)).trim();
    const { stdout } = spawnSync('docker', ['inspect', '--format', '{{.State.Health.Status}}', id], {
      encoding: 'utf8',
    });
    return stdout.trim() === 'healthy';
  };
  /** Every number that the studio's people see of this. */
  const figures = async () => ({
    buckets: (await api('GET', '/buckets')).buckets.map(facts),
    events: await eventsOf(door, 'HG', token),
    pieces: await api('GET', '/pieces'),
    doctor: await inApp('npm', 'run', '--silent', 'doctor'),
  });

  beforeAll(async () => {
    const [http, port] = [await freePort(), await freePort()];
    env = {
      ...process.env,
      HTTP_PORT: String(http),
      HTTPS_PORT: String(port),
      SUBNET: `10.238.${100 + (process.pid % 100)}.0/24`,
    };
    door = { port, host: 'localhost', insecure: true };
  });
  afterAll(async () => {
    if (runs) await compose('down', '-v', '--remove-orphans');
  }, PATIENCE);

  it('comes up on an empty host with the page that sets it up', async () => {
    await compose('up', '-d', '--build');
    await untilAnswers('/setup', 200);
    const keys = await Promise.all(
      ['app1', 'app2'].map(async (one) => /type this key: (\S+)/.exec(await compose('logs', one))?.[1]),
    );
    expect(keys[0]).toMatch(/^[0-9a-f]{48}$/);
    expect(keys[1]).toBe(keys[0]);
    const { name, email, password } = MANAGER;
    const form = { setupKey: keys[0] ?? '', studio: 'Millrace Clay Commons', timeZone: 'Europe/London' };
    const done = await send({
      method: 'POST',
      path: '/setup',
      headers: { origin: 'https://localhost', 'content-type': 'application/x-www-form-urlencoded' },
      body: new URLSearchParams({
        ...form,
        currency: 'GBP',
        units: 'metric',
        name,
        email,
        password,
      }).toString(),
    });
    expect(done.status, done.text).toBe(303);
    cookie = done.setCookie;
    expect(cookie).toMatch(/^__Host-/);
    token = (await inApp('npm', 'run', '--silent', 'token', '--', email)).trim().split('\n').at(-1) ?? '';
    expect(token).toMatch(/^\S{20,}$/);
  });

  it('no secret stands in the environment, nothing of the app can be written, nobody is root', async () => {
    const id = (await compose('ps', '-q', 'app1')).trim();
    const { stdout } = spawnSync('docker', ['inspect', '--format', '{{json .Config.Env}}', id], {
      encoding: 'utf8',
    });
    const password = (await inApp('cat', '/run/wareboard/database_url')).split(':')[2]?.split('@')[0];
    expect(password).toMatch(/^[0-9a-f]{48}$/);
    expect(stdout).not.toContain(password);
    expect((await inApp('id', '-u')).trim()).toBe('1000');
    await expect(inApp('touch', '/srv/wareboard/server/x')).rejects.toThrow('Read-only');
    await expect(inApp('cat', '/run/wareboard/postgres_password')).rejects.toThrow('denied');
  });

  it('what is behind the proxy has the address of whoever asks, not of the proxy', async () => {
    for (let i = 0; i < 2; i++)
      await send({
        method: 'POST',
        path: '/sign-in',
        headers: {
          origin: 'https://localhost',
          'content-type': 'application/x-www-form-urlencoded',
          'x-forwarded-for': '203.0.113.7',
        },
        body: new URLSearchParams({ email: MANAGER.email, password: 'a wrong one' }).toString(),
      });
    const asked = 'select distinct address from sign_in_failures';
    const found = await compose(
      'exec',
      '-T',
      'postgres',
      'psql',
      '-U',
      'postgres',
      '-Atc',
      asked,
      'wareboard',
    );
    expect(found.trim()).toMatch(/^[0-9a-f.:]+$/);
    expect(found).not.toContain('203.0.113.7');
  });

  it('a release is rolled out while people work, and no request is lost', async () => {
    await api('POST', '/buckets', {
      ...{ code: 'HG', name: 'Harbour Grey', capacityLitres: 25, solidsDensity: 2.6 },
      target: { low: 1.44, aim: 1.46, high: 1.48 },
    });
    await api('POST', '/buckets/HG/setup', { litres: 18, specificGravity: 1.46 });
    await api('POST', '/buckets/HG/readings', {
      method: 'weighed',
      grams: 146,
      millilitres: 100,
      stirred: true,
    });
    await api('POST', '/pieces', {
      ...{
        form: 'bowl',
        howMany: 6,
        begins: 'drying',
        ownClay: 'From the river',
        kind: 'bisque',
        cone: '03',
      },
    });
    const before = await eventsOf(door, 'HG', token);
    const people = [{ token, cookie }];
    const busy = keepBusy(door, { people, clients: 6, codes: ['HG'], pauseMs: 20 });
    for (const service of ['app1', 'app2']) {
      await compose('up', '-d', '--no-deps', '--force-recreate', service);
      for (const until = Date.now() + 120_000; !(await isHealthy(service)); await sleep(500))
        if (Date.now() > until) throw new Error(`${service} does not get healthy`);
    }
    const { lost, answered, stirs } = await busy.stop();
    expect(lost).toEqual([]);
    expect(answered).toBeGreaterThan(100);
    const acknowledged = (stirs.get('HG') ?? []).map(({ number }) => number).sort((a, b) => a - b);
    const numbers = (await eventsOf(door, 'HG', token)).map(({ number }) => number);
    expect(numbers).toEqual(numbers.map((_, i) => i + 1));
    expect(acknowledged).toEqual(numbers.slice(before.length));
  });

  it('is backed up, broken and restored, and every number is as it was', async () => {
    const before = await figures();
    expect(before.events.length).toBeGreaterThan(20);
    expect(before.pieces.pieces).toHaveLength(6);
    expect(before.doctor).toContain('No faults.');
    await inApp('npm', 'run', '--silent', 'backup', '--', KEPT);
    const folder = await mkdtemp(join(tmpdir(), 'wareboard-away-'));
    const away = join(folder, 'away.backup');
    try {
      shell(`exec -T app1 cat ${KEPT} > ${away}`);
      // All that the studio has is gone: the database, and the backups beside it.
      await compose('stop', 'app1', 'app2', 'postgres');
      await compose('rm', '-f', 'app1', 'app2', 'postgres');
      for (const volume of ['database', 'backups'])
        expect(spawnSync('docker', ['volume', 'rm', `${project}_${volume}`]).status).toBe(0);
      await untilAnswers('/wall', 503);

      await compose('up', '-d', 'postgres');
      shell(`run --rm -T app1 sh -c 'cat > ${KEPT}' < ${away}`);
    } finally {
      await rm(folder, { recursive: true });
    }
    const said = await compose('run', '--rm', '-T', 'app1', 'npm', 'run', '--silent', 'restore', '--', KEPT);
    expect(said).toMatch(/[\d,]+ rows of \d+ tables, as they were on .* UTC, are restored\./);
    await compose('up', '-d');
    await untilAnswers('/sign-in', 200);
    expect(await figures()).toEqual(before);
    const page = await send({ method: 'GET', path: '/buckets/HG', headers: { cookie } });
    expect(page.status).toBe(200);
    expect(page.text).toContain('Harbour Grey');
  });
});

/** Of a bucket what does not depend on the time of day. */
const facts = ({
  code,
  litres,
  specificGravity,
  solidsKg,
  waterKg,
  lastStirredAt,
}: Record<string, unknown>) => ({
  ...{ code, litres, specificGravity, solidsKg, waterKg, lastStirredAt },
});
