import { parentPort, workerData } from 'node:worker_threads';
import type { Problem } from './problem.ts';
import { solve } from './solve.ts';

// Runs in a thread of its own, see in-worker.ts: one problem in, one plan out.

const problem: Problem = workerData;
const plan = await solve(problem, () => performance.now());
parentPort?.postMessage(plan);
