import type { Instant } from '../core/clock.ts';
import type { PieceEvent } from './fold.ts';
import type { WareSettings } from './settings.ts';

// How a piece is glazed: what goes where, what was done of it, and whether its wall is dry enough for the next coat.

/** Where a coat is: in the piece, outside, over another one, or all over it at once. */
export const COAT_FACES = ['inside', 'outside', 'over', 'all'] as const;
export type CoatFace = (typeof COAT_FACES)[number];

export const COAT_WAYS = ['dip', 'pour'] as const;
export type CoatWay = (typeof COAT_WAYS)[number];

/** When in its life a piece was weighed: before any glaze, just glazed, or while it dries. */
export const WEIGHING_MOMENTS = ['bare', 'glazed', 'later'] as const;
export type WeighingMoment = (typeof WEIGHING_MOMENTS)[number];

/** How somebody told that the inside is dry: not cold to the cheek, or by the scale. */
export const DRY_HOWS = ['cheek', 'scale'] as const;
export type DryHow = (typeof DRY_HOWS)[number];

/** What goes where, by the codes of buckets; overlaps in the order they go on. */
export interface Plan {
  inside: string | null;
  outside: string | null;
  over: string[];
}

/** One coat as it went on, for the ledger. */
export interface CoatPut {
  glaze: string;
  face: CoatFace;
  way: CoatWay;
  /** Held so long; null where nobody counted. */
  seconds: number | null;
  /** What the bucket held then. */
  gravity: number | null;
  reading: number | null;
  batch: number | null;
  /** Dry thickness, and what it follows from. */
  mm: number | null;
  from: 'weighed' | 'tiles' | null;
  /** The piece before and just after it; null where it was not weighed. */
  beforeGrams: number | null;
  afterGrams: number | null;
  /** Mass fraction of solids of the slurry. */
  solidsFraction: number | null;
  /** Slurry it took, written into the bucket's ledger; null where nobody can tell. */
  litres: number | null;
}

export interface Coat extends CoatPut {
  /** The number of its event. */
  event: number;
  at: Instant;
}

/** Where a piece is on its way from bisque to the kiln, by its ledger since it was last fired or glazed otherwise. */
export interface Route {
  plan: Plan | null;
  waxedAt: Instant | null;
  coats: Coat[];
  /** Since the last coat, not struck out, in order of time: the one just after it first, where there is one. */
  weighings: { event: number; at: Instant; grams: number }[];
  /** Its weight before any glaze. */
  bareGrams: number | null;
  /** Somebody said that it is dry after its last coat. */
  insideDryAt: Instant | null;
  /** Foot wiped and glaze line checked after its last coat. */
  footAt: Instant | null;
}

/** Whether the wall may take its next coat. */
export interface Wetness {
  /** Nothing on it; too wet; dry by the scale or the clock; said to be dry by a person. */
  state: 'bare' | 'wet' | 'dry' | 'said-dry';
  /** What says so. */
  by: 'scale' | 'clock' | 'hand' | null;
  /** When it will be ready, where it is not: by its drying curve, else by the clock. */
  readyAt: Instant | null;
  range: { low: Instant; high: Instant } | null;
  /** Share of the water gone by the last weighing. */
  shareGone: number | null;
  /** Water in the wall a coat later, g; 0 where it is dry or nothing is on it; null where nobody can tell. */
  waterGrams: number | null;
}

/** One line of the poster. */
export interface RouteStep {
  words: string;
  /** One of the three things that are ticked. */
  tick: 'waxed' | 'inside-dry' | 'outside' | null;
  isDone: boolean;
}

/** Where it is, by its events in the order of their numbers. */
export function routeOf(_events: readonly (PieceEvent & { number: number })[]): Route {
  throw new Error('to be written');
}

export function wetnessOf(_route: Route, _settings: WareSettings, _now: Instant): Wetness {
  throw new Error('to be written');
}

/** The coat that its plan asks for next; null where all are on, or nothing is planned. */
export function nextCoat(_route: Route): { face: CoatFace; glaze: string } | null {
  throw new Error('to be written');
}

/** The whole way, as a poster says it. */
export function routeSteps(_plan: Plan | null, _route: Route | null): RouteStep[] {
  throw new Error('to be written');
}
