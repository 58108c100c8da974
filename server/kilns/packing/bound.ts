import { boxWeights } from './bound-boxes.ts';
import {
  areaWeight,
  type Floor,
  floorOf,
  type Item,
  itemsOf,
  pointWeight,
  standsAlone,
  type Weight,
} from './bound-floor.ts';
import { type Columns, mostInColumns } from './bound-levels.ts';
import { sideWeight } from './bound-sides.ts';
import { type Column, type Programme, type Row, type Solver, solver } from './bound-solver.ts';
import { type KeepOut, LIMIT_MS, type Plan, type Problem } from './problem.ts';

// What no plan can beat. The problem is relaxed: how pieces stand on a shelf is forgotten but for weights that every
// arrangement obeys (bound-floor.ts, bound-boxes.ts, bound-sides.ts), and which shelf stands on which but for heights that must add up.
// What is left is a small mixed integer programme.

const SHARE = 0.25;
/** Of the time left, for one try at the worth: the rest is for finer ones and the number of loads. */
const FOR_VALUE = 0.6;
/** Of all the time, for looking through levels; and how often it may go on where steps are counted instead. */
const FOR_LEVELS = 0.9;
const MOST_LOOKS = 1000;
/** Classes of heights, at most: for loads; for worth one try after another. */
const LOADS_CLASSES = 40;
const VALUE_CLASSES = [16, 48];
const LEVEL_CLASSES = 64;
const MOST_WEIGHTS = { loads: 8, value: 3 };
const MOST_PROPS = 40;
const MOST_POINTS = 24;
const MOST_BOXES = 6;
/** Multiplications for weights of boxes: on one level they are all there is. */
const WORK = { level: 3e7, levels: 3e6 };
const NOISE = 1e-6;
/** What floating point may make of an exact fit, mm. */
const EXACT = 1e-9;

export interface BoundOptions {
  /** Milliseconds from any start, never going back. */
  clock: () => number;
  /** How long it may take, about; a quarter of the problem's limit without it. */
  timeMs?: number;
}

/** Posts, one or two on one another, and how many of each height they are. */
interface Prop {
  sum: number;
  use: number[];
}

interface Kiln {
  problem: Problem;
  floor: Floor;
  /** From the first base up to the usable height, mm. */
  room: number;
  /** Lowest first. */
  props: Prop[];
  /** How many shelves the posts of each height carry in one load; null where that is never too few. */
  stock: number[] | null;
  solve: Solver;
  /** Whether there is still time to look through levels. */
  looksOn: () => boolean;
}

/** The pieces of one group with all weights that may matter, the heaviest first. */
interface Queue {
  items: Item[];
  weights: Weight[];
  area: Weight;
}

/**
 * Proven limits of every plan that obeys the rules: none for all pieces that fit at all has fewer than `loads` loads,
 * none is worth more than `value` (in `maxLoads` loads; the worth of all that fits without it). Groups never share a
 * load: their loads add up, and so does their worth under the best division of the loads. Takes about `timeMs`; with
 * `iterations` set it counts steps instead and answers the same every time. Assumes a problem that makes sense.
 */
export async function boundOf(problem: Problem, { clock, timeMs }: BoundOptions): Promise<Plan['bound']> {
  const limit = timeMs ?? SHARE * (problem.timeLimitMs ?? LIMIT_MS);
  const end = clock() + limit;
  const solve = await solver(() => (problem.iterations === undefined ? end - clock() : null));
  let looks = 0;
  const looksOn = () =>
    problem.iterations === undefined ? clock() < end - (1 - FOR_LEVELS) * limit : looks++ < MOST_LOOKS;
  const kiln = kilnOf(problem, solve, looksOn);
  const items = itemsOf(problem);
  const groups = [...new Set(items.map(({ group }) => group))].map((group) =>
    items.filter((item) => item.group === group),
  );
  let loads = 0;
  let all = 0;
  const { maxLoads } = problem;
  // Most worth of the groups so far in so many loads.
  let best = Array.from({ length: (maxLoads ?? 0) + 1 }, () => 0);
  for (const group of groups) {
    const perhaps = group.filter((item) => fitsAlone(kiln, item, NOISE) !== 'no');
    const surely = group.filter((item) => fitsAlone(kiln, item, EXACT) === 'yes');
    const queue = queueOf(kiln, perhaps);
    const worth = worthOf(perhaps);
    all += worth;
    if (maxLoads !== undefined) {
      const each = [0];
      for (let count = 1; count <= Math.min(maxLoads, perhaps.length); count++) {
        const known = (each[count - 1] ?? 0) >= worth || (groups.length === 1 && count < maxLoads);
        each.push(known ? worth : mostValue(kiln, queue, count));
      }
      best = best.map((_, total) =>
        Math.max(...each.slice(0, total + 1).map((value, count) => value + (best[total - count] ?? 0))),
      );
    }
    loads += leastLoads(kiln, surely.length === perhaps.length ? queue : queueOf(kiln, surely));
  }
  return { loads, value: maxLoads === undefined ? all : Math.min(all, best[maxLoads] ?? all) };
}

const worthOf = (items: Item[]) => items.reduce((total, { value }) => total + value, 0);

function kilnOf(problem: Problem, solve: Solver, looksOn: Kiln['looksOn']): Kiln {
  const room = problem.usableHeightMm - (problem.floorPostMm ?? 0) - problem.shelfThicknessMm;
  const perShelf = problem.postsPerShelf ?? 3;
  const heights = [...new Set(problem.posts.map(({ heightMm }) => heightMm))].sort((a, b) => a - b);
  const carried = heights.map((height) => {
    const counts = problem.posts.map((post) => (post.heightMm === height ? post.count : 0));
    return Math.floor(counts.reduce((a, b) => a + b, 0) / perShelf);
  });
  const use = (...indices: number[]) => heights.map((_, i) => indices.filter((index) => index === i).length);
  const props = heights.map((sum, i) => ({ sum, use: use(i) }));
  if (problem.stackedPosts)
    heights.forEach((a, i) => {
      heights.slice(i).forEach((b, k) => {
        props.push({ sum: a + b, use: use(i, i + k) });
      });
    });
  const fit = props
    .filter(({ sum, use }) => {
      const enough = use.every((count, i) => count <= (carried[i] ?? 0));
      return enough && sum + problem.shelfThicknessMm <= room + NOISE && problem.maxLevels !== 1;
    })
    .sort((a, b) => a.sum - b.sum);
  const lowest = fit[0]?.sum ?? room;
  const most = (1 + room / (lowest + problem.shelfThicknessMm)) * (problem.halves ? 2 : 1) * 2;
  const scarce = carried.some((count, i) => count < most && fit.some(({ use }) => (use[i] ?? 0) > 0));
  return {
    problem,
    floor: floorOf(problem),
    room,
    props: fit,
    stock: scarce && fit.length <= MOST_PROPS ? carried : null,
    solve,
    looksOn,
  };
}

/** Whether a piece can stand in this kiln with nothing else: surely only where a place for it is known. */
function fitsAlone(kiln: Kiln, item: Item, spare: number): 'yes' | 'no' | 'perhaps' {
  const { problem, floor, room } = kiln;
  const pin = item.pin ?? 1;
  if (pin > (problem.maxLevels ?? pin) || (pin > 1 && kiln.props.length === 0)) return 'no';
  const below = pin > 1 ? (pin - 1) * ((kiln.props[0]?.sum ?? 0) + problem.shelfThicknessMm) : 0;
  if (below + item.height + problem.topClearanceMm > room + spare) return 'no';
  const full = (problem.shelves?.full ?? 1) > 0;
  const region = full ? floor.full : (problem.shelves?.half ?? 1) > 0 ? floor.half : null;
  if (!region) return 'no';
  const stands = (out: KeepOut[]) => standsAlone(region, item, spare, out);
  if (!stands([])) return region === floor.half ? 'perhaps' : 'no';
  if (pin > 1) return 'perhaps';
  const base = problem.usableHeightMm - room;
  const near = (problem.keepOuts ?? []).filter(
    ({ fromMm, toMm }) => (fromMm ?? 0) < base + item.height && (toMm ?? Number.POSITIVE_INFINITY) > base,
  );
  return near.length === 0 || stands(near) ? 'yes' : 'perhaps';
}

function queueOf({ problem, floor, props }: Kiln, items: Item[]): Queue {
  const area = areaWeight(problem, floor, items);
  const sizes = [...new Set(items.map(({ width, depth }) => Math.min(width, depth) / 2))].sort(
    (a, b) => a - b,
  );
  const weights = [
    area,
    ...spaced(sizes, MOST_POINTS).map((inside) => pointWeight(floor, items, inside)),
    ...boxWeights(floor, items, MOST_BOXES, props.length > 0 ? WORK.levels : WORK.level),
  ];
  return { items, area, weights: weights.sort((a, b) => fills(b) - fills(a)) };
}

/** How many shelves all pieces fill by a weight. */
const fills = ({ of, full, half }: Weight) => of.reduce((a, b) => a + b, 0) / Math.max(full, 2 * half, NOISE);

/** At most so many of a sorted list, evenly spread, the first and the last among them. */
function spaced<T>(list: T[], most: number): T[] {
  if (list.length <= most) return list;
  return list.filter(
    (_, i) =>
      i === 0 ||
      Math.floor((i * (most - 1)) / (list.length - 1)) >
        Math.floor(((i - 1) * (most - 1)) / (list.length - 1)),
  );
}

/** What one load holds of a weight when it is a single level: a full shelf or two halves. */
function oneLevel({ problem }: Kiln, { full, half }: Weight): number {
  return Math.max((problem.shelves?.full ?? 1) > 0 ? full : 0, 2 * half);
}

/** No fewer loads than this hold all of these pieces. */
function leastLoads(kiln: Kiln, { items, area, weights }: Queue): number {
  if (items.length === 0) return 0;
  const sides = sideWeight(kiln.floor, items, (weight) => -fills(weight));
  const queue: Queue = sides
    ? { items, area, weights: [...weights, sides].sort((a, b) => fills(b) - fills(a)) }
    : { items, area, weights };
  if (kiln.props.length === 0) {
    const least = queue.weights.map(
      (weight) => weight.of.reduce((a, b) => a + b, 0) / Math.max(oneLevel(kiln, weight), NOISE),
    );
    return Math.max(1, Math.ceil(Math.max(...least) - NOISE));
  }
  const least = Math.max(1, roughLoads(kiln, queue));
  const programme = programmeOf(kiln, queue, null, LOADS_CLASSES);
  const relaxed = Math.max(least, kiln.solve(programme, false, 1) ?? 1);
  const optimum = relaxed > 1 + NOISE ? (kiln.solve(programme, true, 1) ?? relaxed) : relaxed;
  return Math.max(1, Math.ceil(optimum - NOISE));
}

/** Levels that take something `least` high, at most, on each side of one load. */
function levelsOf({ problem, props, room }: Kiln, least: number): number {
  const carrier = props.find(({ sum }) => sum - problem.clearanceMm + NOISE >= least);
  const step = (carrier?.sum ?? room + NOISE) + problem.shelfThicknessMm;
  // A topmost shelf may be left bare, but not nearer to the lid.
  const free = room - problem.topClearanceMm;
  const most = Math.max((free - least) / step + 1, free / step);
  return Math.max(1, Math.floor(most + NOISE));
}

/** Loads that the pieces of some height and more ask for by one weight and the levels of one load: without any solver. */
function roughLoads(kiln: Kiln, { items, weights }: Queue): number {
  const order = items.map((_, i) => i).sort((a, b) => (items[b]?.height ?? 0) - (items[a]?.height ?? 0));
  const levels = order.map((i) => levelsOf(kiln, items[i]?.height ?? 0));
  let most = 0;
  for (const { of, full, half } of weights) {
    let sum = 0;
    order.forEach((i, k) => {
      sum += of[i] ?? 0;
      most = Math.max(most, sum / (Math.max(full, 2 * half, NOISE) * (levels[k] ?? 1)));
    });
  }
  return most;
}

/** No plan of these pieces in so many loads is worth more than this. */
function mostValue(kiln: Kiln, queue: Queue, loads: number): number {
  const worth = worthOf(queue.items);
  let most = Math.min(worth, filled(kiln, queue.items, queue.area, loads, 0));
  const finish = () =>
    queue.items.every(({ value }) => Number.isInteger(value)) ? Math.floor(most + NOISE) : most;
  const tighten = (classes: number, whole: boolean, part: number) => {
    const optimum = kiln.solve(programmeOf(kiln, { ...queue, weights }, loads, classes), whole, part);
    if (optimum !== null) most = Math.min(most, optimum * (1 + NOISE) + NOISE);
  };
  const step = kiln.problem.shelfThicknessMm + kiln.problem.clearanceMm;
  const score = (weight: Weight) => filled(kiln, queue.items, weight, loads, step);
  const sides = sideWeight(kiln.floor, queue.items, score);
  const weights = sides ? [sides, ...queue.weights] : queue.weights;
  if (most < worth) {
    const way = sides && score(sides) < score(queue.area) ? sides : queue.area;
    most = Math.min(most, inColumns(kiln, queue.items, way, loads) * (1 + NOISE) + NOISE);
  }
  tighten(VALUE_CLASSES.at(-1) ?? 1, false, 1);
  // Where posts are few or ware stacks, rows that columns know nothing of may say more yet. Fine classes say more,
  // coarse ones sooner; none says anything where everything may fit.
  if (!kiln.stock && queue.items.every(({ share }) => share === 1)) return finish();
  for (const classes of VALUE_CLASSES) if (most < worth) tighten(classes, true, FOR_VALUE);
  return finish();
}

/**
 * The most worth by one weight and the heights that levels may have: bound-levels.ts. Half shelves make two columns.
 * Infinite where there is no time for it.
 */
function inColumns(kiln: Kiln, items: Item[], weight: Weight, loads: number): number {
  const { problem, props, room } = kiln;
  if (!kiln.looksOn()) return Number.POSITIVE_INFINITY;
  const heights = spaced(
    [...new Set(items.map(({ height }) => height))].sort((a, b) => a - b),
    LEVEL_CLASSES,
  );
  const kinds = items.map(({ height }) => heights.findLastIndex((each) => each <= height));
  const costs = heights.map((height) => {
    const prop = props.find(({ sum }) => sum - problem.clearanceMm + NOISE >= height);
    return prop ? prop.sum + problem.shelfThicknessMm : Number.POSITIVE_INFINITY;
  });
  const { of, full, half, fullPosts, halfPosts } = weight;
  if (full <= 0) return 0;
  const split = kiln.floor.half !== null;
  const bare = split ? Math.max(half, full / 2) : full;
  const holds = (split ? Math.max(half - halfPosts, (full - fullPosts) / 2) : full - fullPosts) / bare;
  const columns: Columns = {
    heights,
    ware: items.map(({ value }, i) => ({ kind: kinds[i] ?? 0, value, size: (of[i] ?? 0) / bare })),
    count: loads * (split ? 2 : 1),
    room,
    holds,
    holdsMore: 1 - holds,
    costs,
    air: problem.topClearanceMm,
    mostLevels: Math.min(
      problem.maxLevels ?? Number.POSITIVE_INFINITY,
      split ? Number.POSITIVE_INFINITY : (problem.shelves?.full ?? Number.POSITIVE_INFINITY),
    ),
  };
  return mostInColumns(columns, kiln.looksOn);
}

/**
 * The most worth that fits by a weight times height alone, pieces cut as wanted: there without any solver. With a step
 * added to every height it is no limit, but tells weights apart.
 */
function filled({ room, problem }: Kiln, items: Item[], weight: Weight, loads: number, step: number): number {
  const { of, full, half, fullPosts, halfPosts } = weight;
  const high = step > 0 ? room : Math.max(0, room - problem.topClearanceMm);
  const holds = step > 0 ? Math.max(full - fullPosts, 2 * (half - halfPosts)) : Math.max(full, 2 * half);
  let left = holds * high * loads;
  const sizes = items.map(({ rise, value }, i) => ({ value, size: (of[i] ?? 0) * (rise + step) }));
  sizes.sort((a, b) => b.value * a.size - a.value * b.size);
  let total = 0;
  for (const { value, size } of sizes) {
    const part = size <= left ? 1 : left / size;
    total += value * part;
    left -= size * part;
    if (part < 1) break;
  }
  return total;
}

/**
 * The relaxed problem with at most so many classes of heights, for so many loads, most worth; or with null for all pieces, fewest loads. Heights are sorted into
 * classes by their lower ends τ. Whole numbers, summed over all loads: carrying levels of each prop, full and half; topmost
 * levels of each class, full and half. Rows, each true of every plan:
 * - each weight of the pieces at least τ high is held by the levels that take something τ high;
 * - heights: a load's two sides each add up to the room; half the sum of both counts a full level once and a half by half;
 * - as many levels τ high as one load's height takes at most, times the loads;
 * - one topmost full level or two halves a load; the stock of shelves, levels and posts times the loads;
 * - floor area times what each piece adds to a stack is held by floor area times free height.
 */
function programmeOf(kiln: Kiln, queue: Queue, loads: number | null, most: number): Programme {
  const { problem, room, floor } = kiln;
  const { items, area } = queue;
  const aim = loads === null ? 'loads' : 'value';
  const thickness = problem.shelfThicknessMm;
  const top = problem.topClearanceMm;
  const columns: Column[] = [];
  const rows: Row[] = [];
  const column = (cost: number, whole: boolean, most = Number.POSITIVE_INFINITY) =>
    columns.push({ cost, whole, most }) - 1;

  const classes = spaced(
    [...new Set(items.map(({ height }) => height))].sort((a, b) => a - b),
    most,
  );
  const takes = (sum: number) => sum - problem.clearanceMm + NOISE;
  // Where posts are never too few, only the lowest prop of every class is of use.
  const props = kiln.stock
    ? kiln.props
    : [...new Set(classes.map((tau) => kiln.props.find(({ sum }) => takes(sum) >= tau)))].filter(
        (prop) => prop !== undefined,
      );
  const parts = floor.half ? (['full', 'half'] as const) : (['full'] as const);
  const count = { full: 1, half: 0.5 };
  const carrying = parts.flatMap((part) => props.map((prop) => ({ part, prop, at: column(0, true) })));
  const topmost = parts.flatMap((part) => classes.map((tau) => ({ part, tau, at: column(0, true) })));
  const free = parts.map((part) => ({ part, at: column(0, false) }));
  const loadsAt = column(loads === null ? 1 : 0, true, loads ?? Number.POSITIVE_INFINITY);
  /** Σ terms ≤ most · loads. */
  const perLoad = (terms: Row['terms'], most: number) => {
    if (Number.isFinite(most)) rows.push({ terms: [...terms, [loadsAt, -most]], most: 0 });
  };

  // Pieces that no row tells apart share a column.
  const weights = [
    area,
    ...queue.weights.filter((weight) => weight !== area).slice(0, MOST_WEIGHTS[aim] - 1),
  ];
  const kinds = new Map<string, { tau: number; indices: number[] }>();
  items.forEach((item, i) => {
    const tau = classes.findLast((each) => each <= item.height) ?? item.height;
    const key =
      aim === 'loads'
        ? String(tau)
        : [tau, item.value, item.rise, ...weights.map(({ of }) => of[i])].join(' ');
    const kind = kinds.get(key);
    if (kind) kind.indices.push(i);
    else kinds.set(key, { tau, indices: [i] });
  });
  const ware = [...kinds.values()].map(({ tau, indices }) => {
    const [first = 0] = indices;
    const at = aim === 'value' ? column(items[first]?.value ?? 0, false, indices.length) : null;
    return { tau, indices, at };
  });
  /** Σ over the pieces, or those of one class, of a number each; what must stand is moved to the right. */
  const held = (of: (index: number) => number, only?: number) => {
    const terms: Row['terms'] = [];
    let must = 0;
    for (const { tau, indices, at } of ware) {
      if (only !== undefined && tau !== only) continue;
      const amount = indices.reduce((total, i) => total + of(i), 0);
      if (at === null) must += amount;
      else if (amount > 0) terms.push([at, amount / indices.length]);
    }
    return { terms, must };
  };

  // What the levels that take something τ high can still hold, a column for each weight and class from the tallest down,
  // so that every piece stands in one row a weight.
  const classOf = (reach: number) => classes.findLastIndex((tau) => tau <= reach);
  for (const weight of weights) {
    const posts = { full: weight.fullPosts, half: weight.halfPosts };
    const scale = weight.full > 0 ? weight.full : 1;
    let above: number | null = null;
    for (let k = classes.length - 1; k >= 0; k--) {
      const least = classes[k] ?? 0;
      const { terms, must } = held((i) => (weight.of[i] ?? 0) / scale, least);
      for (const { part, prop, at } of carrying)
        if (classOf(takes(prop.sum)) === k) terms.push([at, -(weight[part] - posts[part]) / scale]);
      for (const { part, tau, at } of topmost) if (tau === least) terms.push([at, -weight[part] / scale]);
      const left = column(0, false);
      terms.push([left, 1]);
      if (above !== null) terms.push([above, -1]);
      rows.push({ terms, most: -must });
      above = left;
    }
  }

  const height = carrying.map(({ part, prop, at }): [number, number] => [
    at,
    count[part] * (prop.sum + thickness),
  ]);
  for (const { part, at } of free) {
    height.push([at, count[part]]);
    const mine = topmost.filter((each) => each.part === part);
    rows.push({ terms: [...mine.map((each): [number, number] => [each.at, each.tau]), [at, -1]], most: 0 });
    rows.push({ terms: [[at, 1], ...mine.map((each): [number, number] => [each.at, top - room])], most: 0 });
  }
  perLoad(height, room - top);
  for (const least of classes) {
    perLoad(
      [
        ...carrying.filter(({ prop }) => takes(prop.sum) >= least),
        ...topmost.filter(({ tau }) => tau >= least),
      ].map(({ part, at }) => [at, count[part]]),
      levelsOf(kiln, least),
    );
  }
  perLoad(
    topmost.map(({ part, at }) => [at, count[part]]),
    1,
  );
  const levels = [...carrying, ...topmost];
  perLoad(
    levels.map(({ part, at }) => [at, count[part]]),
    problem.maxLevels ?? Number.POSITIVE_INFINITY,
  );
  for (const part of parts)
    perLoad(
      levels.filter((level) => level.part === part).map(({ at }) => [at, 1]),
      problem.shelves?.[part] ?? Number.POSITIVE_INFINITY,
    );
  kiln.stock?.forEach((shelves, i) => {
    perLoad(
      carrying.flatMap(({ prop, at }): [number, number][] => {
        const used = prop.use[i] ?? 0;
        return used > 0 ? [[at, used]] : [];
      }),
      shelves,
    );
  });

  const scale = Math.max(area.full * room, 1);
  const { terms, must } = held((i) => ((area.of[i] ?? 0) * (items[i]?.rise ?? 0)) / scale);
  for (const { part, prop, at } of carrying)
    terms.push([at, (-area[part] * Math.max(0, prop.sum - problem.clearanceMm)) / scale]);
  for (const { part, at } of free) terms.push([at, -area[part] / scale]);
  rows.push({ terms, most: -must });
  return { sense: loads === null ? 'Minimize' : 'Maximize', columns, rows };
}
