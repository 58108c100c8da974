import { splitOf } from '../../server/kilns/chamber.ts';
import type { Level, Load, PostPosition, Problem } from '../../server/kilns/packing/problem.ts';
import { type Ware, waresOf } from '../../server/kilns/packing/ware.ts';

/** What takes one place on a shelf, as it is drawn: a piece, or a stack of them. */
export interface Stand {
  /** From the bottom up. */
  ids: string[];
  xMm: number;
  yMm: number;
  /** Half extents of the lowest piece as it stands, without its tray; a circle has a radius only. */
  hw: number;
  hd: number;
  r: number;
  trayMm: number;
  turned: boolean;
  /** Of the whole stack above the shelf. */
  heightMm: number;
}

/** One shelf of a load with what stands on it. */
export interface Floor {
  part: Level['part'];
  /** Counted from 1 at the floor on its side. */
  level: number;
  baseMm: number;
  /** What carries the next shelf; null on the topmost of its side. */
  posts: number[] | null;
  /** The shelves that its posts carry: two where a full shelf carries a half on each side. */
  above: Level['part'][];
  /** How many shelves' worth of posts stand on it: those of both halves go down to the floor. */
  columns: number;
  tallestMm: number;
  /** Air between the shelf and whatever is above it: the next shelf, or the usable height. */
  roomMm: number;
  stands: Stand[];
  /** All pieces, those of stacks too. */
  ids: string[];
}

export interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

const sum = (numbers: number[]): number => numbers.reduce((a, b) => a + b, 0);

/** The shelves of a load in the order they are loaded: from the floor up, the left half before the right. */
export function floorsOf(problem: Problem, load: Load): Floor[] {
  const trays = new Map(problem.pieces.map(({ id, tray }) => [id, tray ?? 0]));
  const wares = new Map(
    waresOf(problem.pieces).map((ware) => [ware.id, { ...ware, trayMm: trays.get(ware.id) ?? 0 }]),
  );
  const side = (part: Level['part']) =>
    load.levels.filter((level) => level.part === part).sort((a, b) => a.baseMm - b.baseMm);
  const [full, left, right] = [side('full'), side('left'), side('right')];
  const halves = [left, right].flatMap(([lowest]) => lowest?.part ?? []);
  const above = (column: Level[], i: number) => column.slice(i + 1, i + 2).map(({ part }) => part);
  const numbered = [
    ...full.map((level, i) => ({
      level,
      number: i + 1,
      above: i < full.length - 1 ? above(full, i) : halves,
    })),
    ...[left, right].flatMap((column) =>
      column.map((level, i) => ({
        level,
        number: full.length + i + 1,
        above: above(column, i),
      })),
    ),
  ];
  return numbered
    .map(({ level, number, above }) => {
      const stands = standsOf(level, wares);
      return {
        part: level.part,
        level: number,
        baseMm: level.baseMm,
        posts: level.posts,
        above: level.posts === null ? [] : above,
        columns: level.posts === null ? 0 : halves.length > 0 && above.includes('full') ? 2 : above.length,
        tallestMm: Math.max(0, ...stands.map(({ heightMm }) => heightMm)),
        roomMm: level.posts === null ? problem.usableHeightMm - level.baseMm : sum(level.posts),
        stands,
        ids: stands.flatMap(({ ids }) => ids),
      };
    })
    .sort((a, b) => a.baseMm - b.baseMm || a.part.localeCompare(b.part));
}

function standsOf(level: Level, wares: Map<string, Ware & { trayMm: number }>): Stand[] {
  const stands = new Map<string, Stand>();
  for (const { id, xMm, yMm, turned, zMm } of [...level.pieces].sort((a, b) => a.zMm - b.zMm)) {
    const ware = wares.get(id);
    if (!ware) continue;
    const place = `${xMm} ${yMm}`;
    const under = stands.get(place);
    if (under) {
      under.ids.push(id);
      under.heightMm = Math.max(under.heightMm, zMm + ware.heightMm);
      continue;
    }
    const { trayMm } = ware;
    const [hw, hd] = turned ? [ware.hd, ware.hw] : [ware.hw, ware.hd];
    stands.set(place, {
      ids: [id],
      xMm,
      yMm,
      hw: ware.r > 0 ? 0 : hw - trayMm,
      hd: ware.r > 0 ? 0 : hd - trayMm,
      r: ware.r > 0 ? ware.r - trayMm : 0,
      trayMm,
      turned,
      heightMm: zMm + ware.heightMm,
    });
  }
  return [...stands.values()];
}

/**
 * Where posts stand on this shelf: nowhere on the topmost, on one side only where only a half rests on them, and where
 * there are more places than a full shelf takes, on some that lie far apart.
 */
export function postsOn(problem: Problem, floor: Floor): PostPosition[] {
  const { above, columns } = floor;
  const middle = splitOf(problem.shelf);
  const places = problem.postPositions ?? [];
  if (above.includes('full'))
    return columns === 1 ? furthestApart(places, problem.postsPerShelf ?? 3) : places;
  return places.filter(
    ({ xMm, widthMm }) =>
      (above.includes('left') && xMm - widthMm / 2 < middle) ||
      (above.includes('right') && xMm + widthMm / 2 > middle),
  );
}

/** Places that are kept free for posts although none stands there in this load. */
export function sparePostsOn(problem: Problem, floor: Floor): PostPosition[] {
  const used = postsOn(problem, floor);
  return floor.above.includes('full')
    ? (problem.postPositions ?? []).filter((one) => !used.includes(one))
    : [];
}

/**
 * So many of the places that their distances add up to the most, as far as exchanging one for another finds it: to try
 * every choice of twelve from two dozen would take seconds.
 */
function furthestApart(places: PostPosition[], count: number): PostPosition[] {
  const reach = (from: PostPosition, others: PostPosition[]) =>
    sum(others.map(({ xMm, yMm }) => Math.hypot(from.xMm - xMm, from.yMm - yMm)));
  let chosen = places.slice(0, count);
  for (;;) {
    let most = 1e-9;
    let better: PostPosition[] | null = null;
    for (const given of chosen) {
      const kept = chosen.filter((one) => one !== given);
      const had = reach(given, kept);
      for (const place of places) {
        const gain = chosen.includes(place) ? 0 : reach(place, kept) - had;
        if (gain > most) [most, better] = [gain, [...kept, place]];
      }
    }
    if (better === null) return places.filter((place) => chosen.includes(place));
    chosen = better;
  }
}

/** Keep-outs that reach into the air above this shelf. */
export function keepOutsOn(problem: Problem, floor: Floor) {
  const top = floor.baseMm + floor.roomMm;
  return (problem.keepOuts ?? []).filter(
    ({ fromMm, toMm }) =>
      (fromMm ?? Number.NEGATIVE_INFINITY) < top && (toMm ?? Number.POSITIVE_INFINITY) > floor.baseMm,
  );
}

/** What has to be fetched to build a load. */
export interface ToFetch {
  full: number;
  half: number;
  /** By height, tallest first. */
  posts: { heightMm: number; count: number }[];
  /** Under the lowest shelves; null where they lie on the floor. */
  floorPosts: { heightMm: number; count: number } | null;
}

/** How many shelves' worth of floor posts carry one of the lowest shelves. */
export const columnsUnder = ({ part }: Floor, floors: Floor[]): number =>
  part === 'full' && floors.some((floor) => floor.part !== 'full') ? 2 : 1;

/** What has to be fetched to build a load: shelves, and posts by their height. */
export function furnitureOf(problem: Problem, floors: Floor[]): ToFetch {
  const each = problem.postsPerShelf ?? 3;
  const counts = new Map<number, number>();
  for (const { posts, columns } of floors)
    for (const height of posts ?? []) counts.set(height, (counts.get(height) ?? 0) + each * columns);
  const lowest = floors
    .filter(({ level }) => level === 1)
    .reduce((sum, floor) => sum + columnsUnder(floor, floors), 0);
  const floorPostMm = problem.floorPostMm ?? 0;
  return {
    full: floors.filter(({ part }) => part === 'full').length,
    half: floors.filter(({ part }) => part !== 'full').length,
    posts: [...counts]
      .filter(([, count]) => count > 0)
      .map(([heightMm, count]) => ({ heightMm, count }))
      .sort((a, b) => b.heightMm - a.heightMm),
    floorPosts: floorPostMm > 0 && lowest > 0 ? { heightMm: floorPostMm, count: each * lowest } : null,
  };
}
