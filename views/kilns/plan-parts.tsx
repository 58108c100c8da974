import { cornersOf } from '../../server/kilns/chamber.ts';
import type { KeepOut, PostPosition, Shelf } from '../../server/kilns/packing/problem.ts';
import { shapeOf } from '../../server/kilns/packing/ware.ts';
import type { Box, Floor, Stand, ToFetch } from './load-geometry.ts';
import { listed } from './load-words.ts';

/** What is special about a piece in a drawing; shape and pattern say it, never colour alone. */
export type Look = 'plain' | 'mine' | 'chosen' | 'out';

const PRECEDENCE: Look[] = ['chosen', 'out', 'mine', 'plain'];

/** What a stack is drawn as: by whichever of its pieces says most. */
export const lookOfStand = ({ ids }: Stand, lookOf: (id: string) => Look): Look =>
  PRECEDENCE.find((look) => ids.some((id) => lookOf(id) === look)) ?? 'plain';

export const mm = (length: number): string => `${Number(length.toFixed(1))} mm`;

/** 'Level 2', 'Level 3, left half' */
export const floorName = ({ level, part }: Pick<Floor, 'level' | 'part'>): string =>
  part === 'full' ? `Level ${level}` : `Level ${level}, ${part} half`;

export const pieceCount = (count: number): string => (count === 1 ? '1 piece' : `${count} pieces`);

/** 'Level 1, posts of 160 mm: tallest 148 mm, 16 pieces'; 'posts of 100 on 60 mm' where two stand on one another */
export function floorWords(floor: Floor): string {
  const posts = floor.posts === null ? 'nothing above' : `posts of ${floor.posts.map(fine).join(' on ')} mm`;
  if (floor.ids.length === 0) return `${floorName(floor)}, ${posts}: empty`;
  return `${floorName(floor)}, ${posts}: tallest ${mm(floor.tallestMm)}, ${pieceCount(floor.ids.length)}`;
}

/** '9 posts of 160 mm, 6 of 100 mm', with the shelves before them. */
export function furnitureWords({ full, half, posts, floorPosts }: ToFetch): string[] {
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
  shelf,
  ...rest
}: {
  shelf: Shelf;
  class: string;
  'clip-path'?: string | undefined;
}) {
  if (shelf.shape === 'round') return <circle {...rest} r={shelf.diameterMm / 2} />;
  if (shelf.shape === 'rectangle')
    return <rect {...rest} x={0} y={-shelf.depthMm} width={shelf.widthMm} height={shelf.depthMm} />;
  const corners = cornersOf(shelf);
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

/** A place where a post stands or may stand. */
export function PostPlace({
  place: { xMm, yMm, widthMm, depthMm },
  kind,
}: {
  place: PostPosition;
  kind: string;
}) {
  return (
    <rect
      class={kind}
      x={fine(xMm - widthMm / 2)}
      y={fine(-yMm - depthMm / 2)}
      width={widthMm}
      height={depthMm}
    />
  );
}

/** A place where nothing may stand. */
export const KeptFree = ({ zone, fill }: { zone: KeepOut; fill: string }) => (
  <Footprint class="keep-out" fill={fill} xMm={zone.xMm} yMm={zone.yMm} {...shapeOf(zone)} />
);

/** What a `Hatch` is drawn with: a stroke, or two that cross. */
export const STROKE = 'M0 6L6 0';
export const CROSSED = 'M0 0L6 6M6 0L0 6';

export const Hatch = ({ id, unit, d }: { id: string; unit: number; d: string }) => (
  <pattern id={id} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform={`scale(${unit})`}>
    <path class="hatch" d={d} />
  </pattern>
);

export interface Facing {
  opens: 'top' | 'front';
  controls: 'front' | 'back' | 'left' | 'right';
}

/** What is found at that side of a kiln. */
export const frontWord = ({ opens, controls }: Facing): string =>
  opens === 'front' && controls === 'front' ? 'door' : 'controls';

/** Where the controls are, or the door, so that nobody builds it the wrong way round. `box` has its y upwards. */
export function Front({ box, unit, ...facing }: Facing & { box: Box; unit: number }) {
  const [x, y] = [(box.x0 + box.x1) / 2, -(box.y0 + box.y1) / 2];
  const [halfWidth, halfDepth] = [(box.x1 - box.x0) / 2, (box.y1 - box.y0) / 2];
  const { turn, reach } = {
    front: { turn: 0, reach: halfDepth },
    back: { turn: 180, reach: halfDepth },
    left: { turn: 90, reach: halfWidth },
    right: { turn: -90, reach: halfWidth },
  }[facing.controls];
  const bar = 30 * unit;
  return (
    <g
      class="front"
      transform={`translate(${fine(x)} ${fine(y)}) rotate(${turn}) translate(0 ${fine(reach + 4 * unit)})`}
    >
      <path d={`M${fine(-bar)} 0h${fine(2 * bar)}v${fine(5 * unit)}h${fine(-2 * bar)}z`} />
      <text
        y={fine(18 * unit)}
        font-size={fine(13 * unit)}
        text-anchor="middle"
        transform={turn === 180 ? `rotate(180 0 ${fine(14 * unit)})` : undefined}
      >
        {frontWord(facing)}
      </text>
    </g>
  );
}

/** Tenths of a mm are finer than any screen. */
export const fine = (value: number): number => Math.round(value * 10) / 10;
