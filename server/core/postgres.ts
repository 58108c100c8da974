/**
 * The bundled Postgres: a real server, made and started from the programs of the platform package, that lives
 * exactly as long as this process (postgres-guard.mjs sees to it).
 */
import { type ChildProcess, execFile, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import net from 'node:net';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import postgres from 'postgres';
import {
  APPLICATION,
  alreadyRuns,
  checkMark,
  choosePlace,
  DATABASE,
  hasCluster,
  holderOf,
  type Kept,
  type Mark,
  newKept,
  OWNER,
  openFolder,
  type Place,
  readKept,
  readMark,
  takeLock,
  writeKept,
} from './postgres-places.ts';
import { clusterName, keeperOf, postmasterLines, processesOf, runAs } from './postgres-processes.ts';
import {
  BundledRefusal,
  findPrograms,
  OWN_SERVER,
  type Programs,
  platformPackage,
} from './postgres-programs.ts';

export { BundledRefusal };

export interface BundledServer {
  ownerUrl: string;
  appUrl: string;
  adminUrl: string;
  port: number;
  /** Where the cluster really lives. */
  dataFolder: string;
  /** Sentences for the start message, e.g. where the cluster went and why. */
  notes: string[];
  stop(): Promise<void>;
}

export interface BundledOptions {
  dataDir: string;
  mark: Mark;
  /** False only in tests: a power cut may then destroy the database. */
  fsync?: boolean;
  log?: (line: string) => void;
  /** Called when Postgres or its guard ended and nobody had asked for it; nothing of it runs any more. */
  onExit?: (reason: Error) => void;
  /** Where to find the platform package, and what to use as /var/lib/wareboard. */
  places?: { packageFolder?: string; shared?: string };
}

const GUARD = fileURLToPath(new URL('./postgres-guard.mjs', import.meta.url));
const START_TIMEOUT_MS = 300_000;
const PORT_ATTEMPTS = 5;
/** Statements that take longer are in the log, without their values. */
const SLOW_MS = 500;

/** Makes the cluster when there is none, starts it, and makes the roles and the database that are missing. */
export async function startBundled(o: BundledOptions): Promise<BundledServer> {
  const packageFolder = o.places?.packageFolder ?? platformPackage();
  const dataDir = openFolder(o.dataDir);
  const unlock = takeLock(dataDir);
  try {
    checkMark(dataDir, o.mark);
    return await startLocked(dataDir, packageFolder, o, unlock);
  } catch (error) {
    unlock();
    throw error;
  }
}

/** For commands: the server that runs on this folder, or else one of our own until `release`. */
export async function attachBundled(
  folder: string,
): Promise<{ ownerUrl: string; appUrl: string; release(): Promise<void> }> {
  const mark = readMark(folder) as Mark | null;
  if (mark === null)
    throw new BundledRefusal(
      `There is no Wareboard data in ${folder} yet: start Wareboard first, or set DATA_DIR.`,
    );
  const dataDir = openFolder(folder);
  // A server that is just starting has the folder already, but cannot be used before it says so.
  for (const deadline = Date.now() + 30_000; holderOf(dataDir) !== null; await sleep(100)) {
    const kept = readKept(dataDir);
    if (kept?.running && (await answers(kept.appUrl)))
      return { ownerUrl: kept.ownerUrl, appUrl: kept.appUrl, release: async () => {} };
    const holder = holderOf(dataDir);
    if (holder !== null && Date.now() > deadline) throw alreadyRuns(dataDir, holder);
  }
  const { ownerUrl, appUrl, stop } = await startBundled({ dataDir, mark });
  return { ownerUrl, appUrl, release: stop };
}

/** The folder on whose disk the database of this DATA_DIR is. */
export const clusterOf = (dataDir: string): string => readKept(dataDir)?.elsewhere ?? dataDir;

async function answers(url: string): Promise<boolean> {
  const sql = postgres(url, { max: 1, connect_timeout: 2 });
  try {
    await sql`select 1`;
    return true;
  } catch {
    return false;
  } finally {
    await sql.end({ timeout: 1 });
  }
}

async function startLocked(
  dataDir: string,
  packageFolder: string,
  o: BundledOptions,
  unlock: () => void,
): Promise<BundledServer> {
  const log = o.log ?? (() => {});
  const known = readKept(dataDir);
  const kept: Kept = { ...(known ?? newKept()), running: false };
  const place = choosePlace(dataDir, o.mark, kept, o.places?.shared);
  const { cluster, account, copies } = place;
  const programs = findPrograms({ packageFolder, account, copies, log });

  await untilUnused(cluster);
  const isNew = !hasCluster(cluster);
  if (!isNew) {
    checkVersion(cluster, programs);
    // Linux only, where the processes of a cluster can be told for certain; elsewhere Postgres decides itself.
    if (process.platform === 'linux') fs.rmSync(path.join(cluster, 'postmaster.pid'), { force: true });
    if (known === null) setPassword(place, programs, new URL(kept.adminUrl).password);
  }
  writeKept(dataDir, kept);
  if (isNew) {
    log(`Making the database in ${cluster}.`);
    await initialise(place, programs, new URL(kept.adminUrl).password, o.fsync !== false);
  }
  kept.elsewhere = cluster.startsWith(`${dataDir}/`) ? null : cluster;

  const logFile = path.join(dataDir, 'postgres.log');
  const { guard, port } = await launch(place, programs, logFile, o.fsync !== false, log);
  const ended = once(guard, 'exit');
  const end = async () => {
    guard.ref();
    guard.stdin?.end();
    await ended;
    await untilUnused(cluster);
    writeKept(dataDir, { ...kept, running: false });
    // Whoever made DATA_DIR for a test removes that, but would not look for a cluster elsewhere.
    if (o.mark === 'test' && kept.elsewhere !== null) fs.rmSync(cluster, { recursive: true, force: true });
    unlock();
  };
  let stopped: Promise<void> | undefined;
  const stop = () => {
    stopped ??= end();
    return stopped;
  };
  try {
    for (const key of ['ownerUrl', 'appUrl', 'adminUrl'] as const) kept[key] = withPort(kept[key], port);
    await prepare(kept).catch((error) => {
      if (error.code !== '28P01') throw error;
      throw new BundledRefusal(
        `The passwords in ${dataDir}/server.json are not those of the database in ${cluster}. ` +
          'Put the right server.json back, or delete it: the next start then makes new passwords.',
      );
    });
    kept.running = true;
    writeKept(dataDir, kept);
  } catch (error) {
    await stop();
    throw error;
  }
  ended.then(async () => {
    if (stopped) return;
    await stop().catch(() => {});
    o.onExit?.(new Error(`The bundled Postgres ended unexpectedly. ${lastWords(logFile)}`));
  });
  const { ownerUrl, appUrl, adminUrl } = kept;
  return { ownerUrl, appUrl, adminUrl, port, dataFolder: cluster, notes: place.notes, stop };
}

function withPort(url: string, port: number): string {
  const parts = new URL(url);
  parts.port = String(port);
  return parts.href;
}

function checkVersion(cluster: string, programs: Programs): void {
  const found = fs.readFileSync(path.join(cluster, 'PG_VERSION'), 'utf8').trim();
  if (found === programs.major) return;
  throw new BundledRefusal(
    `The database in ${cluster} was made by Postgres ${found}; this release of Wareboard runs Postgres ` +
      `${programs.major}. Move it with two commands of a Postgres ${programs.major} client. While the older release ` +
      'runs: pg_dump --format=custom --file=wareboard.dump OWNERURL. While this release runs with an empty DATA_DIR: ' +
      'pg_restore --clean --if-exists --no-owner --dbname=OWNERURL wareboard.dump. ' +
      'OWNERURL is the ownerUrl in the server.json of that DATA_DIR.',
  );
}

/** Waits until nothing works in the cluster any more, and ends a server of ours that has lost its guard. */
async function untilUnused(cluster: string): Promise<void> {
  for (const [signal, patience] of [
    ['SIGINT', 25_000],
    ['SIGQUIT', 5_000],
  ] as const) {
    const postmaster = processesOf(cluster).find((pid) => pid === Number(postmasterLines(cluster)[0]));
    const keeper = postmaster === undefined ? 'guard' : keeperOf(cluster, postmaster);
    if (keeper === 'stranger') break;
    if (keeper === 'nobody') {
      try {
        process.kill(Number(postmaster), signal);
      } catch {} // It ended by itself meanwhile.
    }
    for (const deadline = Date.now() + patience; Date.now() < deadline; await sleep(20)) {
      if (processesOf(cluster).length === 0) return;
    }
  }
  throw new BundledRefusal(
    `Another Postgres works in ${cluster} (process ${processesOf(cluster).join(', ')}): stop it first.`,
  );
}

/** Made aside and renamed, so that an interrupted initdb never looks like a cluster. */
async function initialise(place: Place, programs: Programs, password: string, fsync: boolean): Promise<void> {
  const { cluster, account } = place;
  const parent = path.dirname(cluster);
  for (const name of fs.readdirSync(parent)) {
    if (name.startsWith(`${path.basename(cluster)}.new-`))
      fs.rmSync(path.join(parent, name), { recursive: true, force: true });
  }
  const unfinished = fs.mkdtempSync(`${cluster}.new-`);
  const passwordFile = `${unfinished}.password`;
  try {
    fs.writeFileSync(passwordFile, password, { mode: 0o600, flag: 'wx' });
    if (account) for (const own of [unfinished, passwordFile]) fs.chownSync(own, account.uid, account.gid);
    await promisify(execFile)(
      programs.initdb,
      [
        ...[
          '-D',
          unfinished,
          '-U',
          'postgres',
          `--pwfile=${passwordFile}`,
          '-A',
          'scram-sha-256',
          '-E',
          'UTF8',
        ],
        ...['--locale=C', '--locale-provider=builtin', '--builtin-locale=C.UTF-8', '--data-checksums'],
        ...(fsync ? [] : ['--no-sync']),
      ],
      runAs(account),
    );
    fs.renameSync(unfinished, cluster);
  } catch (error) {
    fs.rmSync(unfinished, { recursive: true, force: true });
    const reason = ((error as { stderr?: string }).stderr || (error as Error).message).trim();
    throw new BundledRefusal(`Could not make the database in ${cluster}: ${reason}. ${OWN_SERVER}`);
  } finally {
    fs.rmSync(passwordFile, { force: true });
  }
}

/** For a cluster whose server.json is lost: alone with the files, Postgres asks for no password. */
function setPassword({ cluster, account }: Place, programs: Programs, password: string): void {
  const { status, stderr } = spawnSync(programs.postgres, ['--single', '-D', cluster, 'postgres'], {
    ...runAs(account),
    input: `alter role postgres password '${password}'\n`,
    encoding: 'utf8',
  });
  if (status !== 0 || /\bERROR:/.test(stderr))
    throw new BundledRefusal(`server.json is missing and could not be made anew: ${stderr.trim()}`);
}

async function launch(
  place: Place,
  programs: Programs,
  logFile: string,
  fsync: boolean,
  log: (line: string) => void,
): Promise<{ guard: ChildProcess; port: number }> {
  if (fs.existsSync(logFile)) fs.renameSync(logFile, `${logFile}.old`);
  fs.writeFileSync(logFile, '', { mode: 0o600, flag: 'wx' });
  for (let attempt = 1; ; attempt++) {
    const port = await freePort();
    const guard = spawnGuard(place, programs.postgres, port, fsync, logFile);
    if (await isReady(guard, place.cluster, port, log)) {
      // A program that has nothing left to do may end; the guard sees that and stops Postgres.
      guard.unref();
      return { guard, port };
    }
    // Between our looking and Postgres' taking it, somebody else may have got the port.
    if (attempt < PORT_ATTEMPTS && fs.readFileSync(logFile, 'utf8').includes('Address already in use'))
      continue;
    throw new BundledRefusal(`The bundled Postgres did not start. ${lastWords(logFile)}`);
  }
}

function spawnGuard(
  place: Place,
  program: string,
  port: number,
  fsync: boolean,
  logFile: string,
): ChildProcess {
  const { cluster, account } = place;
  const settings = {
    listen_addresses: '127.0.0.1',
    port,
    unix_socket_directories: '',
    cluster_name: clusterName(cluster),
    max_connections: 100,
    shared_buffers: '128MB',
    // In /dev/shm it would vanish under a running server when its user logs out (RemoveIPC of systemd).
    dynamic_shared_memory_type: 'mmap',
    // What people typed appears in statements and errors, which the log therefore leaves out.
    log_min_messages: 'log',
    log_min_error_statement: 'panic',
    log_checkpoints: 'off',
    log_min_duration_statement: SLOW_MS,
    log_parameter_max_length: 0,
    ...(fsync ? {} : { fsync: 'off', synchronous_commit: 'off', full_page_writes: 'off' }),
  };
  const args = [
    '-D',
    cluster,
    ...Object.entries(settings).flatMap(([key, value]) => ['-c', `${key}=${value}`]),
  ];
  const options = { ...runAs(account), cwd: cluster };
  const output = fs.openSync(logFile, 'a');
  const guard = spawn(process.execPath, [GUARD, JSON.stringify({ program, args, options })], {
    ...runAs(null),
    detached: true,
    stdio: ['pipe', 'ignore', output],
  });
  fs.closeSync(output);
  guard.on('error', () => {});
  guard.stdin?.on('error', () => {});
  return guard;
}

/** Waits for Postgres to accept connections; false when it ended instead. */
async function isReady(guard: ChildProcess, cluster: string, port: number, log: (line: string) => void) {
  const started = Date.now();
  let told = false;
  while (guard.exitCode === null && guard.signalCode === null) {
    const lines = postmasterLines(cluster);
    if (lines[3] === String(port) && lines[7] === 'ready') return true;
    const waited = Date.now() - started;
    if (waited > START_TIMEOUT_MS) {
      guard.stdin?.end();
      await once(guard, 'exit');
    } else if (waited > 3_000 && !told) {
      told = true;
      log('Postgres takes longer to start: after an unclean stop it first repeats what its log holds.');
    }
    await sleep(10);
  }
  return false;
}

async function freePort(): Promise<number> {
  const server = net.createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as net.AddressInfo;
  server.close();
  await once(server, 'close');
  return port;
}

/** The superuser's only work: two roles without privileges, and the database that one of them owns. */
async function prepare(kept: Kept): Promise<void> {
  const sql = postgres(kept.adminUrl, { max: 1, onnotice: () => {} });
  try {
    for (const [role, url] of [
      [OWNER, kept.ownerUrl],
      [APPLICATION, kept.appUrl],
    ] as const) {
      const [found] = await sql`select from pg_roles where rolname = ${role}`;
      await sql.unsafe(
        `${found ? 'alter' : 'create'} role ${role} login nosuperuser nocreatedb nocreaterole noreplication ` +
          `nobypassrls password '${new URL(url).password}'`,
      );
    }
    const [database] = await sql`
      select pg_encoding_to_char(encoding) as encoding from pg_database where datname = ${DATABASE}`;
    if (database && database.encoding !== 'UTF8')
      throw new BundledRefusal(
        `The database's encoding is ${database.encoding}; it must be UTF8. Dump it with pg_dump and restore it ` +
          'in a Wareboard that starts with an empty DATA_DIR.',
      );
    if (!database) {
      await sql.unsafe(`create database ${DATABASE} owner ${OWNER}`);
      await sql.unsafe(`revoke all on database ${DATABASE} from public`);
      await sql.unsafe(`grant connect on database ${DATABASE} to ${APPLICATION}`);
    }
  } finally {
    await sql.end({ timeout: 5 });
  }
}

function lastWords(logFile: string): string {
  const lines = fs.readFileSync(logFile, 'utf8').trim().split('\n').slice(-5);
  return `Its last words, from ${logFile}: ${lines.join(' | ')}`;
}
