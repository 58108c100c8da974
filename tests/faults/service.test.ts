import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { descendants, survivors } from './processes.ts';
import { runScript, type Service, startService } from './service.ts';

let dataDir: string;
beforeEach(async () => {
  dataDir = await mkdtemp(join(tmpdir(), 'wareboard-service-'));
  // For root, Postgres runs as another account: in a closed folder it would leave its cluster elsewhere.
  await chmod(dataDir, 0o755);
});
afterEach(() => rm(dataDir, { recursive: true, force: true }));

const pidOf = (service: Service, pick: (name: string) => boolean) => {
  const found = descendants(service.process.pid as number).find((one) => pick(one.name));
  if (!found) throw new Error('no such process');
  return found.pid;
};
const isNode = (name: string) => /^(node|MainThread)$/.test(name);

async function tokenOf(email: string): Promise<string> {
  const command = runScript(['run', '--silent', 'token', '--', email], { DATA_DIR: dataDir });
  expect((await command.ended).code, command.output()).toBe(0);
  return command.output().trim().split('\n').at(-1) as string;
}

/** Starting a demo makes a cluster and fills it: half a minute on a busy machine. */
const PATIENCE = { timeout: 120_000 };

describe('the service as people start it', PATIENCE, () => {
  it('the demo starts, gives a token beside the running server, and stops without a trace', {
    timeout: 180_000,
  }, async () => {
    const demo = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    for (const email of ['manager', 'technician', 'member'])
      expect(demo.output()).toContain(`${email}@millrace.example`);
    const token = await tokenOf('member@millrace.example');
    const answer = await fetch(`${demo.address}/api/v1/buckets/HG`, {
      headers: { authorization: `Bearer ${token}` },
    });
    expect(await answer.json()).toMatchObject({ name: 'Harbour Grey', state: 'too-thick' });

    const file = join(dataDir, 'kept.backup');
    const backup = runScript(['run', '--silent', 'backup', '--', file], { DATA_DIR: dataDir });
    expect((await backup.ended).code, backup.output()).toBe(0);

    const second = runScript(['run', 'demo'], { DATA_DIR: dataDir, PORT: '0' });
    expect((await second.ended).code).toBe(1);
    expect(second.output()).toMatch(/another Wareboard/i);

    const family = descendants(demo.process.pid as number);
    expect(family.length).toBeGreaterThan(5);
    demo.process.kill('SIGTERM');
    await demo.ended;
    expect(await survivors(family)).toEqual([]);

    const doctor = runScript(['run', '--silent', 'doctor'], { DATA_DIR: dataDir });
    expect((await doctor.ended).code, doctor.output()).toBe(0);
    expect(doctor.output()).toMatch(/\d+ buckets and \d+ events examined, .*\. No faults\./);

    const elsewhere = join(dataDir, 'restored');
    const restore = runScript(['run', '--silent', 'restore', '--', file], { DATA_DIR: elsewhere });
    expect((await restore.ended).code, restore.output()).toBe(0);
    expect(restore.output()).toMatch(/[\d,]+ rows of \d+ tables, as they were on .* UTC, are restored\./);
    const again = runScript(['run', '--silent', 'restore', '--', file], { DATA_DIR: elsewhere });
    expect((await again.ended).code).toBe(1);
    expect(again.output()).toContain('This database is not empty');
    const drill = runScript(['run', '--silent', 'restore', '--', '--drill', file], { DATA_DIR: dataDir });
    expect((await drill.ended).code, drill.output()).toBe(0);
    expect(drill.output()).toContain('could be restored: every row was counted and summed again.');
  });

  it('a studio that is not set up prints its key and lets nobody in without it', async () => {
    const studio = await startService('start', { DATA_DIR: dataDir, PORT: '0' });
    expect(studio.output()).toMatch(/type this key: \S{20,}/);
    const wall = await fetch(`${studio.address}/wall`, { redirect: 'manual' });
    expect(wall.headers.get('location')).toBe('/setup');
    expect((await fetch(`${studio.address}/api/v1/buckets`)).status).toBe(503);
    studio.process.kill('SIGINT');
    await studio.ended;
    const demo = runScript(['run', 'demo'], { DATA_DIR: dataDir, PORT: '0' });
    expect((await demo.ended).code).toBe(1);
    expect(demo.output()).toContain(dataDir);
  });

  it('a port that was asked for and is taken is an error, the default moves on', async () => {
    const inTheWay = createServer().listen(0, '127.0.0.1');
    await new Promise((resolve) => inTheWay.once('listening', resolve));
    const { port } = inTheWay.address() as { port: number };
    const refused = runScript(['start'], { DATA_DIR: dataDir, PORT: String(port) });
    expect((await refused.ended).code).toBe(1);
    expect(refused.output()).toContain('That PORT is taken');
    const measured = runScript(['start'], { DATA_DIR: dataDir, PORT: '0', METRICS_PORT: String(port) });
    expect((await measured.ended).code).toBe(1);
    expect(measured.output()).toContain('That METRICS_PORT is taken');
    inTheWay.close();
    const onDefault = createServer().listen(3000, '127.0.0.1');
    await new Promise((resolve) => onDefault.once('listening', resolve).once('error', resolve));
    const moved = await startService('start', { DATA_DIR: dataDir });
    expect(moved.output()).toContain('Port 3000 is taken');
    expect(new URL(moved.address).port).not.toBe('3000');
    moved.process.kill('SIGTERM');
    await moved.ended;
    onDefault.close();
  });

  it('settings that cannot be are said in a line', async () => {
    for (const [env, words] of [
      [{ PORT: 'http' }, 'PORT must be'],
      [{ WAREBOARD_COLOUR: 'blue' }, 'WAREBOARD_COLOUR'],
      [{ DATABASE_URL: 'mysql://x' }, 'DATABASE_URL must look like'],
      [{ DATABASE_URL: 'postgres://nobody@127.0.0.1:1/none' }, 'does not answer'],
    ] as const) {
      const start = runScript(['start'], { DATA_DIR: dataDir, PORT: '0', ...env });
      expect((await start.ended).code, start.output()).toBe(1);
      expect(start.output()).toContain(words);
    }
  });

  it.each(['npm', 'Node', 'Postgres'])('when %s is killed, nothing of it stays', async (which) => {
    const demo = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    const family = descendants(demo.process.pid as number);
    if (which === 'npm') demo.process.kill('SIGTERM');
    else process.kill(pidOf(demo, which === 'Node' ? isNode : (name) => name === 'postgres'), 'SIGKILL');
    await demo.ended;
    expect(await survivors(family)).toEqual([]);
  });
});

describe('the database killed in the middle of writes', PATIENCE, () => {
  it('loses nothing that was acknowledged', async () => {
    const demo = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    const token = await tokenOf('technician@millrace.example');
    const headers = { authorization: `Bearer ${token}`, 'content-type': 'application/json' };
    const acknowledged = new Map<string, number[]>();
    let writing = true;
    const write = async (code: string) => {
      const numbers = acknowledged.get(code) ?? [];
      acknowledged.set(code, numbers);
      while (writing) {
        const url = `${demo.address}/api/v1/buckets/${code}/stirs`;
        const answer = await fetch(url, { method: 'POST', headers, body: '{}' }).catch(() => null);
        if (answer === null) return;
        const body = (await answer.json()) as { event?: { number: number } };
        if (answer.status === 201 && body.event) numbers.push(body.event.number);
      }
    };
    const writers = ['HG', 'CB', 'CH', 'TB', 'KE', 'OS', 'RM', 'HG', 'CB'].map(write);
    await new Promise((resolve) => setTimeout(resolve, 1_500));
    const backends = descendants(demo.process.pid as number).filter((one) => one.name === 'postgres');
    for (const { pid } of backends) {
      try {
        process.kill(pid, 'SIGKILL');
      } catch {
        // it ended with its parent
      }
    }
    await demo.ended;
    writing = false;
    await Promise.all(writers);
    const counted = [...acknowledged.values()].flat().length;
    expect(counted).toBeGreaterThan(100);

    const again = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    for (const [code, numbers] of acknowledged) {
      const kept = new Set<number>();
      for (let before = ''; ; ) {
        const url = `${again.address}/api/v1/buckets/${code}/events?limit=200${before}`;
        const page = (await (await fetch(url, { headers })).json()) as {
          events: { number: number }[];
          next: number | null;
        };
        for (const event of page.events) kept.add(event.number);
        if (page.next === null) break;
        before = `&before=${page.next}`;
      }
      expect(numbers.filter((n) => !kept.has(n))).toEqual([]);
      expect(kept.size).toBe(Math.max(...kept));
    }
    again.process.kill('SIGTERM');
    await again.ended;
    const doctor = runScript(['run', '--silent', 'doctor'], { DATA_DIR: dataDir });
    expect((await doctor.ended).code, doctor.output()).toBe(0);
  });
});
