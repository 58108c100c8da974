import { boxOf, type Furniture, splitOf } from '../../server/kilns/chamber.ts';
import { plural, shelfWords } from './kiln-parts.tsx';
import {
  CROSSED,
  type Facing,
  Front,
  fine,
  frontWord,
  Hatch,
  KeptFree,
  Outline,
  PostPlace,
} from './plan-parts.tsx';

interface DrawingProps {
  kiln: Furniture & Facing;
  /** Unlike that of any other drawing on the page. */
  id: string;
}

/** A phone is this wide (px) inside its margins; what is readable is reckoned for it. */
const PHONE = 350;
const TEXT_PX = 13;
const MARGIN_PX = 26;

/** An empty kiln to scale: its shelf from above, and from the side what height there is. */
export function KilnDrawing({ kiln, id }: DrawingProps) {
  return (
    <div class="kiln-drawing">
      <figure>
        <ShelfPlan kiln={kiln} id={id} />
        <figcaption>
          From above: {shelfWords(kiln.shelf)}. Filled squares are posts
          {kiln.keepOuts.length > 0 && ', cross-hatched is kept free'}
          {kiln.halfShelves > 0 && ', the dashed line is where half shelves meet'}.
        </figcaption>
      </figure>
      <figure>
        <Side kiln={kiln} id={id} />
        <figcaption>
          From the front: {kiln.usableHeightMm} mm of usable height, the dashed line is as high as ware may
          reach. Beside it the posts there are, to the same scale.
        </figcaption>
      </figure>
    </div>
  );
}

function ShelfPlan({ kiln, id }: DrawingProps) {
  const { shelf, keepOuts, postPositions, controls, opens } = kiln;
  const box = boxOf(shelf);
  const [width, depth] = [box.x1 - box.x0, box.y1 - box.y0];
  const unit = width / (PHONE - 2 * MARGIN_PX);
  const margin = MARGIN_PX * unit;
  const middle = splitOf(shelf);
  return (
    <svg
      class="level-plan"
      viewBox={[box.x0 - margin, -box.y1 - margin, width + 2 * margin, depth + 2 * margin]
        .map(fine)
        .join(' ')}
      role="img"
      aria-label={`Shelf from above, to scale: ${shelfWords(shelf)}. ${plural(postPositions.length, 'place')} for posts. ${
        keepOuts.length > 0 ? `${plural(keepOuts.length, 'place')} kept free. ` : ''
      }${frontWord(kiln)} at the ${controls}.`}
    >
      <defs>
        <Hatch id={`${id}-plan`} unit={unit} d={CROSSED} />
      </defs>
      <Outline shelf={shelf} class="shelf" />
      {keepOuts.map((zone, i) => (
        <KeptFree key={i} zone={zone} fill={`url(#${id}-plan)`} />
      ))}
      {kiln.halfShelves > 0 && (
        <path class="split-line" d={`M${fine(middle)} ${fine(-box.y1)}V${fine(-box.y0)}`} />
      )}
      {postPositions.map((place) => (
        <PostPlace key={`${place.xMm} ${place.yMm}`} place={place} kind="post" />
      ))}
      <Front box={box} unit={unit} controls={controls} opens={opens} />
    </svg>
  );
}

/** Beside the chamber each height of posts takes so much of the drawing. */
const POST_PX = 34;

function Side({ kiln, id }: DrawingProps) {
  const { usableHeightMm: top, floorPostMm, shelfThicknessMm, topClearanceMm, posts, postPositions } = kiln;
  const { x0, x1 } = boxOf(kiln.shelf);
  // A lot of heights would leave no room for the chamber: the tallest are drawn, all are in the list.
  const shown = [...posts].sort((a, b) => a.heightMm - b.heightMm).slice(-MOST_POSTS);
  const beside = (shown.length * POST_PX + 16) / PHONE;
  const unit = Math.max((x1 - x0) / (PHONE * (1 - beside) - 12), top / 420);
  const left = x1 + 14 * unit;
  const view = [x0 - 6 * unit, -top - 6 * unit, x1 - x0 + 12 * unit + beside * PHONE * unit, top + 26 * unit];
  const xs = [...new Set(postPositions.map(({ xMm }) => xMm))];
  const foot = 30;
  const base = floorPostMm + shelfThicknessMm;
  const highest = Math.max(top - topClearanceMm, base);
  return (
    <svg
      class="side-view"
      viewBox={view.map(fine).join(' ')}
      role="img"
      aria-label={`The kiln from the front, to scale: ${top} mm of usable height, the first shelf ${base} mm above the floor, ware up to ${highest} mm. Posts: ${postWords(posts)}.`}
    >
      <defs>
        <Hatch id={`${id}-side`} unit={unit} d={CROSSED} />
      </defs>
      <path class="chamber" d={`M${fine(x0)} ${fine(-top)}V0H${fine(x1)}V${fine(-top)}`} />
      <path class="lid" d={`M${fine(x0)} ${fine(-top)}H${fine(x1)}`} />
      {kiln.keepOuts.map((zone, i) => {
        const half = zone.shape === 'circle' ? zone.diameterMm / 2 : zone.widthMm / 2;
        const [from, to] = [zone.fromMm ?? 0, Math.min(zone.toMm ?? top, top)];
        return (
          <rect
            key={i}
            class="keep-out"
            fill={`url(#${id}-side)`}
            x={fine(zone.xMm - half)}
            y={fine(-to)}
            width={fine(2 * half)}
            height={fine(Math.max(to - from, 0))}
          />
        );
      })}
      <path class="split-line" d={`M${fine(x0)} ${fine(-highest)}H${fine(x1)}`} />
      {floorPostMm > 0 && (
        <path
          class="side-post"
          d={xs
            .map((x) => `M${fine(x - foot / 2)} 0v${fine(-floorPostMm)}h${foot}v${fine(floorPostMm)}z`)
            .join('')}
        />
      )}
      <rect
        class="side-shelf"
        x={fine(x0)}
        y={fine(-base)}
        width={fine(x1 - x0)}
        height={fine(shelfThicknessMm)}
      />
      {shown.map(({ heightMm, count }, i) => {
        const x = left + (i + 0.5) * POST_PX * unit;
        return (
          <g key={heightMm}>
            <path
              class="side-post"
              d={`M${fine(x - 7 * unit)} 0v${fine(-heightMm)}h${fine(14 * unit)}v${fine(heightMm)}z`}
            />
            <text x={fine(x)} y={fine(15 * unit)} font-size={fine(TEXT_PX * unit)} text-anchor="middle">
              {count}
            </text>
            <text
              x={fine(x)}
              y={fine(-heightMm - 4 * unit)}
              font-size={fine(TEXT_PX * unit)}
              text-anchor="middle"
            >
              {fine(heightMm)}
            </text>
          </g>
        );
      })}
    </svg>
  );
}

const MOST_POSTS = 5;

/** '24 of 60 mm, 12 of 100 mm' */
export const postWords = (posts: { heightMm: number; count: number }[]): string =>
  posts.length === 0 ? 'none' : posts.map(({ heightMm, count }) => `${count} of ${heightMm} mm`).join(', ');
