/** What a studio chooses about ware; the defaults are common practice, no source. */
export interface WareSettings {
  /** Walls thicker than this wait longer before bisque. */
  thickAboveMm: number;
  thickWaitDays: number;
  /** Glaze ends this far above the foot. */
  heldBackMm: number;
  heldBackRunnyMm: number;
  /** Fired ware that nobody fetched. */
  uncollectedDays: number;
  /** What clay nobody knows is bisqued to. */
  bisqueCone: string;
  /** Dry coats as they usually are, and the most that two of them may come to. */
  usualCoatLowMm: number;
  usualCoatHighMm: number;
  mostCoatMm: number;
  /** Bulk density of a dry coat where nobody measured it, g/cm³. */
  dryCoatDensity: number;
  /** Lined ware dries back so long where it is not weighed: overnight. */
  dryBackHours: number;
  /** Share of its glaze's water that must be gone before the next coat. */
  waterGonePercent: number;
}

export const WARE_DEFAULTS: WareSettings = {
  thickAboveMm: 12,
  thickWaitDays: 7,
  heldBackMm: 6,
  heldBackRunnyMm: 12,
  uncollectedDays: 21,
  bisqueCone: '06',
  // Coats and their density: from memory.
  usualCoatLowMm: 0.4,
  usualCoatHighMm: 0.6,
  mostCoatMm: 1.5,
  dryCoatDensity: 1.4,
  dryBackHours: 12,
  waterGonePercent: 90,
};

/** The dry coat that is wanted where nobody said otherwise: the middle of what is usual, mm. */
export const usualCoatMm = ({
  usualCoatLowMm,
  usualCoatHighMm,
}: Pick<WareSettings, 'usualCoatLowMm' | 'usualCoatHighMm'>): number =>
  (usualCoatLowMm + usualCoatHighMm) / 2;
