/** What runs on this machine: the little that starting Postgres safely needs to know. */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';

/** What initdb and Postgres run with: with LANG unset or odd, initdb would choose SQL_ASCII. */
const ENVIRONMENT = { LC_ALL: 'C', TZ: 'UTC' };

/** Whom Postgres runs as when we are root, whom it refuses. */
export interface Account {
  name: string;
  uid: number;
  gid: number;
}

function accounts(): Account[] {
  return (read('/etc/passwd') ?? '')
    .split('\n')
    .map((line) => line.split(':'))
    .map(([name = '', , uid, gid]) => ({ name, uid: Number(uid) >>> 0, gid: Number(gid) >>> 0 }));
}

export function accountNamed(...names: string[]): Account | undefined {
  const all = accounts();
  return names.map((name) => all.find((account) => account.name === name)).find((account) => account);
}

/** The account that owns a file; one that owns a cluster can run it, known to /etc/passwd or not. */
export function ownerOf(file: string): Account {
  const { uid, gid } = fs.statSync(file);
  return accounts().find((account) => account.uid === uid) ?? { name: `number ${uid}`, uid, gid };
}

/** Options of a child process that runs as the account, or as ourselves when there is none. */
export function runAs(account: Account | null) {
  return { cwd: '/', env: ENVIRONMENT, ...(account && { uid: account.uid, gid: account.gid }) };
}

/** Asked of the account itself: mode bits do not tell about access lists and odd mounts. */
export function canEnter(account: Account | null, folder: string): boolean {
  return spawnSync('/bin/sh', ['-c', 'cd "$1"', 'sh', folder], runAs(account)).status === 0;
}

/** When a process began, as text that no other process ever shares; null when it is gone or a zombie. */
export function born(pid: number): string | null {
  if (process.platform !== 'linux') {
    return spawnSync('ps', ['-o', 'lstart=', '-p', String(pid)], { encoding: 'utf8' }).stdout.trim() || null;
  }
  const fields = statusFields(pid);
  if (!fields || fields[0] === 'Z' || fields[0] === 'X') return null;
  return `${fs.readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()} ${fields[19]}`;
}

/** The fields of /proc/<pid>/stat from the third on; the second, the name, may itself contain spaces. */
function statusFields(pid: number): string[] | undefined {
  const text = read(`/proc/${pid}/stat`);
  return text?.slice(text.lastIndexOf(')') + 2).split(' ');
}

function read(file: string): string | null {
  try {
    return fs.readFileSync(file, 'utf8');
  } catch {
    return null;
  }
}

/** Postgres shows this name in the title of each of its processes. */
export function clusterName(cluster: string): string {
  return `wareboard-${createHash('sha256').update(cluster).digest('hex').slice(0, 16)}`;
}

/**
 * The live Postgres processes of a cluster. By working directory, which also finds a server somebody started by
 * hand; and by title, since root in a container may not look at the directory of another account's process.
 * Zombies have neither.
 */
export function processesOf(cluster: string): number[] {
  const name = clusterName(cluster);
  if (process.platform !== 'linux') {
    const { stdout } = spawnSync('ps', ['-axo', 'pid=,command='], { encoding: 'utf8' });
    const lines = stdout.split('\n').filter((line) => line.includes(`cluster_name=${name}`));
    return lines.map((line) => Number.parseInt(line, 10));
  }
  const home = fs.statSync(cluster, { throwIfNoEntry: false });
  return fs
    .readdirSync('/proc')
    .filter((entry) => /^\d+$/.test(entry) && read(`/proc/${entry}/comm`) === 'postgres\n')
    .filter((pid) => sameFolder(`/proc/${pid}/cwd`, home) || read(`/proc/${pid}/cmdline`)?.includes(name))
    .map(Number);
}

function sameFolder(folder: string, other: fs.Stats | undefined): boolean {
  try {
    const stats = fs.statSync(folder);
    return stats.dev === other?.dev && stats.ino === other.ino;
  } catch {
    return false;
  }
}

/** Who will stop the server of a cluster: its guard, nobody since the guard was killed, or whoever started it. */
export function keeperOf(cluster: string, postmaster: number): 'guard' | 'nobody' | 'stranger' {
  if (process.platform !== 'linux') {
    const { stdout } = spawnSync('ps', ['-o', 'ppid=', '-p', String(postmaster)], { encoding: 'utf8' });
    return Number(stdout) === 1 ? 'nobody' : 'guard';
  }
  if (!read(`/proc/${postmaster}/cmdline`)?.includes(clusterName(cluster))) return 'stranger';
  const parent = statusFields(postmaster)?.[1];
  return read(`/proc/${parent}/comm`) === 'wareboard-guard\n' ? 'guard' : 'nobody';
}

/** The lines of postmaster.pid: process, folder, start, port, socket folder, address, shared memory, status. */
export function postmasterLines(cluster: string): string[] {
  return (read(path.join(cluster, 'postmaster.pid')) ?? '').split('\n').map((line) => line.trim());
}
