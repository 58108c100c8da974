import type { Firing } from '../ware/firing.ts';
import type { KeepOut, PostPosition, PostStock, Problem, Shelf } from './packing/problem.ts';
import type { KilnSettings } from './settings.ts';

/** What a kiln is to the packer: outline, furniture and what stands in the way. Lengths in mm, origin as in `Problem`. */
export interface Furniture {
  shelf: Shelf;
  fullShelves: number;
  halfShelves: number;
  shelfThicknessMm: number;
  usableHeightMm: number;
  floorPostMm: number;
  edgeGapMm: number;
  splitGapMm: number;
  clearanceMm: number;
  topClearanceMm: number;
  keepOuts: KeepOut[];
  postPositions: PostPosition[];
  posts: PostStock[];
  postsPerShelf: number;
  stackedPosts: boolean;
  tallLevel: 'top' | 'bottom' | 'any';
}

/**
 * The packer's problem for one filling of a kiln, but for the pieces. The gap is that between pieces which a technician
 * measured; whoever knows that a piece was not, makes it wider by half the difference all round. Bisque may touch.
 */
export function chamberOf(
  kiln: Furniture,
  settings: Pick<KilnSettings, 'gapMeasuredMm' | 'gapBisqueMm'>,
  firing: Pick<Firing, 'kind'>,
): Omit<Problem, 'pieces'> {
  return {
    shelf: kiln.shelf,
    edgeGapMm: kiln.edgeGapMm,
    usableHeightMm: kiln.usableHeightMm,
    floorPostMm: kiln.floorPostMm,
    shelfThicknessMm: kiln.shelfThicknessMm,
    pieceGapMm: firing.kind === 'bisque' ? settings.gapBisqueMm : settings.gapMeasuredMm,
    clearanceMm: kiln.clearanceMm,
    topClearanceMm: kiln.topClearanceMm,
    posts: kiln.posts,
    postsPerShelf: kiln.postsPerShelf,
    postPositions: kiln.postPositions,
    stackedPosts: kiln.stackedPosts,
    halves: kiln.halfShelves > 0,
    splitGapMm: kiln.splitGapMm,
    shelves: { full: kiln.fullShelves, half: kiln.halfShelves },
    keepOuts: kiln.keepOuts,
    tallLevel: kiln.tallLevel,
  };
}

/** The upright box around a shelf, mm. */
export function boxOf(shelf: Shelf): { x0: number; y0: number; x1: number; y1: number } {
  if (shelf.shape === 'rectangle') return { x0: 0, y0: 0, x1: shelf.widthMm, y1: shelf.depthMm };
  if (shelf.shape === 'round') {
    const r = shelf.diameterMm / 2;
    return { x0: -r, y0: -r, x1: r, y1: r };
  }
  const corners = cornersOf(shelf);
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  return { x0: Math.min(...xs), y0: Math.min(...ys), x1: Math.max(...xs), y1: Math.max(...ys) };
}

/** The corners of a polygonal shelf, anticlockwise, mm. It lies on a flat side. */
export function cornersOf({
  sides,
  acrossFlatsMm,
}: {
  sides: number;
  acrossFlatsMm: number;
}): [x: number, y: number][] {
  const radius = acrossFlatsMm / 2 / Math.cos(Math.PI / sides);
  return Array.from({ length: sides }, (_, i) => {
    const angle = -Math.PI / 2 + ((2 * i + 1) * Math.PI) / sides;
    return [radius * Math.cos(angle), radius * Math.sin(angle)];
  });
}

/** How far a point lies inside a shelf's outline, mm; below 0 outside. */
export function insideBy(shelf: Shelf, x: number, y: number): number {
  if (shelf.shape === 'round') return shelf.diameterMm / 2 - Math.hypot(x, y);
  if (shelf.shape === 'rectangle') return Math.min(x, y, shelf.widthMm - x, shelf.depthMm - y);
  const normals = Array.from(
    { length: shelf.sides },
    (_, i) => -Math.PI / 2 + (2 * Math.PI * i) / shelf.sides,
  );
  return Math.min(...normals.map((a) => shelf.acrossFlatsMm / 2 - x * Math.cos(a) - y * Math.sin(a)));
}

/** x of the line between two half shelves, mm. */
export const splitOf = (shelf: Shelf): number => (shelf.shape === 'rectangle' ? shelf.widthMm / 2 : 0);

/** Whether a post stands on the shelf with all of its foot. */
export function standsOn(shelf: Shelf, { xMm, yMm, widthMm, depthMm }: PostPosition): boolean {
  // An outline bulges outwards everywhere, so the corners decide.
  return [-1, 1].every((i) =>
    [-1, 1].every((j) => insideBy(shelf, xMm + (i * widthMm) / 2, yMm + (j * depthMm) / 2) >= -1e-6),
  );
}

/** A post's foot and its distance from the edge: common practice, no source. */
const POST_MM = 40;
const FROM_EDGE_MM = 5;

/**
 * Where posts stand when nobody measured: three a full shelf near its edge, and where there are half shelves three for
 * each of them, on its own side of the split. On a shelf too small for feet of 40 mm they are made smaller.
 */
export function defaultPostPositions(shelf: Shelf, halves: boolean): PostPosition[] {
  const { x0, y0, x1, y1 } = boxOf(shelf);
  const size = Math.min(POST_MM, Math.floor(Math.min(x1 - x0, y1 - y0) / 8));
  const half = size / 2 + FROM_EDGE_MM;
  const middle = splitOf(shelf);
  const centreY = (y0 + y1) / 2;
  // From a start well inside straight to a wall, as far as the foot and its distance from the edge allow.
  const towards = (fromX: number, dx: number, dy: number): PostPosition => {
    const at = (t: number): PostPosition => ({
      xMm: fromX + t * dx,
      yMm: centreY + t * dy,
      widthMm: 2 * half,
      depthMm: 2 * half,
    });
    let [fits, tooFar] = [0, (x1 - x0 + y1 - y0) / 2];
    for (let step = 0; step < 40; step++) {
      const t = (fits + tooFar) / 2;
      if (standsOn(shelf, at(t))) fits = t;
      else tooFar = t;
    }
    const { xMm, yMm } = at(fits);
    return { xMm: Math.round(xMm), yMm: Math.round(yMm), widthMm: size, depthMm: size };
  };
  const corner = (x: -1 | 1, y: -1 | 1): PostPosition => ({
    xMm: x < 0 ? x0 + half : x1 - half,
    yMm: y < 0 ? y0 + half : y1 - half,
    widthMm: size,
    depthMm: size,
  });
  if (shelf.shape === 'rectangle')
    return halves
      ? ([-1, 1] as const).flatMap((side) => [
          corner(side, -1),
          corner(side, 1),
          { xMm: middle + side * half, yMm: centreY, widthMm: size, depthMm: size },
        ])
      : [corner(-1, -1), corner(1, -1), towards(middle, 0, 1)];
  if (halves)
    return ([-1, 1] as const).flatMap((side) => [
      towards(side * half, 0, -1),
      towards(side * half, 0, 1),
      towards(side * half, side, 0),
    ]);
  return [90, 210, 330].map((degrees) => {
    const angle = (degrees * Math.PI) / 180;
    return towards(0, Math.cos(angle), Math.sin(angle));
  });
}

interface Fault {
  path: string;
  message: string;
}

const fault = (path: string, message: string): Fault => ({ path, message });

/**
 * What in a kiln's figures does not go together, in words, each beside its field ('posts.1.heightMm'); empty when ware
 * can be stacked in it.
 */
export function furnitureFaults(kiln: Furniture): Fault[] {
  const { shelf, posts, postPositions, postsPerShelf, halfShelves } = kiln;
  const faults: Fault[] = [];
  if (kiln.fullShelves === 0 && halfShelves < 2)
    faults.push(fault('fullShelves', 'At least one full shelf, or two half ones.'));
  const { x0, y0, x1, y1 } = boxOf(shelf);
  const narrow = Math.min(x1 - x0, y1 - y0);
  if (2 * kiln.edgeGapMm >= narrow) faults.push(fault('edgeGapMm', 'This leaves no room on the shelf.'));
  if (kiln.splitGapMm >= narrow / 2) faults.push(fault('splitGapMm', 'This leaves no room on a half shelf.'));
  const least = kiln.floorPostMm + kiln.shelfThicknessMm + kiln.topClearanceMm;
  if (kiln.usableHeightMm <= least)
    faults.push(
      fault(
        'usableHeightMm',
        `Floor posts, a shelf and the air under the lid take ${Math.round(least)} mm: no room is left for ware.`,
      ),
    );
  posts.forEach(({ heightMm }, i) => {
    if (posts.findIndex((other) => other.heightMm === heightMm) < i)
      faults.push(fault(`posts.${i}.heightMm`, 'This height stands twice.'));
    else if (heightMm <= kiln.clearanceMm)
      faults.push(
        fault(`posts.${i}.heightMm`, 'Nothing fits under a shelf on these: the air above ware takes all.'),
      );
  });
  postPositions.forEach((position, i) => {
    if (!standsOn(shelf, position))
      faults.push(fault(`postPositions.${i}.xMm`, 'This stands off the shelf.'));
    else if (postPositions.findIndex((other) => overlap(other, position)) < i)
      faults.push(fault(`postPositions.${i}.xMm`, 'Two posts would stand in one place.'));
  });
  if (postPositions.length > 0) {
    const middle = splitOf(shelf);
    const left = postPositions.filter(({ xMm, widthMm }) => xMm - widthMm / 2 < middle).length;
    const right = postPositions.filter(({ xMm, widthMm }) => xMm + widthMm / 2 > middle).length;
    if (postPositions.length < postsPerShelf)
      faults.push(fault('postsPerShelf', `Only ${postPositions.length} places for posts are given below.`));
    else if (halfShelves > 0 && Math.min(left, right) < postsPerShelf)
      faults.push(
        fault(
          'postsPerShelf',
          `A half shelf stands on ${postsPerShelf} posts too: give each side its places.`,
        ),
      );
  }
  kiln.keepOuts.forEach(({ fromMm = 0, toMm = kiln.usableHeightMm }, i) => {
    if (fromMm >= toMm) faults.push(fault(`keepOuts.${i}.toMm`, 'The upper end lies above the lower one.'));
  });
  return faults;
}

const overlap = (a: PostPosition, b: PostPosition): boolean =>
  Math.abs(a.xMm - b.xMm) < (a.widthMm + b.widthMm) / 2 &&
  Math.abs(a.yMm - b.yMm) < (a.depthMm + b.depthMm) / 2;
