import { boxOf, splitOf } from '../../server/kilns/chamber.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';
import { type Box, type Floor, keepOutsOn, postsOn, type Stand, sparePostsOn } from './load-geometry.ts';
import { upper } from './load-words.ts';
import { type Label, placeLabels, textBox } from './plan-labels.ts';
import {
  CROSSED,
  type Facing,
  Footprint,
  Front,
  fine,
  floorName,
  floorWords,
  Hatch,
  KeptFree,
  type Look,
  lookOfStand,
  Outline,
  PostPlace,
  STROKE,
} from './plan-parts.tsx';

/** A place where a piece may be put, drawn with its letter. */
export interface Spot {
  letter: string;
  part: Floor['part'];
  xMm: number;
  yMm: number;
  /** Half extents of the piece as it would stand there. */
  hw: number;
  hd: number;
  r: number;
}

interface LevelPlanProps extends Facing {
  problem: Problem;
  /** One shelf, or both halves of one level. */
  floors: Floor[];
  /** Unlike that of any other drawing on the page. */
  id: string;
  lookOf?: (id: string) => Look;
  spots?: Spot[];
  /** The script may drag pieces about on it. */
  isMovable?: boolean;
}

/** A phone is this wide (px) inside its margins; what is readable is reckoned for it. */
const PHONE = 360;
const LEAST_PX = 11;
const WANTED_PX = 17;

/** One level from above, to scale. The front of the kiln is below. */
export function LevelPlan(props: LevelPlanProps) {
  const { problem, floors, id, controls, opens, lookOf = () => 'plain', spots = [], isMovable } = props;
  const { unit, view, labels } = layOut(problem, floors, controls);
  const [first] = floors;
  const isSplit = floors.some(({ part }) => part !== 'full');
  // The other half has no shelf at this level, or none that is looked at.
  const isHalf = isSplit && floors.length === 1;
  const outline = boxOf(problem.shelf);
  const middle = splitOf(problem.shelf);
  return (
    <svg
      class="level-plan"
      viewBox={`${fine(view.x0)} ${fine(view.y0)} ${fine(view.x1 - view.x0)} ${fine(view.y1 - view.y0)}`}
      role="img"
      aria-label={describe(problem, floors)}
      data-plan={isMovable ? first?.level : undefined}
      data-parts={isMovable ? floors.map(({ part }) => part).join(' ') : undefined}
      data-split={isMovable ? middle : undefined}
    >
      <defs>
        <Hatch id={`${id}-mine`} unit={unit} d={STROKE} />
        <Hatch id={`${id}-keep`} unit={unit} d={CROSSED} />
        {isHalf && first && (
          <clipPath id={`${id}-half`}>
            <path d={halfBox(first.part, outline, middle)} />
          </clipPath>
        )}
      </defs>
      {isHalf && <Outline shelf={problem.shelf} class="no-shelf" />}
      <Outline shelf={problem.shelf} class="shelf" clip-path={isHalf ? `url(#${id}-half)` : undefined} />
      {allKeepOuts(problem, floors).map((zone) => (
        <KeptFree key={`${zone.xMm} ${zone.yMm}`} zone={zone} fill={`url(#${id}-keep)`} />
      ))}
      {isSplit && <path class="split-line" d={`M${middle} ${fine(-outline.y0)}V${fine(-outline.y1)}`} />}
      {allPosts(problem, floors).map((place) => (
        <PostPlace key={`${place.xMm} ${place.yMm}`} place={place} kind="post" />
      ))}
      {sparePosts(problem, floors).map((place) => (
        <PostPlace key={`${place.xMm} ${place.yMm}`} place={place} kind="post spare" />
      ))}
      {floors.flatMap((floor) =>
        floor.stands.map((stand) => (
          <Piece key={stand.ids[0]} stand={stand} look={lookOfStand(stand, lookOf)} id={id} labels={labels} />
        )),
      )}
      <Lines labels={labels} />
      {labels
        .filter(({ from }) => from !== null)
        .map((label) => (
          <Figure key={label.id} label={label} />
        ))}
      {spots.map((spot) => (
        <SpotMark key={spot.letter} spot={spot} unit={unit} />
      ))}
      <Front controls={controls} opens={opens} box={outline} unit={unit} />
    </svg>
  );
}

/** What the patterns of the drawings beside it mean; only of those that are there. */
export function PlanKey({ problem, floors, looks }: { problem: Problem; floors: Floor[]; looks: Look[] }) {
  const words = [
    allPosts(problem, floors).length > 0 && 'filled squares: posts',
    sparePosts(problem, floors).length > 0 && 'empty squares: places for posts that are free in this load',
    looks.includes('mine') && 'hatched: yours',
    looks.includes('chosen') && 'filled in: the one you chose',
    looks.includes('out') && 'crossed out: not in the kiln',
    floors.some(({ stands }) => stands.some(({ trayMm }) => trayMm > 0)) && 'dashed ring: its tray',
    floors.some(({ stands }) => stands.some(({ ids }) => ids.length > 1)) &&
      '×3: a stack of three, the lowest named',
    allKeepOuts(problem, floors).length > 0 && 'cross-hatched: nothing may stand there',
  ].filter(Boolean);
  return words.length > 0 ? <p class="plan-key">Seen from above. {upper(words.join('; '))}.</p> : null;
}

/** 'Level 2 …' in words, for who does not see the drawing. */
function describe(problem: Problem, floors: Floor[]): string {
  const posts = allPosts(problem, floors).length;
  const stacks = floors.flatMap(({ stands }) => stands).filter(({ ids }) => ids.length > 1).length;
  const zones = allKeepOuts(problem, floors).length;
  return `${[
    `Plan from above, to scale. ${floors.map(floorWords).join('. ')}`,
    posts > 0 && (posts === 1 ? 'One post' : `${posts} posts`),
    stacks > 0 && (stacks === 1 ? 'One stack' : `${stacks} stacks`),
    zones > 0 && (zones === 1 ? 'One place is kept clear' : `${zones} places are kept clear`),
  ]
    .filter(Boolean)
    .join('. ')}. The list below names every piece.`;
}

function allPosts(problem: Problem, floors: Floor[]) {
  return [...new Set(floors.flatMap((floor) => postsOn(problem, floor)))];
}

function sparePosts(problem: Problem, floors: Floor[]) {
  const used = allPosts(problem, floors);
  const spare = floors.flatMap((floor) => sparePostsOn(problem, floor));
  return [...new Set(spare)].filter((place) => !used.includes(place));
}

function allKeepOuts(problem: Problem, floors: Floor[]) {
  return [...new Set(floors.flatMap((floor) => keepOutsOn(problem, floor)))];
}

const numberOf = ({ ids }: Stand): string => (ids.length > 1 ? `${ids[0]}×${ids.length}` : (ids[0] ?? ''));

/** The whole drawing in mm: numbers placed, and as much room around the shelf as they and the front need. */
function layOut(
  problem: Problem,
  floors: Floor[],
  controls: LevelPlanProps['controls'],
): { unit: number; view: Box; labels: Label[] } {
  const up = boxOf(problem.shelf);
  const outline: Box = { x0: up.x0, x1: up.x1, y0: -up.y1, y1: -up.y0 };
  const stands = floors.flatMap((floor) => floor.stands);
  const blocked = [...allPosts(problem, floors), ...sparePosts(problem, floors)].map(
    ({ xMm, yMm, widthMm, depthMm }) => ({
      x0: xMm - widthMm / 2,
      x1: xMm + widthMm / 2,
      y0: -yMm - depthMm / 2,
      y1: -yMm + depthMm / 2,
    }),
  );
  let unit = (outline.x1 - outline.x0) / PHONE;
  for (let round = 0; ; round++) {
    const labels = placeLabels({
      stands,
      textOf: numberOf,
      blocked,
      outline,
      least: LEAST_PX * unit,
      wanted: WANTED_PX * unit,
    });
    const view = { ...outline };
    for (const { text, x, y, size } of labels) {
      const { width, height } = textBox(text, size);
      view.x0 = Math.min(view.x0, x - width / 2);
      view.x1 = Math.max(view.x1, x + width / 2);
      view.y0 = Math.min(view.y0, y - height / 2);
      view.y1 = Math.max(view.y1, y + height / 2);
    }
    const air = 5 * unit;
    const front = FRONT_PX * unit;
    view.x0 -= controls === 'left' ? front : air;
    view.x1 += controls === 'right' ? front : air;
    view.y0 -= controls === 'back' ? front : air;
    view.y1 += controls === 'front' ? front : air;
    const wider = (view.x1 - view.x0) / PHONE;
    // Room beyond the outline makes everything smaller on the phone, so that the numbers have to grow.
    if (wider <= unit * 1.02 || round === 4) return { unit, view, labels };
    unit = wider;
  }
}

const FRONT_PX = 26;

function Piece({ stand, look, id, labels }: { stand: Stand; look: Look; id: string; labels: Label[] }) {
  const { ids, xMm, yMm, hw, hd, r, trayMm, turned } = stand;
  const [lowest] = ids;
  const label = labels.find((one) => one.id === lowest && one.from === null);
  const place = { xMm, yMm, hw, hd, r };
  return (
    <g
      class={`piece is-${look}`}
      data-piece={lowest}
      data-x={fine(xMm)}
      data-y={fine(yMm)}
      data-turned={turned ? 'yes' : undefined}
    >
      {trayMm > 0 && <Footprint {...place} class="tray" grow={trayMm} />}
      <Footprint {...place} class="body" />
      {look === 'mine' && <Footprint {...place} fill={`url(#${id}-mine)`} />}
      {look === 'out' && <path class="cross" d={crossOver(stand)} />}
      {label && <Figure label={label} />}
    </g>
  );
}

function crossOver({ xMm, yMm, hw, hd, r }: Stand): string {
  const w = r > 0 ? r * Math.SQRT1_2 : hw;
  const d = r > 0 ? r * Math.SQRT1_2 : hd;
  const [x0, x1, y0, y1] = [xMm - w, xMm + w, -yMm - d, -yMm + d].map(fine);
  return `M${x0} ${y0}L${x1} ${y1}M${x0} ${y1}L${x1} ${y0}`;
}

/** From a piece too small for its number to where the number stands. */
function Lines({ labels }: { labels: Label[] }) {
  const d = labels.flatMap(({ from, x, y, text, size }) => {
    if (!from) return [];
    const { width, height } = textBox(text, size);
    const [dx, dy] = [from.x - x, from.y - y];
    // To the edge of the number, not through it.
    const share = Math.max(Math.abs(dx) / (width / 2), Math.abs(dy) / (height / 2), 1);
    return [`M${fine(from.x)} ${fine(from.y)}L${fine(x + dx / share)} ${fine(y + dy / share)}`];
  });
  return d.length > 0 ? <path class="leader" d={d.join('')} /> : null;
}

function Figure({ label: { text, x, y, size } }: { label: Label }) {
  return (
    <text x={fine(x)} y={fine(y + 0.36 * size)} font-size={fine(size)} text-anchor="middle">
      {text}
    </text>
  );
}

function SpotMark({ spot, unit }: { spot: Spot; unit: number }) {
  const { letter, xMm, yMm } = spot;
  return (
    <g class="spot">
      <Footprint xMm={xMm} yMm={yMm} hw={spot.hw} hd={spot.hd} r={spot.r} class="spot-place" />
      <circle class="spot-badge" cx={fine(xMm)} cy={fine(-yMm)} r={fine(12 * unit)} />
      <text x={fine(xMm)} y={fine(-yMm + 5.4 * unit)} font-size={fine(15 * unit)} text-anchor="middle">
        {letter}
      </text>
    </g>
  );
}

function halfBox(part: Floor['part'], { x0, x1, y0, y1 }: Box, middle: number): string {
  const [from, to] = part === 'left' ? [x0, middle] : [middle, x1];
  return `M${fine(from)} ${fine(-y1)}H${fine(to)}V${fine(-y0)}H${fine(from)}z`;
}

/** 'Level 3', whether one shelf or two halves. */
export const levelTitle = (floors: Floor[]): string => {
  const [first] = floors;
  if (!first) return '';
  return floors.length === 1 ? floorName(first) : `Level ${first.level}, two halves`;
};
