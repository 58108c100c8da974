import { assertProblem } from './assert.ts';
import { Bins } from './bins.ts';
import { type Chamber, chamberOf, type Region } from './chamber.ts';
import { Floor } from './floor.ts';
import { LIMIT_MS, type Plan, type Problem } from './problem.ts';
import { randomFrom } from './random.ts';
import { type Budget, type Found, Search } from './search.ts';
import { loadOf, settled } from './settle.ts';
import { layersOf, valueIn } from './stackup.ts';
import { type Ware, waresOf } from './ware.ts';

export interface PackOptions {
  /** Milliseconds from any start, never going back. */
  clock: () => number;
  /** Called with each plan that is better than the one before. */
  onBetter?: (plan: Plan) => void;
  /** What is proven of any plan; the search ends where it is reached. */
  bound?: Plan['bound'];
}

/**
 * Packs pieces into loads: with `maxLoads` the most value, then fewest loads; without it all that fits in the fewest
 * loads. Ends after `timeLimitMs`, or after `iterations` steps, when the same problem and seed give the same plan but
 * for `elapsedMs`. Every load can be built as it stands.
 * @throws RangeError for a problem that makes no sense, see `assertProblem`
 */
export function pack(problem: Problem, { clock, onBetter, bound }: PackOptions): Plan {
  assertProblem(problem);
  const start = clock();
  const seed = Math.trunc(problem.seed ?? 1);
  const chamber = chamberOf(problem);
  const wares = waresOf(problem.pieces);
  const all = bound ?? { loads: 1, value: wares.reduce((sum, ware) => sum + ware.value, 0) };
  const parts = groupsOf(wares).map((group, i) => new Group(chamber, group, seed + 7919 * i));
  const timer = new Timer(problem, clock, start, wares.length);

  const planOf = (): Plan => {
    const loads = parts.flatMap((part) => part.found.loads);
    const left = parts.flatMap((part) => part.found.left);
    const proven = loads.length > 0 ? all : { loads: 0, value: all.value };
    const hopeless = new Set(parts.flatMap((part) => part.begin.left));
    return finished(chamber, { loads, left }, hopeless, proven, seed, clock() - start);
  };
  const better = onBetter ? () => onBetter(planOf()) : () => {};

  const { maxLoads } = problem;
  for (const part of parts) part.start();
  const needed = parts.reduce((sum, part) => sum + part.found.loads.length, 0);
  if (maxLoads === undefined || needed <= maxLoads) {
    for (const part of parts) {
      const fewest = parts.length === 1 ? all.loads : 1;
      const others = parts.reduce((sum, p) => sum + p.found.loads.length, 0) - part.found.loads.length;
      const most = (maxLoads ?? Number.POSITIVE_INFINITY) - others;
      part.fewest(timer.share(part.wares.length), fewest, most, better);
    }
  } else {
    const loads = share(parts, maxLoads);
    parts.forEach((part, i) => {
      const ceiling = parts.length === 1 ? all.value : Number.POSITIVE_INFINITY;
      part.most(loads[i] as number, timer.share(part.wares.length), ceiling, better);
    });
    // What one group did not need is another's.
    let free = parts.reduce((sum, part) => sum - part.found.loads.length, maxLoads);
    for (const part of parts) free -= part.more(free);
  }
  for (const part of parts) part.simplify();
  return planOf();
}

/** The pieces of one firing group and the best found for them. */
class Group {
  readonly wares: Ware[];
  found: Found;
  /** As `start` found them: what it left over fits into no load. */
  begin: Found;
  private readonly search: Search;
  private readonly bins: Bins | null;

  constructor(chamber: Chamber, wares: Ware[], seed: number) {
    this.wares = wares;
    const random = randomFrom(seed);
    this.search = new Search(chamber, wares, random);
    const single = chamber.mostLevels === 1 || chamber.props.length === 0;
    this.bins = single && chamber.mostFull > 0 ? new Bins(chamber, wares, random) : null;
    this.found = { loads: [], left: wares };
    this.begin = this.found;
  }

  /** Everything into as many loads as it takes, at once. */
  start(): void {
    this.found = this.bins ? this.bins.fewestLoads(NO_TIME, 0, () => {}) : this.search.inLoads();
    this.begin = this.found;
  }

  fewest(budget: Budget, fewest: number, most: number, better: () => void): void {
    // The search starts anew, and its first loads may be more than those known.
    const keep = (found: Found) => {
      const more = this.found.left.length - found.left.length || this.found.loads.length - found.loads.length;
      if (more < 0 || found.loads.length > most) return false;
      this.found = found;
      return true;
    };
    const tell = (found: Found) => {
      if (keep(found)) better();
    };
    keep(
      this.bins
        ? this.bins.fewestLoads(budget, fewest, tell)
        : this.search.fewestLoads(budget, fewest, this.begin, tell),
    );
  }

  most(loads: number, budget: Budget, ceiling: number, better: () => void): void {
    const placeable = valueIn(this.found.loads);
    this.found = { loads: [], left: this.wares };
    if (loads === 0) return;
    const most = Math.min(ceiling, placeable);
    this.found = (this.bins ?? this.search).mostValue(loads, budget, most, (found) => {
      this.found = found;
      better();
    });
    const all = valueIn(this.found.loads) >= placeable * (1 - 1e-12);
    if (all && this.found.loads.length > 1) this.fewest(budget, 1, this.found.loads.length, better);
  }

  /** Takes up to so many further loads for what is left; answers how many it took. */
  more(loads: number): number {
    let taken = 0;
    for (; taken < loads && this.found.left.length > 0; taken++) {
      const load = this.search.oneLoad(this.found.left);
      if (!load) break;
      const gone = new Set(layersOf(load).flatMap((layer) => layer.wares));
      this.found = {
        loads: [...this.found.loads, load],
        left: this.found.left.filter((ware) => !gone.has(ware)),
      };
    }
    return taken;
  }

  /** Puts what has room on one full shelf onto one: fewer posts, and hands reach everything. */
  simplify(): void {
    const loads = this.found.loads.map((load) => this.search.onOneShelf(load) ?? load);
    this.found = { ...this.found, loads };
  }
}

const NO_TIME: Budget = { step: () => false, used: () => 1 };

/** How many of the loads each group gets: those whose next load is worth most, one after another. */
function share(parts: readonly Group[], loads: number): number[] {
  if (parts.length === 1) return [loads];
  const worth = parts.map((part) => part.found.loads.map((load) => valueIn([load])).sort((a, b) => b - a));
  const counts = parts.map(() => 0);
  for (let k = 0; k < loads; k++) {
    let best = -1;
    worth.forEach((list, i) => {
      const next = list[counts[i] as number];
      if (next === undefined) return;
      const rival = best < 0 ? undefined : worth[best]?.[counts[best] as number];
      if (rival === undefined || next > rival) best = i;
    });
    if (best < 0) break;
    counts[best] = (counts[best] as number) + 1;
  }
  return counts;
}

/** Hands out the time or the steps of one run. */
class Timer {
  private readonly clock: () => number;
  private readonly end: number;
  private readonly iterations: number | undefined;
  private pieces: number;
  private steps = 0;

  constructor(problem: Problem, clock: () => number, start: number, pieces: number) {
    this.clock = clock;
    this.end = start + (problem.timeLimitMs ?? LIMIT_MS);
    this.iterations = problem.iterations;
    this.pieces = pieces;
  }

  /** The part of what is left that falls to so many of the pieces not yet served. */
  share(pieces: number): Budget {
    const part = this.pieces > 0 ? pieces / this.pieces : 0;
    this.pieces -= pieces;
    if (this.iterations !== undefined) {
      const most = Math.floor((this.iterations - this.steps) * part);
      let step = 0;
      return {
        step: () => {
          if (step >= most) return false;
          step++;
          this.steps++;
          return true;
        },
        used: () => (most > 0 ? step / most : 1),
      };
    }
    const from = this.clock();
    const until = from + (this.end - from) * part;
    let now = from;
    return {
      step: () => {
        now = this.clock();
        return now < until;
      },
      used: () => (until > from ? Math.min((now - from) / (until - from), 1) : 1),
    };
  }
}

function groupsOf(wares: readonly Ware[]): Ware[][] {
  const groups = new Map<string | undefined, Ware[]>();
  for (const ware of wares) {
    const group = groups.get(ware.group);
    if (group) group.push(ware);
    else groups.set(ware.group, [ware]);
  }
  return [...groups.values()];
}

function finished(
  chamber: Chamber,
  { loads, left }: Found,
  hopeless: ReadonlySet<Ware>,
  bound: Plan['bound'],
  seed: number,
  elapsedMs: number,
): Plan {
  const { maxLoads } = chamber.problem;
  const value = valueIn(loads);
  const count = loads.length;
  const gap =
    maxLoads === undefined
      ? count > 0
        ? 1 - bound.loads / count
        : 0
      : bound.value > 0
        ? 1 - value / bound.value
        : 0;
  return {
    loads: loads.map((load) => loadOf(chamber, settled(chamber, load))),
    unplaced: [...left]
      .sort((a, b) => a.index - b.index)
      .map((ware) => ({ id: ware.id, reason: reasonFor(chamber, ware, hopeless.has(ware)) })),
    bound,
    gap,
    elapsedMs,
    seed,
  };
}

/** Why a piece is in no load, in words. */
function reasonFor(chamber: Chamber, ware: Ware, hopeless: boolean): string {
  const { maxLoads = 1 } = chamber.problem;
  if (!hopeless) return `No room in ${maxLoads} ${maxLoads === 1 ? 'load' : 'loads'}`;
  if (ware.heightMm > chamber.room) return 'Too tall for the kiln';
  if (chamber.mostFull === 0 && chamber.mostHalf === 0) return 'There is no shelf';
  if (!fits(chamber.regions.full, ware)) return 'Too big for the shelf';
  if (ware.pin > 1) return `Pinned to level ${ware.pin}, which cannot be built with it`;
  return 'Something in the kiln is in its way';
}

function fits(region: Region, { hw, hd, r, heightMm }: Ware): boolean {
  const floor = new Floor(region, 0);
  floor.clear([], null, { ax: 0, ay: 1, q: 0, fit: 0, angle: 0 });
  return floor.place(hw, hd, r, heightMm);
}
