import { boxOf, splitOf } from '../../server/kilns/chamber.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';
import { columnsUnder, type Floor, postsOn } from './load-geometry.ts';
import { fine, floorWords, type Look, lookOfStand, mm } from './plan-parts.tsx';

interface SideViewProps {
  problem: Problem;
  floors: Floor[];
  lookOf?: (id: string) => Look;
  /** The level that is meant, drawn with a heavier shelf. */
  at?: Pick<Floor, 'part' | 'level'>;
}

/** The drawing is about this wide (px) beside the plans. */
const SHOWN_PX = 340;
const TEXT_PX = 13;
/** Room for '12 · 160 + 100' beside the chamber. */
const MARGIN_PX = 74;
const POST_MM = 30;

/** The whole load from the front, to scale: shelves, posts and what stands on them, levels numbered from the floor. */
export function SideView({ problem, floors, lookOf = () => 'plain', at }: SideViewProps) {
  const { x0, x1 } = boxOf(problem.shelf);
  const top = problem.usableHeightMm;
  const isSplit = floors.some(({ part }) => part !== 'full');
  const hasLeft = floors.some(({ part }) => part === 'left');
  // The margins take a share of the drawing, which makes a mm smaller by as much.
  const margins = hasLeft ? 2 * MARGIN_PX : MARGIN_PX + 8;
  const unit = Math.max((x1 - x0) / (SHOWN_PX - margins), top / 620);
  const left = hasLeft ? MARGIN_PX * unit : 8 * unit;
  const view = { x: x0 - left, y: -top - 10 * unit, w: x1 - x0 + margins * unit, h: top + 18 * unit };
  const middle = splitOf(problem.shelf);
  const span = (part: Floor['part']): [number, number] =>
    part === 'full' ? [x0, x1] : part === 'left' ? [x0, middle] : [middle, x1];
  return (
    <svg
      class="side-view"
      viewBox={`${fine(view.x)} ${fine(view.y)} ${fine(view.w)} ${fine(view.h)}`}
      role="img"
      aria-label={describe(problem, floors)}
    >
      <path class="chamber" d={`M${fine(x0)} ${fine(-top)}V0H${fine(x1)}V${fine(-top)}`} />
      <path class="lid" d={`M${fine(x0)} ${fine(-top)}H${fine(x1)}`} />
      {isSplit && <path class="split-line" d={`M${fine(middle)} 0V${fine(-top)}`} />}
      {floors.map((floor) => {
        const [from, to] = span(floor.part);
        const isMeant = at?.part === floor.part && at.level === floor.level;
        return (
          <g key={`${floor.part} ${floor.level}`}>
            {floor.level === 1 && (problem.floorPostMm ?? 0) > 0 && (
              <Posts
                xs={postXs(
                  problem,
                  { ...floor, above: [floor.part], columns: columnsUnder(floor, floors) },
                  from,
                  to,
                )}
                foot={0}
                height={problem.floorPostMm ?? 0}
              />
            )}
            {[...floor.stands]
              .sort((a, b) => b.yMm - a.yMm)
              .map((stand) => {
                const half = stand.r > 0 ? stand.r : stand.hw;
                return (
                  <rect
                    key={stand.ids[0]}
                    class={`side-piece is-${lookOfStand(stand, lookOf)}`}
                    x={fine(stand.xMm - half)}
                    y={fine(-floor.baseMm - stand.heightMm)}
                    width={fine(2 * half)}
                    height={fine(stand.heightMm)}
                    rx={Math.min(half, stand.heightMm / 2, 8)}
                  />
                );
              })}
            {floor.posts !== null && (
              <Posts xs={postXs(problem, floor, from, to)} foot={floor.baseMm} height={floor.roomMm} />
            )}
            <rect
              class={isMeant ? 'side-shelf is-meant' : 'side-shelf'}
              x={fine(from)}
              y={fine(-floor.baseMm)}
              width={fine(to - from)}
              height={fine(problem.shelfThicknessMm)}
            />
            <Tag floor={floor} x={floor.part === 'left' ? x0 : x1} unit={unit} isMeant={isMeant} />
          </g>
        );
      })}
    </svg>
  );
}

/** Level and posts beside the chamber, with a line as high as the posts are. */
function Tag({ floor, x, unit, isMeant }: { floor: Floor; x: number; unit: number; isMeant: boolean }) {
  const side = floor.part === 'left' ? -1 : 1;
  const y = -floor.baseMm - Math.min(floor.roomMm / 2, 40 * unit);
  const posts = floor.posts === null ? '' : ` ${floor.posts.map((height) => fine(height)).join('+')}`;
  return (
    <g class="side-tag">
      {floor.posts !== null && (
        <path
          class="measure"
          d={`M${fine(x + side * 7 * unit)} ${fine(-floor.baseMm)}V${fine(-floor.baseMm - floor.roomMm)}`}
        />
      )}
      <text
        x={fine(x + side * 13 * unit)}
        y={fine(y + 0.36 * TEXT_PX * unit)}
        font-size={fine(TEXT_PX * unit)}
        text-anchor={side < 0 ? 'end' : 'start'}
      >
        <tspan class="side-level">{isMeant ? `▸${floor.level}` : floor.level}</tspan>
        {posts}
      </text>
    </g>
  );
}

/** Where posts are seen from the front; two at the ends where nobody said where they stand. */
function postXs(problem: Problem, floor: Floor, from: number, to: number): number[] {
  const known = postsOn(problem, floor).map(({ xMm }) => xMm);
  return known.length > 0 ? [...new Set(known)] : [from + POST_MM, to - POST_MM];
}

function Posts({ xs, foot, height }: { xs: number[]; foot: number; height: number }) {
  return (
    <path
      class="side-post"
      d={xs
        .map((x) => `M${fine(x - POST_MM / 2)} ${fine(-foot)}v${fine(-height)}h${POST_MM}v${fine(height)}z`)
        .join('')}
    />
  );
}

function describe(problem: Problem, floors: Floor[]): string {
  const words = floors.map((floor) =>
    floor.posts === null && floor.ids.length > 0
      ? `${floorWords(floor)}, ${mm(floor.roomMm - floor.tallestMm)} free above`
      : floorWords(floor),
  );
  return `Side view, to scale, from the floor up; ${mm(problem.usableHeightMm)} of usable height. ${words.join('. ')}.`;
}
