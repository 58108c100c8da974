import { DAY, type Instant } from '../core/clock.ts';
import type { Firing } from '../ware/firing.ts';
import { outlineAreaOf } from './packing/chamber.ts';
import type { Footprint, Piece, Problem, StackKind } from './packing/problem.ts';
import { DATE_FADES_DAYS, daysUntil, litresOf, worthOf } from './queue-value.ts';
import type { KilnSettings } from './settings.ts';

/** A waiting piece as the queue needs it. */
export interface Queued {
  number: number;
  owner: { kind: 'person' | 'group'; id: number } | null;
  waitingSince: Instant | null;
  wantedBy: string | null;
  asPacked: { footprint: Footprint; heightMm: number };
  measured: { byTechnician: boolean };
  kg: number | null;
  clay: { id: number } | null;
  ownClay: string | null;
  stack: StackKind;
  trayMm: number;
  tags: string[];
}

/** Two tags that must not share a load. */
export interface Rule {
  tagA: string;
  tagB: string;
  why: string;
}

export interface QueueSetting {
  kind: Firing['kind'];
  settings: KilnSettings;
  now: Instant;
  /** The studio's: dates are its days. */
  timeZone: string;
  /** Levels that pieces are pinned to, by their numbers. */
  pins?: Record<string, number>;
  /** People behind an owner, by `ownerWord`; 1 for whoever is not in it. */
  heads?: ReadonlyMap<string, number>;
}

/** What a thrown piece weighs a litre of the room it takes, kg: common practice, no source. */
const KG_PER_LITRE = 0.35;
/** Share of the chamber that a kiln is taken to hold until it has shown it: common practice, no source. */
const USUAL_SHARE = 0.35;
const FIRINGS_TO_KNOW = 3;
const FIRINGS_REMEMBERED = 8;
/**
 * A wanted-by date asks for a load so many days before: a firing, its cooling and a spare weekend. Common practice, no
 * source.
 */
export const DATE_ASKS_DAYS = 7;

/** One word an owner, for `worthOf`. */
export const ownerWord = (owner: Queued['owner']): string => (owner ? `${owner.kind} ${owner.id}` : 'nobody');

/**
 * Waiting pieces as the packer is asked for them, in the order given: ids are their numbers, sizes those of their next
 * firing in mm, kg estimated from the room where nobody weighed. A glaze load keeps the gap of well measured ware, and a
 * piece that no technician measured is packed larger by half the difference all round: two of those are as far apart as
 * the wider gap asks. Bisque stacks with its own clay; nothing else stacks.
 */
export function packerPieces(
  queue: readonly Queued[],
  { kind, settings, now, timeZone, pins, heads }: QueueSetting,
): Piece[] {
  const worth = worthOf(
    queue.map((piece) => {
      const owner = ownerWord(piece.owner);
      const { number, wantedBy, asPacked } = piece;
      return {
        number,
        owner,
        heads: heads?.get(owner) ?? 1,
        waitingSince: piece.waitingSince ?? now,
        wantedBy,
        ...asPacked,
      };
    }),
    now,
    timeZone,
  );
  const unsureMm = kind === 'bisque' ? 0 : (settings.gapMm - settings.gapMeasuredMm) / 2;
  return queue.map((piece) => {
    const { footprint, heightMm } = piece.asPacked;
    const level = pins?.[piece.number];
    return {
      id: String(piece.number),
      footprint: piece.measured.byTechnician ? footprint : grown(footprint, unsureMm),
      heightMm,
      kg: piece.kg ?? litresOf(footprint, heightMm) * KG_PER_LITRE,
      value: worth.get(piece.number) ?? 0,
      ...(piece.trayMm > 0 && { tray: piece.trayMm }),
      ...(kind === 'bisque' &&
        piece.stack !== 'none' && { stack: { kind: piece.stack, like: clayWord(piece) } }),
      ...(level !== undefined && { level }),
    };
  });
}

/** A clay that nobody named may be any: it is like no other. */
const clayWord = ({ number, clay, ownClay }: Queued): string =>
  clay ? `clay ${clay.id}` : ownClay === null ? `of piece ${number}` : `own ${ownClay}`;

function grown(footprint: Footprint, byMm: number): Footprint {
  if (byMm <= 0) return footprint;
  return footprint.shape === 'circle'
    ? { shape: 'circle', diameterMm: footprint.diameterMm + 2 * byMm }
    : { shape: 'rectangle', widthMm: footprint.widthMm + 2 * byMm, depthMm: footprint.depthMm + 2 * byMm };
}

/**
 * The pieces that may share one load, chosen one after another: those in `first` (pinned ones, or what waited too long),
 * then by what all that is glazed like them is worth, less what it would shut out. Whatever conflicts with one chosen
 * before is left for another load. Nothing that is free of conflicts is ever left.
 */
export function compatible<P extends Pick<Queued, 'number' | 'tags'>>(
  queue: readonly P[],
  worth: ReadonlyMap<string, number>,
  rules: readonly Rule[],
  first: ReadonlySet<number> = new Set(),
): P[] {
  const against = new Map<string, Set<string>>();
  for (const { tagA, tagB } of rules) {
    against.set(tagA, (against.get(tagA) ?? new Set()).add(tagB));
    against.set(tagB, (against.get(tagB) ?? new Set()).add(tagA));
  }
  const foes = (piece: P): string[] => [
    ...new Set(piece.tags.flatMap((tag) => [...(against.get(tag) ?? [])])),
  ];
  const worthOfPiece = (piece: P): number => worth.get(String(piece.number)) ?? 0;
  const byTag = new Map<string, number>();
  for (const piece of queue)
    for (const tag of piece.tags) byTag.set(tag, (byTag.get(tag) ?? 0) + worthOfPiece(piece));
  const order = queue
    .map((piece) => {
      const total = (tags: string[]) => tags.reduce((sum, tag) => sum + (byTag.get(tag) ?? 0), 0);
      const net = total(piece.tags.filter((tag) => against.has(tag))) - total(foes(piece));
      return { piece, isFirst: first.has(piece.number), net };
    })
    .sort(
      (a, b) => Number(b.isFirst) - Number(a.isFirst) || b.net - a.net || a.piece.number - b.piece.number,
    );
  const barred = new Set<string>();
  const chosen = new Set<number>();
  for (const { piece } of order) {
    if (piece.tags.some((tag) => barred.has(tag))) continue;
    chosen.add(piece.number);
    for (const tag of foes(piece)) barred.add(tag);
  }
  return queue.filter((piece) => chosen.has(piece.number));
}

/**
 * Why a piece cannot be pinned to a level, counted from 1 at the floor, as a sentence; null when an empty kiln could be
 * built up to it on the lowest posts there are. Lengths in mm.
 */
export function pinFault(
  problem: Omit<Problem, 'pieces'>,
  { id, heightMm }: Piece,
  level: number,
): string | null {
  const { floorPostMm = 0, shelfThicknessMm, usableHeightMm, topClearanceMm, postsPerShelf = 3 } = problem;
  const { full, half } = problem.shelves ?? { full: level, half: 0 };
  const shelves = full + (problem.halves ? half : 0);
  const lowest = problem.posts
    .flatMap((post) => Array.from({ length: Math.floor(post.count / postsPerShelf) }, () => post.heightMm))
    .sort((a, b) => a - b)
    .slice(0, level - 1);
  if (level > Math.min(shelves, problem.maxLevels ?? level) || lowest.length < level - 1)
    return `This kiln has no level ${level}.`;
  const baseMm = floorPostMm + level * shelfThicknessMm + lowest.reduce((sum, post) => sum + post, 0);
  const tooTall = baseMm + heightMm + topClearanceMm > usableHeightMm;
  return tooTall
    ? `Piece ${id} is too tall for level ${level}: it would stand ${Math.round(baseMm)} mm up.`
    : null;
}

/** Whether a piece has waited longer than the studio wants any to wait. */
export const isOverdue = (
  { waitingSince }: Pick<Queued, 'waitingSince'>,
  { kind, settings, now }: QueueSetting,
): boolean =>
  waitingSince !== null &&
  now - waitingSince >= (kind === 'bisque' ? settings.longestWaitBisqueDays : settings.longestWaitDays) * DAY;

/** Litres of a chamber: the outline that ware stands on times its usable height in mm. */
export function chamberLitres({ shelf, usableHeightMm }: Pick<Problem, 'shelf' | 'usableHeightMm'>): number {
  return (outlineAreaOf({ shelf }) * usableHeightMm) / 1e6;
}

/**
 * The share of its chamber that a kiln usually holds: the median of the newest eight firings of that kind, 0.35 until
 * there are three.
 * @param shares of the chamber's space, newest first, each 0 … 1
 */
export function usualShare(shares: readonly number[]): number {
  const known = shares.slice(0, FIRINGS_REMEMBERED).sort((a, b) => a - b);
  if (known.length < FIRINGS_TO_KNOW) return USUAL_SHARE;
  const half = Math.floor(known.length / 2);
  const [low, high] = [known[known.length % 2 === 1 ? half : half - 1] ?? 0, known[half] ?? 0];
  return Math.max(0.01, (low + high) / 2);
}

/** Why a load should be proposed now. */
export interface Because {
  because: 'share' | 'waited' | 'date';
  words: string;
}

/** How full a kiln would be of what is ready, and why to propose a load of it. */
export interface Prospect {
  /** Of what the kiln usually takes; more than 1 when there is more than one load of it. */
  share: number;
  reasons: Because[];
}

/**
 * Whether ready pieces ask for a load of a kiln: enough of them for `proposeAtShare` of what it usually takes, one that
 * waited too long, or a date that is near or just over. From sizes alone, without packing.
 * @param chamber litres of the kiln
 * @param usual from `usualShare`
 */
export function prospect(
  ready: readonly Pick<Queued, 'number' | 'asPacked' | 'waitingSince' | 'wantedBy'>[],
  chamber: number,
  usual: number,
  setting: QueueSetting,
): Prospect {
  const { settings, now, timeZone } = setting;
  const litres = ready.reduce(
    (sum, { asPacked }) => sum + litresOf(asPacked.footprint, asPacked.heightMm),
    0,
  );
  const share = chamber > 0 ? litres / (chamber * usual) : 0;
  const reasons: Because[] = [];
  if (ready.length > 0 && share >= settings.proposeAtShare)
    reasons.push({
      because: 'share',
      words:
        share < 1
          ? 'Nearly enough for a load.'
          : share < 2
            ? 'Enough for a load.'
            : `Enough for ${Math.floor(share)} loads.`,
    });
  const oldest = ready.reduce<(typeof ready)[number] | null>(
    (old, one) => ((one.waitingSince ?? now) < (old?.waitingSince ?? now) ? one : old),
    null,
  );
  if (oldest && isOverdue(oldest, setting)) {
    const days = Math.floor((now - (oldest.waitingSince ?? now)) / DAY);
    reasons.push({ because: 'waited', words: `Piece ${oldest.number} has waited ${days} days.` });
  }
  const dated = ready
    .filter(({ wantedBy }) => {
      const days = wantedBy === null ? Number.NaN : daysUntil(wantedBy, now, timeZone);
      return days <= DATE_ASKS_DAYS && days > -1 - DATE_FADES_DAYS;
    })
    .sort((a, b) => (a.wantedBy ?? '').localeCompare(b.wantedBy ?? '') || a.number - b.number)[0];
  if (dated)
    reasons.push({ because: 'date', words: `Piece ${dated.number} is wanted by ${dated.wantedBy}.` });
  return { share, reasons };
}
