import type { JSX } from 'preact';

/** What each of the UN's symbols is called where it cannot be seen. */
export const PICTOGRAM_WORDS = {
  GHS01: 'Exploding bomb',
  GHS02: 'Flame',
  GHS03: 'Flame over circle',
  GHS04: 'Gas cylinder',
  GHS05: 'Corrosion',
  GHS06: 'Skull and crossbones',
  GHS07: 'Exclamation mark',
  GHS08: 'Health hazard',
  GHS09: 'Environment',
} as const;
export type PictogramCode = keyof typeof PICTOGRAM_WORDS;

const isCode = (code: string): code is PictogramCode => Object.hasOwn(PICTOGRAM_WORDS, code);

/** One drop falling straight down, its tip at (x, y). */
const drop = (x: number, y: number): string =>
  `M${x} ${y}c1.9 3 2.6 4.2 2.6 5.4a2.6 2.6 0 0 1-5.2 0c0-1.2.7-2.4 2.6-5.4z`;

const FLAME =
  'M49 71c-9-1.5-14.5-8-14-16 .4-7 5-10.5 7.5-16.5 1.6-4 1.3-8-.5-12.5 5.5 2.8 8.6 7.6 9 14 2.7-2.6 3.6-5.7 2.8-9.5 3.7 3 5.4 7 5 12 1.6-1 2.5-2.5 2.7-4.5 2.7 4 4.2 9 3.6 15-.8 9.5-6.6 16.5-16.1 18z';
const FLAME_INSIDE =
  'M50 68.5c-5.5-.8-8.5-4.5-8-9.5.4-3.8 3-6 4.2-10 3 2.3 4.5 5 4.5 8.3 1.5-1 2.3-2.5 2.4-4.6 3 2.8 4.6 6 4.2 9-.5 3.8-3.3 6.3-7.3 6.8z';

/** Drawn in a square of 100 by 100 that stands on its point; black lies on white. */
const SYMBOLS: Record<PictogramCode, JSX.Element> = {
  GHS01: (
    <g transform="translate(2.5 1) scale(.95)">
      <circle class="ghs-black" cx="37" cy="62" r="11" />
      <path class="ghs-line" d="M43 53l5-6.5" stroke-width="4.5" />
      <path
        class="ghs-black"
        d="M54 45l-9-5.5 7.5-.5-4-11 8 7 3.5-11 2.5 12 9-5-4.5 8.5 10.5.5-9 5.5 5.5 6-8.5-1 .5 9.5-5.5-7.5-5 8.5-.5-9.5-8.5 3z"
      />
      <path
        class="ghs-line"
        d="M59 66l3 4M70 60.5l-4-3M52 71l.3 5M27 47l-2.5-3.5M36 45l-.7-4"
        stroke-width="2.6"
      />
      <path class="ghs-white" d="M30.5 60.5a7 7 0 0 1 6-6l.3 2.2a4.8 4.8 0 0 0-4.1 4.1z" />
    </g>
  ),
  GHS02: (
    <>
      <path class="ghs-black" d={FLAME} />
      <path class="ghs-white" d={FLAME_INSIDE} />
      <path class="ghs-line" d="M37 75.5h26" stroke-width="4" />
    </>
  ),
  GHS03: (
    <g transform="translate(9 8) scale(.82)">
      <circle class="ghs-ring" cx="50" cy="65" r="13" />
      <g transform="translate(14.5 .5) scale(.71)">
        <path class="ghs-halo" d={FLAME} />
        <path class="ghs-black" d={FLAME} />
        <path class="ghs-white" d={FLAME_INSIDE} />
      </g>
      <path class="ghs-line" d="M38 82h24" stroke-width="3.6" />
    </g>
  ),
  GHS04: (
    <g transform="translate(3.5 5) scale(.92) rotate(-32 50 51)">
      <path
        class="ghs-black"
        d="M26 42.5h38c4.5 0 7 2.5 8.5 4.5h4v-1.8h5v12.6h-5V56h-4c-1.5 2-4 4.5-8.5 4.5H26c-3.3 0-5-4-5-9s1.7-9 5-9z"
      />
      <path class="ghs-white" d="M28 45.7h34a1.3 1.3 0 0 1 0 2.6H28a1.3 1.3 0 0 1 0-2.6z" />
    </g>
  ),
  GHS05: (
    <g transform="translate(7.5 5.5) scale(.85)">
      <path class="ghs-line" d="M24.5 41l22-9.5" stroke-width="8.6" />
      <path class="ghs-line ghs-on-black" d="M26 40.3l12-5.2" stroke-width="3.4" />
      <path class="ghs-line" d="M75.5 41l-22-9.5" stroke-width="8.6" />
      <path class="ghs-line ghs-on-black" d="M74 40.3l-12-5.2" stroke-width="3.4" />
      <path class="ghs-black" d={`${drop(43.5, 39)}${drop(43.5, 48)}${drop(57, 39)}${drop(57, 48)}`} />
      <path
        class="ghs-black"
        d="M18.5 60H36c1.5 3.5 3.5 1.2 5 4.5 1.2 2.5 3.8 2.5 5-.5.6-1.6 1-4 2-4h1.5v9.5h-31z"
      />
      <path
        class="ghs-black"
        d="M54.5 59.5c1.5 2.8 4 2.5 5.5 2.2 2.5-.6 4-2.7 7-2.7h14.5v10.5H70c-3.5 0-5.5 3.5-9.5 3.5h-9c-1.8 0-2-2.5-.2-2.8l6.2-.9c-2.8-.6-4.8-2.8-5.2-5.8-.3-2.3.9-4 2.2-4z"
      />
      <path class="ghs-line" d="M39.5 57l-2.5-2.5M47 57l2.5-2M61 57.5l2.5-2.5" stroke-width="1.8" />
    </g>
  ),
  GHS06: (
    <g transform="translate(9.5 4.5) scale(.81)">
      <path class="ghs-line" d="M27 58.5l46 17M73 58.5l-46 17" stroke-width="5" />
      <path
        class="ghs-black"
        d="M25 54a3.3 3.3 0 0 1 4 4 3.3 3.3 0 1 1-5.5 2.5A3.3 3.3 0 0 1 25 54zM75 54a3.3 3.3 0 0 0-4 4 3.3 3.3 0 1 0 5.5 2.5A3.3 3.3 0 0 0 75 54zM25 80a3.3 3.3 0 0 0 4-4 3.3 3.3 0 1 0-5.5-2.5A3.3 3.3 0 0 0 25 80zM75 80a3.3 3.3 0 0 1-4-4 3.3 3.3 0 1 1 5.5-2.5A3.3 3.3 0 0 1 75 80z"
      />
      <path
        class="ghs-black ghs-edged"
        d="M50 19c11 0 18 7.5 18 17 0 5.5-2 9.5-6 12.5-1 .8-1 2-1 3.5v6c0 2-1 3.5-3 3.5H42c-2 0-3-1.5-3-3.5v-6c0-1.5 0-2.7-1-3.5-4-3-6-7-6-12.5 0-9.5 7-17 18-17z"
      />
      <ellipse class="ghs-white" cx="42" cy="38.5" rx="5.2" ry="4.8" />
      <ellipse class="ghs-white" cx="58" cy="38.5" rx="5.2" ry="4.8" />
      <path class="ghs-white" d="M50 43.5l3 5.5c-1.8 1.3-4.2 1.3-6 0z" />
      <path class="ghs-line ghs-on-black" d="M45 54.5v6M50 54.5v6M55 54.5v6" stroke-width="1.7" />
    </g>
  ),
  GHS07: (
    <path
      class="ghs-black"
      d="M50 17c4.6 0 7.6 2.8 7.2 7.5l-3.2 34c-.3 3-1.8 4.5-4 4.5s-3.7-1.5-4-4.5l-3.2-34C42.4 19.8 45.4 17 50 17zM50 68.5a6.8 6.8 0 1 1 0 13.6 6.8 6.8 0 0 1 0-13.6z"
    />
  ),
  GHS08: (
    <g transform="translate(5 5) scale(.9)">
      <path
        class="ghs-black"
        d="M50 15.5c5.3 0 9 4 9 9.7 0 4-1.5 7.3-3.8 9.3.3 2.2 1.8 3.3 5.3 4.5 6.5 2.3 10 5 11 10.5l3 17.5c-7 7.5-15.5 9.5-24.5 9.5s-17.5-2-24.5-9.5l3-17.5c1-5.5 4.5-8.2 11-10.5 3.5-1.2 5-2.3 5.3-4.5-2.3-2-3.8-5.3-3.8-9.3 0-5.7 3.7-9.7 9-9.7z"
      />
      <path
        class="ghs-white"
        d="M50 41l2.8 8.2 8.2-4.2-4.2 8.2 9.7 2.8-9.7 2.8 6.2 11-11-6.2-2 10.5-2-10.5-11 6.2 6.2-11-9.7-2.8 9.7-2.8-4.2-8.2 8.2 4.2z"
      />
    </g>
  ),
  GHS09: (
    <g transform="translate(9.5 -1.5) scale(.84)">
      <path
        class="ghs-line"
        d="M36 66c1.5-8 1-16 .5-24M36.7 48l-7-8.5M33 43.5l-.8-7.5M36.5 42l5.5-8M39.2 38l-.9-8M36.8 54l8-6.5M41.5 50.2l5.5.3"
        stroke-width="2.6"
      />
      <path class="ghs-black" d="M33.5 68l1.7-17h3.2l1.9 17z" />
      <path
        class="ghs-black"
        d="M14.5 66.5H43c3 0 3.5 2.5 1 3.5-2 .8-3.5 1-4 2.5-.6 2 3 2.5 6.5 2.5h27.5l-4 4.5H32z"
      />
      <path
        class="ghs-black ghs-edged"
        d="M45 64.5c3-7 9-11 16.5-11 5 0 9 2 12 5l7.5-4.5c.9 3.3.5 7-1.2 10.5l-6.8-2c-3.5 4.5-8.5 7-14 6.5l-4 4.5-1.5-5.5c-3.5-.6-6.5-2-8.5-3.5z"
      />
      <path class="ghs-line ghs-on-black" d="M51 59.5l3 3M54 59.5l-3 3" stroke-width="1.5" />
      <path class="ghs-line ghs-on-black" d="M58.5 57c1.5 2.8 1.5 6 0 9" stroke-width="1.4" />
    </g>
  ),
};

interface PictogramProps {
  code: string;
  /** From point to point, in pixels of a screen. */
  size?: number;
  /** The side of its square on paper, as regulations measure it, instead of `size`. */
  sideMm?: number | undefined;
  /** False where the words beside it say what it is. */
  named?: boolean;
}

/** A symbol of the UN's system for labelling chemicals: black on white in a red square on its point. */
export function Pictogram({ code, size = 48, sideMm, named = true }: PictogramProps) {
  if (!isCode(code)) return null;
  const across = sideMm === undefined ? size : `${(sideMm * Math.SQRT2).toFixed(1)}mm`;
  const box = { class: 'ghs', viewBox: '0 0 100 100', width: across, height: across };
  const drawn = (
    <>
      <path class="ghs-frame" d="M50 3.5L96.5 50 50 96.5 3.5 50z" stroke-width="5" />
      {SYMBOLS[code]}
    </>
  );
  return named ? (
    <svg {...box} role="img" aria-label={PICTOGRAM_WORDS[code]}>
      {drawn}
    </svg>
  ) : (
    <svg {...box} aria-hidden="true">
      {drawn}
    </svg>
  );
}

/** Those of a label or a notice, side by side. */
export function Pictograms({
  codes,
  ...size
}: { codes: readonly string[] } & Pick<PictogramProps, 'size' | 'sideMm'>) {
  if (codes.length === 0) return null;
  return (
    <div class="ghs-row">
      {codes.map((code) => (
        <Pictogram key={code} code={code} {...size} />
      ))}
    </div>
  );
}
