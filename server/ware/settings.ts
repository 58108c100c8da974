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
}

export const WARE_DEFAULTS: WareSettings = {
  thickAboveMm: 12,
  thickWaitDays: 7,
  heldBackMm: 6,
  heldBackRunnyMm: 12,
  uncollectedDays: 21,
  bisqueCone: '06',
};
