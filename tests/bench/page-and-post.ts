import { fire, request, type Target } from './load.ts';
import { median, ms, percentile, table, times } from './numbers.ts';
import type { Choice } from './statements.ts';
import type { FilledStudio } from './studio.ts';

export interface Ours {
  studio: FilledStudio;
  port: number;
}

const CLIENTS = [1, 10];

/** The page of a bucket that gets no readings here, so that it stays what it is. */
export function page({ studio, port }: Ours): Target {
  const bytes = request('GET', `/buckets/${studio.codes[0]}`, { cookie: studio.cookie });
  return { port, next: () => bytes };
}

/** Weighed readings that record the stir too; by default at the same few buckets whatever the size. */
export function post({ studio, port }: Ours, choice?: Choice): Target {
  const { from, to } = choice ?? { from: Number(studio.codes[1]), to: Number(studio.codes[19]) };
  const headers = { authorization: `Bearer ${studio.token}` };
  return {
    port,
    next(client, n) {
      // Each client goes its own way through the buckets.
      const code = from + ((client * 7 + n * (client + 1)) % (to - from + 1));
      const body = { method: 'weighed', grams: 145 + (n % 4) / 2, millilitres: 100, stirred: true };
      return request('POST', `/api/v1/buckets/${code}/readings`, headers, JSON.stringify(body));
    },
  };
}

function floorTarget(port: number, method: 'GET' | 'POST', path: string): Target {
  const bytes = request(method, path, {}, method === 'POST' ? JSON.stringify({ grams: 146 }) : '');
  return { port, next: () => bytes };
}

type Name = 'page' | 'post';

/** What one server took for one kind of request, by round. */
type Rounds = number[][];

export interface Measured {
  name: Name;
  clients: number;
  floor: Rounds;
  /** For the post: the floor that commits a row too. */
  kept: Rounds;
  /** One a size of the studio, smallest first. */
  ours: Rounds[];
}

/**
 * Page and post, at one and at ten clients, on the floor and on ours at every size. In each round every server
 * has its turn, so that whatever else the machine does falls on all of them.
 */
export async function measurePageAndPost(
  all: Ours[],
  floorPort: number,
  o: { rounds: number; forMs: number; say: (line: string) => void },
): Promise<Measured[]> {
  const measured = CLIENTS.flatMap((clients) =>
    (['page', 'post'] as const).map(
      (name): Measured => ({ name, clients, floor: [], kept: [], ours: all.map(() => []) }),
    ),
  );
  for (let round = 0; round <= o.rounds; round++) {
    for (const { name, clients, floor: onFloor, kept, ours } of measured) {
      const turns: [Rounds, Target][] = all.map((one, i) => [
        ours[i] as Rounds,
        name === 'page' ? page(one) : post(one),
      ]);
      if (name === 'page') turns.push([onFloor, floorTarget(floorPort, 'GET', '/page')]);
      else
        turns.push(
          [onFloor, floorTarget(floorPort, 'POST', '/answer')],
          [kept, floorTarget(floorPort, 'POST', '/kept')],
        );
      for (const [rounds, target] of round % 2 ? turns : turns.reverse()) {
        const took = await fire(target, { clients, forMs: round === 0 ? 3 * o.forMs : o.forMs });
        if (round > 0) rounds.push(took); // the first only warms up
      }
    }
    o.say(round === 0 ? 'warmed up' : `round ${round} of ${o.rounds}`);
  }
  return measured;
}

/** The median over rounds of how much longer `a` took than `b`, median against median. */
const ratio = (a: Rounds, b: Rounds): number =>
  median(a.map((round, i) => median(round) / median(b[i] ?? [])));

const figures = (rounds: Rounds): string[] => [ms(median(rounds.flat())), ms(percentile(rounds.flat(), 99))];

const TITLES: Record<Name, string> = { page: 'bucket page', post: 'reading POST' };

export function floorTable(measured: Measured[]): string {
  const rows = measured.flatMap(({ name, clients, floor, kept, ours: [smallest = []] }) => {
    const title = `${TITLES[name]}, ${clients} at once`;
    const against = (base: Rounds, what: string) => [
      `${title}, floor ${what}`,
      ...figures(smallest),
      ...figures(base),
      times(ratio(smallest, base)),
    ];
    return name === 'page'
      ? [against(floor, 'select')]
      : [against(floor, 'select'), against(kept, 'select + commit of a row')];
  });
  return table(['', 'ours p50 ms', 'p99', 'floor p50 ms', 'p99', 'ratio'], rows);
}

export function sizeTable(measured: Measured[], sizes: number[]): string {
  const rows = measured.map(({ name, clients, ours }) => [
    `${TITLES[name]}, ${clients} at once`,
    ...ours.map((rounds) => ms(median(rounds.flat()))),
    ...ours.slice(1).map((rounds) => times(ratio(rounds, ours[0] as Rounds))),
  ]);
  const counts = sizes.map((size) => size.toLocaleString('en'));
  const heading = [
    ...counts.map((size) => `${size} p50 ms`),
    ...counts.slice(1).map((size) => `${size} ratio`),
  ];
  return table(['', ...heading], rows);
}
