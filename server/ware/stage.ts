/** Where a piece is in its life. It is in exactly one of these. */
export const STAGES = [
  'made',
  'drying',
  'waiting-bisque',
  'bisqued',
  'glazed',
  'waiting-glaze',
  'in-load',
  'fired',
  'picked-up',
  'returned',
  'refire',
  'left-behind',
  'no-name',
  'lost',
] as const;
export type Stage = (typeof STAGES)[number];

/** As screens say it. */
export const STAGE_WORDS: Record<Stage, string> = {
  made: 'Made',
  drying: 'Drying',
  'waiting-bisque': 'Waiting for bisque',
  bisqued: 'Bisqued',
  glazed: 'Glazed',
  'waiting-glaze': 'Waiting for glaze firing',
  'in-load': 'In a load',
  fired: 'Fired',
  'picked-up': 'Picked up',
  returned: 'Returned to you',
  refire: 'To be fired again',
  'left-behind': 'Left behind',
  'no-name': 'No name found',
  lost: 'Lost',
};

/** Stages of what stands where it is glazed. */
export const AT_BENCH: readonly Stage[] = ['made', 'drying', 'bisqued', 'glazed', 'returned'];

/** Stages from which the packer takes pieces. */
export const WAITING: readonly Stage[] = ['waiting-bisque', 'waiting-glaze', 'refire'];
