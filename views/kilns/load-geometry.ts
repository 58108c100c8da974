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

/** The smallest upright box around the shelf's outline, mm. */
export function outlineBox({ shelf }: Problem): Box {
  if (shelf.shape === 'rectangle') return { x0: 0, y0: 0, x1: shelf.widthMm, y1: shelf.depthMm };
  if (shelf.shape === 'round') {
    const r = shelf.diameterMm / 2;
    return { x0: -r, y0: -r, x1: r, y1: r };
  }
  const corners = polygonCorners(shelf.sides, shelf.acrossFlatsMm);
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  return { x0: Math.min(...xs), y0: Math.min(...ys), x1: Math.max(...xs), y1: Math.max(...ys) };
}

/** The corners of a regular polygon with a flat side below, parallel to the x axis, mm about its centre. */
export function polygonCorners(sides: number, acrossFlatsMm: number): [x: number, y: number][] {
  const reach = acrossFlatsMm / 2 / Math.cos(Math.PI / sides);
  return Array.from({ length: sides }, (_, i) => {
    const angle = -Math.PI / 2 + ((2 * i + 1) * Math.PI) / sides;
    return [reach * Math.cos(angle), reach * Math.sin(angle)];
  });
}

/** x of the line between the half shelves, mm. */
export const splitAt = ({ shelf }: Problem): number => (shelf.shape === 'rectangle' ? shelf.widthMm / 2 : 0);

/**
 * Where posts stand on this shelf: nowhere on the topmost, on one side only where only a half rests on them, and where
 * there are more places than a full shelf takes, on those that lie furthest apart.
 */
export function postsOn(problem: Problem, floor: Floor): PostPosition[] {
  const { above, columns } = floor;
  const middle = splitAt(problem);
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

/** Of all choices of so many places the one whose distances add up to the most. */
function furthestApart(places: PostPosition[], count: number): PostPosition[] {
  if (places.length <= count) return places;
  const between = (a: PostPosition, b: PostPosition) => Math.hypot(a.xMm - b.xMm, a.yMm - b.yMm);
  let best: PostPosition[] = [];
  let most = -1;
  const choose = (from: number, chosen: PostPosition[], length: number): void => {
    if (chosen.length === count) {
      if (length > most + 1e-9) [best, most] = [chosen, length];
      return;
    }
    for (let i = from; i < places.length; i++) {
      const place = places[i] as PostPosition;
      choose(i + 1, [...chosen, place], length + chosen.reduce((sum, one) => sum + between(one, place), 0));
    }
  };
  choose(0, [], 0);
  return best;
}

/** Keep-outs that reach into the air above this shelf. */
export function keepOutsOn(problem: Problem, floor: Floor) {
  const top = floor.baseMm + floor.roomMm;
  return (problem.keepOuts ?? []).filter(
    ({ fromMm, toMm }) =>
      (fromMm ?? Number.NEGATIVE_INFINITY) < top && (toMm ?? Number.POSITIVE_INFINITY) > floor.baseMm,
  );
}

export interface Furniture {
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
export function furnitureOf(problem: Problem, floors: Floor[]): Furniture {
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
