/**
 * How good the packer is: `npm run bench:pack`, or with `-- --quick` for a smoke run. Prints tables for DEVELOPERS.md;
 * ends with status 1 when a plan does not pass the check. `-- --only=a` runs one table.
 */
import { boundOf } from '../../../server/kilns/packing/bound.ts';
import type { Plan, Problem } from '../../../server/kilns/packing/problem.ts';
import { solve } from '../../../server/kilns/packing/solve.ts';
import { faultsOf } from '../../../server/kilns/plan-check.ts';
import { chamber, circlesInCircle, classOf, cutSquare, flat, KILNS, queueOf } from './instances.ts';
import { OTHERS } from './others.ts';

const quick = process.argv.includes('--quick');
const only = process.argv.find((each) => each.startsWith('--only='))?.slice('--only='.length);
const PLAN = quick
  ? {
      sizes: [20, 60],
      each: 2,
      limitMs: 200,
      cut: 2,
      circles: [7, 13, 19],
      queues: [50],
      longMs: 1000,
    }
  : {
      sizes: [20, 40, 60, 80, 100],
      each: 10,
      limitMs: 2000,
      cut: 10,
      circles: Array.from({ length: 20 }, (_, i) => i + 1),
      queues: [50, 150, 300],
      longMs: 8000,
    };

/** Best known R/r of n equal circles in one, n = 1 … 20: E. Specht, "The best known packings of equal circles in a circle". */
const RATIOS = [
  1, 2, 2.154701, 2.414214, 2.701302, 3, 3, 3.304765, 3.613126, 3.813026, 3.923805, 4.029602, 4.236068,
  4.328429, 4.521357, 4.615426, 4.792034, 4.863704, 4.863704, 5.122321,
];

const clock = () => performance.now();
const begun = clock();
const say = (line: string) => process.stdout.write(`${line}\n`);
const progress = (line: string) =>
  process.stderr.write(`  ${((clock() - begun) / 1000).toFixed(0).padStart(4)} s  ${line}\n`);
const row = (...cells: (string | number)[]) => say(`| ${cells.join(' | ')} |`);
const head = (...cells: string[]) => {
  row(...cells);
  row(...cells.map(() => '---'));
};

async function solved(problem: Problem): Promise<Plan> {
  const plan = await solve({ ...problem, timeLimitMs: PLAN.limitMs }, clock);
  const faults = faultsOf(problem, plan);
  if (faults.length > 0) throw new Error(`A plan cannot be built:\n${faults.join('\n')}`);
  return plan;
}

const sum = (numbers: number[]) => numbers.reduce((a, b) => a + b, 0);
const mean = (numbers: number[]) => sum(numbers) / numbers.length;
const share = (part: number) => part.toFixed(3);

async function bins(): Promise<void> {
  const names = ['ours', ...Object.keys(OTHERS)];
  const all = names.map((): number[] => []);
  const totals = names.map(() => 0);
  let lower = 0;
  head('(a) bins / lower bound', 'proven best', ...names);
  for (let number = 1; number <= 10; number++) {
    const ratios = names.map((): number[] => []);
    let proven = 0;
    for (const n of PLAN.sizes)
      for (let seed = 1; seed <= PLAN.each; seed++) {
        const instance = classOf(number, n, seed);
        const plan = await solved(flat(instance));
        const bound = plan.bound.loads;
        lower += bound;
        if (plan.loads.length === bound) proven++;
        [plan.loads.length, ...Object.values(OTHERS).map((other) => other(instance))].forEach((count, i) => {
          ratios[i]?.push(count / bound);
          all[i]?.push(count / bound);
          totals[i] = (totals[i] ?? 0) + count;
        });
      }
    row(`class ${number}`, `${proven} of ${ratios[0]?.length}`, ...ratios.map((each) => share(mean(each))));
    progress(`class ${number}`);
  }
  row('all', '', ...all.map((each) => share(mean(each))));
  row('bins in all', lower, ...totals);
  say('');
}

async function perfect(): Promise<void> {
  head('(b) cut from one square, n = 50', 'filled, mean', 'least');
  const filled: number[] = [];
  for (let seed = 1; seed <= PLAN.cut; seed++) {
    const instance = cutSquare(50, seed);
    const problem = flat(instance, { maxLoads: 1 });
    for (const piece of problem.pieces)
      if (piece.footprint.shape === 'rectangle')
        piece.value = piece.footprint.widthMm * piece.footprint.depthMm;
    const plan = await solved(problem);
    filled.push(plan.loads[0]?.use.area ?? 0);
  }
  row(`${PLAN.cut} squares`, share(mean(filled)), share(Math.min(...filled)));
  progress('cut squares');
  say('');
}

async function circles(): Promise<void> {
  const failed: number[] = [];
  for (const n of PLAN.circles) {
    const plan = await solved({ ...circlesInCircle(n, 1.04 * (RATIOS[n - 1] ?? 0)), maxLoads: 1 });
    if (plan.unplaced.length > 0) failed.push(n);
  }
  head('(c) n equal circles in one of 1.04 × best known', 'fit', 'do not');
  row(`n = ${PLAN.circles.join(', ')}`, PLAN.circles.length - failed.length, failed.join(', ') || 'none');
  progress('circles');
  say('');
}

async function queues(): Promise<void> {
  head(
    '(d) one load of a queue',
    'n',
    'worth',
    'posts',
    'worth / bound',
    `bound given ${PLAN.longMs / 1000} s`,
    'floor used',
  );
  for (const kiln of KILNS)
    for (const n of PLAN.queues)
      for (const worth of ['volume', 'count'] as const)
        for (const posts of [false, true]) {
          const problem = chamber(kiln, queueOf(n, 1, kiln.boxes), worth, posts);
          const plan = await solved(problem);
          const value = (1 - plan.gap) * plan.bound.value;
          const longer =
            plan.gap > 1e-9 ? (await boundOf(problem, { clock, timeMs: PLAN.longMs })).value : value;
          row(
            kiln.name,
            n,
            worth,
            posts ? 'as they come' : 'any height',
            share(1 - plan.gap),
            share(value / Math.min(longer, plan.bound.value)),
            share(plan.loads[0]?.use.area ?? 0),
          );
          progress(`${kiln.name} ${n} ${worth} ${posts ? 'posts' : ''}`);
        }
  say('');
}

try {
  for (const [name, table] of Object.entries({ a: bins, b: perfect, c: circles, d: queues }))
    if (!only || only === name) await table();
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = 1;
}
