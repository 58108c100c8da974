import type { Problem } from '../../server/kilns/packing/problem.ts';
import { type Floor, type Furniture, polygonCorners } from './load-geometry.ts';
import { listed } from './load-words.ts';

/** What is special about a piece in a drawing; shape and pattern say it, never colour alone. */
export type Look = 'plain' | 'mine' | 'chosen' | 'out';

export const mm = (length: number): string => `${Number(length.toFixed(1))} mm`;

/** 'Level 2', 'Level 3, left half' */
export const floorName = ({ level, part }: Pick<Floor, 'level' | 'part'>): string =>
  part === 'full' ? `Level ${level}` : `Level ${level}, ${part} half`;

/** 'posts of 160 mm', 'posts of 100 on 60 mm'; empty on the topmost. */
export const postWords = (posts: number[] | null): string =>
  posts === null ? '' : `posts of ${posts.map((height) => Number(height.toFixed(1))).join(' on ')} mm`;

export const pieceCount = (count: number): string => (count === 1 ? '1 piece' : `${count} pieces`);

/** 'Level 1, posts of 160 mm: tallest 148 mm, 16 pieces' */
export function floorWords(floor: Floor): string {
  const posts = floor.posts === null ? 'nothing above' : postWords(floor.posts);
  if (floor.ids.length === 0) return `${floorName(floor)}, ${posts}: empty`;
  return `${floorName(floor)}, ${posts}: tallest ${mm(floor.tallestMm)}, ${pieceCount(floor.ids.length)}`;
}

/** '9 posts of 160 mm, 6 of 100 mm', with the shelves before them. */
export function furnitureWords({ full, half, posts, floorPosts }: Furniture): string[] {
  const shelves = [
    full > 0 && `${full} full ${full === 1 ? 'shelf' : 'shelves'}`,
    half > 0 && `${half} half ${half === 1 ? 'shelf' : 'shelves'}`,
  ].filter((one) => one !== false);
  return [
    listed(shelves),
    posts.map(({ heightMm, count }, i) => `${count} ${i === 0 ? 'posts ' : ''}of ${mm(heightMm)}`).join(', '),
    floorPosts ? `${floorPosts.count} floor posts of ${mm(floorPosts.heightMm)}` : '',
  ].filter(Boolean);
}

/** The outline of a shelf, y upwards turned down. */
export function Outline({
  problem: { shelf },
  ...rest
}: {
  problem: Problem;
  class: string;
  'clip-path'?: string | undefined;
}) {
  if (shelf.shape === 'round') return <circle {...rest} r={shelf.diameterMm / 2} />;
  if (shelf.shape === 'rectangle')
    return <rect {...rest} x={0} y={-shelf.depthMm} width={shelf.widthMm} height={shelf.depthMm} />;
  const corners = polygonCorners(shelf.sides, shelf.acrossFlatsMm);
  return <path {...rest} d={`M${corners.map(([x, y]) => `${fine(x)} ${fine(-y)}`).join('L')}z`} />;
}

/** A circle or an upright rectangle about a centre, y upwards turned down. */
export function Footprint({
  xMm,
  yMm,
  hw,
  hd,
  r,
  grow = 0,
  ...rest
}: {
  xMm: number;
  yMm: number;
  hw: number;
  hd: number;
  r: number;
  grow?: number;
  class?: string;
  fill?: string;
}) {
  if (r > 0) return <circle {...rest} cx={fine(xMm)} cy={fine(-yMm)} r={fine(r + grow)} />;
  const [w, d] = [hw + grow, hd + grow];
  return (
    <rect
      {...rest}
      x={fine(xMm - w)}
      y={fine(-yMm - d)}
      width={fine(2 * w)}
      height={fine(2 * d)}
      rx={Math.min(w, d, 6)}
    />
  );
}

/** Tenths of a mm are finer than any screen. */
export const fine = (value: number): number => Math.round(value * 10) / 10;
