import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';

export interface Running {
  pid: number;
  parent: number;
  name: string;
}

/** Every process that runs; zombies, which only wait to be counted, do not. */
function running(): Running[] {
  if (process.platform !== 'linux') {
    const { stdout } = spawnSync('ps', ['-axo', 'pid=,ppid=,stat=,comm='], { encoding: 'utf8' });
    const rows = stdout.split('\n').map((line) => line.trim().split(/\s+/));
    return rows
      .filter(([, , state]) => state && !state.startsWith('Z'))
      .map(([pid, parent, , name = '']) => ({ pid: Number(pid), parent: Number(parent), name }));
  }
  const pids = fs.readdirSync('/proc').filter((entry) => /^\d+$/.test(entry));
  return pids.flatMap((pid) => {
    try {
      const [, name = '', state, parent] =
        /\((.*)\) (\S) (\d+)/s.exec(fs.readFileSync(`/proc/${pid}/stat`, 'utf8')) ?? [];
      return state === 'Z' ? [] : [{ pid: Number(pid), parent: Number(parent), name }];
    } catch {
      return [];
    }
  });
}

/** All that a process has started, directly or not. */
export function descendants(ancestor: number): Running[] {
  const all = running();
  const below = (parent: number): Running[] =>
    all.filter((one) => one.parent === parent).flatMap((one) => [one, ...below(one.pid)]);
  return below(ancestor);
}

/** Those of the processes that still run when `patience` is over; none as soon as all have ended. */
export async function survivors(family: Running[], patience = 8_000): Promise<Running[]> {
  for (const deadline = Date.now() + patience; ; await sleep(50)) {
    const alive = running();
    const left = family.filter((one) => alive.some(({ pid, name }) => pid === one.pid && name === one.name));
    if (left.length === 0 || Date.now() > deadline) return left;
  }
}
