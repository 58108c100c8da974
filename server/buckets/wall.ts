import type { StateName, Verdict } from './verdict.ts';

interface Bucket {
  name: string;
  place: string;
  cones: { from: string; to: string } | null;
  verdict: Verdict;
}

export interface Arrangement {
  sort: 'worst' | 'place';
  cone: string | null;
  state: StateName | null;
}

/** What nobody should dip from first, then what needs somebody, then what only needs a stir. */
const WORST_FIRST: StateName[] = [
  'do-not-use',
  'too-thick',
  'too-thin',
  'ask-technician',
  'needs-reading',
  'on-test',
  'stir-first',
  'ready',
];

/** The buckets a person asked for, in groups: by place, or all in one, the worst first. */
export function arrange<B extends Bucket>(
  all: B[],
  how: Arrangement,
): { place: string | null; buckets: B[] }[] {
  const wanted = all.filter(
    (b) =>
      (how.state === null || b.verdict.state === how.state) &&
      (how.cone === null || fires(b.cones, how.cone)),
  );
  const byName = (a: B, b: B) => names.compare(a.name, b.name);
  if (how.sort === 'place') {
    const places = [...new Set(wanted.map((b) => b.place))].sort(names.compare);
    return places.map((place) => ({ place, buckets: wanted.filter((b) => b.place === place).sort(byName) }));
  }
  const rank = (b: B) => WORST_FIRST.indexOf(b.verdict.state);
  return [{ place: null, buckets: wanted.sort((a, b) => rank(a) - rank(b) || byName(a, b)) }];
}

/** '3 ready, 1 to stir, 4 need somebody', leaving out what there is none of. */
export function counted(all: Bucket[]): string {
  const ready = all.filter((b) => b.verdict.state === 'ready').length;
  const stir = all.filter((b) => b.verdict.state === 'stir-first').length;
  const rest = all.length - ready - stir;
  return [
    ready > 0 && `${ready} ready`,
    stir > 0 && `${stir} to stir`,
    rest > 0 && `${rest} ${rest === 1 ? 'needs' : 'need'} somebody`,
  ]
    .filter(Boolean)
    .join(', ');
}

/** The cones that buckets name, coolest first. */
export function conesOf(all: Pick<Bucket, 'cones'>[]): string[] {
  const named = all.flatMap((b) => (b.cones === null ? [] : [b.cones.from, b.cones.to]));
  return [...new Set(named)].sort((a, b) => coneRank(a) - coneRank(b));
}

/** The states that buckets are in, worst first. */
export function statesOf(all: Bucket[]): StateName[] {
  return WORST_FIRST.filter((state) => all.some((b) => b.verdict.state === state));
}

const names = new Intl.Collator('en', { numeric: true, sensitivity: 'base' });

function fires(cones: Bucket['cones'], cone: string): boolean {
  if (cones === null) return false;
  const ranks = [coneRank(cones.from), coneRank(cones.to)];
  return Math.min(...ranks) <= coneRank(cone) && coneRank(cone) <= Math.max(...ranks);
}

/** Cones run 022, 021 … 01, then 1, 2 … 14; a leading 0 counts down. */
function coneRank(cone: string): number {
  const heat = Number.parseInt(cone, 10) + (cone.endsWith('½') ? 0.5 : 0);
  return cone.startsWith('0') ? -heat : heat;
}
