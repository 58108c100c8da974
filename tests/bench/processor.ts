import { readFileSync } from 'node:fs';
import { descendants } from '../faults/processes.ts';

/** How long a tick of `/proc` is: 10 ms on every Linux that Node runs on. */
const TICK = 10;

/** Milliseconds of processor that a process has used so far; NaN where there is no `/proc`. */
export function used(pid: number): number {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
    return (Number(fields[11]) + Number(fields[12])) * TICK;
  } catch {
    return Number.NaN;
  }
}

/** The same of every Postgres process below this one. */
export const usedByPostgres = (): number =>
  descendants(process.pid)
    .filter(({ name }) => name === 'postgres')
    .reduce((sum, { pid }) => sum + (used(pid) || 0), 0);
