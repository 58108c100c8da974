/**
 * Mixed writes by twenty clients while the service and its Postgres are killed again and again: `npm run soak`, with
 * `-- --minutes=5` for rounds until then, `-- --writes=2000` for shorter rounds, `-- --seed=7` for one as it was before.
 */
import { type Kill, writeAndKill } from './mixed-writes.ts';

const say = (line: string) => process.stdout.write(`${line}\n`);

function given(name: string): number | null {
  const [, value] = process.argv.map((one) => one.split('=')).find(([key]) => key === `--${name}`) ?? [];
  if (value === undefined) return null;
  const number = Number(value);
  if (!Number.isFinite(number) || number < 0) throw new Error(`--${name} must be a number.`);
  return number;
}

const until = Date.now() + (given('minutes') ?? 0) * 60_000;
let seed = given('seed') ?? Math.floor(Math.random() * 2 ** 31);
let wrong = 0;
do {
  say(`Round with --seed=${seed}`);
  const begun = performance.now();
  const outcome = await writeAndKill({
    writes: given('writes') ?? 10_000,
    clients: 20,
    seed,
    between: [30, 400],
    kills: ['Node', 'a backend', 'Postgres', 'a backend'],
    say: (line) => say(`  ${((performance.now() - begun) / 1000).toFixed(0).padStart(4)} s  ${line}`),
  });
  const acts = Object.entries(outcome.acknowledged);
  const kills = Object.entries(outcome.kills) as [Kill, number][];
  say(
    `  acknowledged ${acts.reduce((sum, [, n]) => sum + n, 0)}: ${acts.map(([kind, n]) => `${kind} ${n}`).join(', ')}`,
  );
  say(`  killed ${kills.map(([kind, n]) => `${kind} ${n}`).join(', ')}; sent again ${outcome.sentAgain}`);
  for (const line of outcome.wrong) say(`  WRONG: ${line}`);
  wrong += outcome.wrong.length;
  say(
    outcome.wrong.length === 0
      ? '  every act is there once, and all is as it must be'
      : '  NOT as it must be',
  );
  seed = (seed + 1) % 2 ** 31;
} while (Date.now() < until);
process.exitCode = wrong === 0 ? 0 : 1;
