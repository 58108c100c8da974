import { DAY, type Instant } from '../core/clock.ts';
import { groupBy } from '../ware/group.ts';
import { dayStart } from './calendar.ts';
import type { Footprint } from './packing/problem.ts';

/** What a waiting piece is judged by. */
export interface Waiter {
  number: number;
  /** Whose it is: one word an owner; pieces of nobody known share one. */
  owner: string;
  /** People behind that owner, such as those of a class; 1 without it. */
  heads?: number;
  waitingSince: Instant;
  /** The day it is wanted by, as YYYY-MM-DD. */
  wantedBy: string | null;
  footprint: Footprint;
  heightMm: number;
}

/** Days of waiting that count as much as being there at all: common practice, no source. */
const WAIT_DAYS = 7;
/** A date begins to count so many days before, and counts most so many days before: common practice, no source. */
const DATE_FROM_DAYS = 28;
const DATE_FULL_DAYS = 4;
/** Whoever wanted it by a day that is over has mostly found another: common practice, no source. */
export const DATE_FADES_DAYS = 14;
/** What the nearest date adds: as much as three weeks of waiting. Common practice, no source. */
const DATE_WEIGHT = 3;
/** An owner's fifth piece counts half of the first: common practice, no source. */
const HALVED_AFTER = 4;
/**
 * Below 1, so that of equal waits many small pieces go before one large one; near 1, so that a large one catches up
 * when it has waited about twice as long. Common practice, no source.
 */
const SIZE_POWER = 0.8;

/** mm² of a footprint as it is drawn, without tray or air. */
export function footprintMm2(footprint: Footprint): number {
  return footprint.shape === 'circle'
    ? (Math.PI * footprint.diameterMm ** 2) / 4
    : footprint.widthMm * footprint.depthMm;
}

/** Litres of the prism over a footprint: what a piece takes of a chamber. */
export const litresOf = (footprint: Footprint, heightMm: number): number =>
  (footprintMm2(footprint) * heightMm) / 1e6;

/** Days from `now` to the beginning of that day of the studio's; about −1 when it is over. NaN for what is no date. */
export const daysUntil = (wantedBy: string, now: Instant, timeZone: string): number =>
  Number.isNaN(Date.parse(wantedBy)) ? Number.NaN : (dayStart(wantedBy, timeZone) - now) / DAY;

/**
 * How much a piece wants to be fired, without its size and its owner's other pieces: 1 on the day it came, 1 more for
 * every 7 days it waits, without end, so that everything goes in some day; and up to 3 more as its date nears, which
 * fade once that is over.
 */
export function urgency(
  waiter: Pick<Waiter, 'waitingSince' | 'wantedBy'>,
  now: Instant,
  timeZone: string,
): number {
  const waited = Math.max(0, now - waiter.waitingSince) / DAY;
  return 1 + waited / WAIT_DAYS + DATE_WEIGHT * nearness(waiter.wantedBy, now, timeZone);
}

/** 0 for no date or one far off, rising to 1 a few days before it; 1 until that day is over, and falling to 0 then. */
function nearness(wantedBy: string | null, now: Instant, timeZone: string): number {
  if (wantedBy === null) return 0;
  const days = daysUntil(wantedBy, now, timeZone);
  if (Number.isNaN(days)) return 0;
  if (days < -1) return Math.max(0, 1 + (days + 1) / DATE_FADES_DAYS);
  return Math.min(1, Math.max(0, (DATE_FROM_DAYS - days) / (DATE_FROM_DAYS - DATE_FULL_DAYS)));
}

/**
 * What each waiting piece is worth to the packer, by its number: urgency × share × litres^0.8. The share of an owner's
 * n-th most urgent piece is 1 / (1 + (n − 1) / 4), n counted per head of a household or class, so that nobody waits
 * because others flood the queue: of pieces of one size that have waited as long, an owner's second is always worth less
 * than another owner's first. Waiting longer never lowers a worth. Always above 0 and finite for sizes above 0.
 */
export function worthOf(waiters: readonly Waiter[], now: Instant, timeZone: string): Map<number, number> {
  const worth = new Map<number, number>();
  for (const own of groupBy(waiters, ({ owner }) => owner).values()) {
    const ranked = own
      .map((waiter) => ({ waiter, urge: urgency(waiter, now, timeZone) }))
      .sort((a, b) => b.urge - a.urge || a.waiter.number - b.waiter.number);
    ranked.forEach(({ waiter, urge }, index) => {
      const before = Math.floor(index / Math.max(1, waiter.heads ?? 1));
      const share = 1 / (1 + before / HALVED_AFTER);
      worth.set(waiter.number, urge * share * litresOf(waiter.footprint, waiter.heightMm) ** SIZE_POWER);
    });
  }
  return worth;
}
