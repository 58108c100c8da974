import { assertProblem } from './assert.ts';
import { boundOf } from './bound.ts';
import { pack } from './packing.ts';
import { LIMIT_MS, type Plan, type Problem } from './problem.ts';

/**
 * A plan together with what is proven of any plan, both within the problem's time limit (2 s without one). The bound
 * comes first, so that the search can end where it is reached.
 * @param clock milliseconds from any start, never going back
 * @throws RangeError for a problem that makes no sense
 */
export async function solve(problem: Problem, clock: () => number): Promise<Plan> {
  const start = clock();
  assertProblem(problem);
  const bound = await boundOf(problem, { clock });
  const timeLimitMs = Math.max((problem.timeLimitMs ?? LIMIT_MS) - (clock() - start), 0);
  const plan = pack({ ...problem, timeLimitMs }, { clock, bound });
  return { ...plan, elapsedMs: clock() - start };
}
