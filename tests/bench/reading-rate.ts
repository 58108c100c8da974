import { runDriver } from './driver.ts';
import { fire } from './load.ts';
import { median, table, times, whole } from './numbers.ts';
import { type Ours, post } from './page-and-post.ts';
import { hasPgbench, runPgbench } from './pgbench.ts';
import { type Choice, captureReading } from './statements.ts';

interface Rates {
  title: string;
  choice: Choice;
  ours: number[];
  bare: number[];
}

/** Readings a second that ten clients get through ours, and the same statements through pgbench, in turns. */
export async function readingRates(
  ours: Ours,
  o: { rounds: number; seconds: number; folder: string; say: (line: string) => void },
): Promise<string> {
  const { studio } = ours;
  const [first = 0, last = 0] = [studio.codes[1], studio.codes.at(-1)].map(Number);
  const cases: Rates[] = [
    { title: 'spread over many buckets', choice: { from: first, to: last }, ours: [], bare: [] },
    { title: 'one hot bucket', choice: { from: first, to: first }, ours: [], bare: [] },
  ];
  const statements = await captureReading(studio, String(last));
  const run = hasPgbench() ? runPgbench : runDriver;
  for (let round = 0; round <= o.rounds; round++) {
    for (const { choice, ours: through, bare } of cases) {
      const answered = await fire(post(ours, choice), { clients: 10, forMs: o.seconds * 1000 });
      const without = await run(statements, { choice, url: studio.appUrl, ...o });
      if (round === 0) continue; // the first round only warms up
      through.push(answered.length / o.seconds);
      bare.push(without);
    }
    o.say(round === 0 ? 'warmed up' : `round ${round} of ${o.rounds}`);
  }
  return table(
    ['10 clients', 'ours /s', `${hasPgbench() ? 'pgbench' : 'driver'} /s`, 'ratio'],
    cases.map(({ title, ours: through, bare }) => [
      title,
      whole(median(through)),
      whole(median(bare)),
      times(median(through.map((rate, i) => rate / (bare[i] ?? Number.NaN)))),
    ]),
  );
}
