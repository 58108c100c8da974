/** The ground a piece covers, seen from above; mm. */
export type Footprint =
  | { shape: 'circle'; diameterMm: number }
  | { shape: 'rectangle'; widthMm: number; depthMm: number };

export interface Size {
  footprint: Footprint;
  heightMm: number;
}

/** How far it reaches to either side, mm: the diameter both times for a circle. */
export const extentOf = (footprint: Footprint): { widthMm: number; depthMm: number } =>
  footprint.shape === 'circle'
    ? { widthMm: footprint.diameterMm, depthMm: footprint.diameterMm }
    : { widthMm: footprint.widthMm, depthMm: footprint.depthMm };

/** When ware was measured. Fired ware is never measured for packing: it has shrunk further than it stands in a kiln. */
export const MEASURED = ['wet', 'dry', 'bisque'] as const;
export type Measured = (typeof MEASURED)[number];

const scaled = ({ footprint, heightMm }: Size, by: number): Size => ({
  footprint:
    footprint.shape === 'circle'
      ? { shape: 'circle', diameterMm: footprint.diameterMm * by }
      : { shape: 'rectangle', widthMm: footprint.widthMm * by, depthMm: footprint.depthMm * by },
  heightMm: heightMm * by,
});

/**
 * The size that wet ware has when bone dry, mm: every length × (1 − s/100), s being the clay's drying shrinkage in per
 * cent of the wet length, as clay makers state it. Throws RangeError for a shrinkage outside 0 … 50.
 */
export function dryFromWet(size: Size, dryShrinkPercent: number): Size {
  if (!(dryShrinkPercent >= 0 && dryShrinkPercent <= 50))
    throw new RangeError(`Clay does not shrink by ${dryShrinkPercent} % in drying.`);
  return scaled(size, 1 - dryShrinkPercent / 100);
}

/**
 * The size that a piece has in the firing it goes into next, mm: its dry size, both as greenware and once bisqued,
 * for between the two a clay shrinks by less than a per cent (common practice, no source), which is left out on the
 * safe side. Never the fired size. Ware of an unknown clay is taken as it was measured: it can only be smaller.
 */
export const asPacked = (size: Size, measured: Measured, clay: { dryShrinkPercent: number } | null): Size =>
  measured === 'wet' && clay ? dryFromWet(size, clay.dryShrinkPercent) : size;
