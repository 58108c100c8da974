import { DAY, type Instant } from '../core/clock.ts';
import { stepWords } from './bench-step.ts';
import type { Firing } from './firing.ts';
import { type Gate, isOpen } from './gates.ts';
import { groupBy } from './group.ts';
import type { CoatFace } from './route.ts';
import type { WareSettings } from './settings.ts';
import { AT_BENCH, type Stage } from './stage.ts';
import { daysWords } from './words.ts';

/** What of a piece decides where it is shown and what comes next. */
export interface Shown {
  number: number;
  batch: number;
  stage: Stage;
  stageSince: number;
  load: number | null;
  isAsked: boolean;
  isBisqued: boolean;
  isOnce: boolean;
  isClosed: boolean;
  hasHole: boolean;
  final: Firing;
  gates: readonly Gate[];
  flag: string | null;
  reason: string | null;
  outcome: string | null;
  glazes: readonly unknown[];
  /** The coat that its plan asks for next. */
  nextCoat: { face: CoatFace; glaze: string } | null;
}

/** Fired, not fetched, and longer there than the studio keeps ware out. */
export const isUncollected = (
  { stage, stageSince }: Pick<Shown, 'stage' | 'stageSince'>,
  { uncollectedDays }: Pick<WareSettings, 'uncollectedDays'>,
  now: Instant,
): boolean => stage === 'fired' && now - stageSince > uncollectedDays * DAY;

/** What its owner is told of fired ware that stands too long, null for every other. */
export const fetchWords = (
  piece: Pick<Shown, 'stage' | 'stageSince'>,
  settings: Pick<WareSettings, 'uncollectedDays'>,
  now: Instant,
): string | null => {
  if (!isUncollected(piece, settings, now)) return null;
  return `Fired ${daysWords(Math.floor((now - piece.stageSince) / DAY))} ago: fetch it.`;
};

/** Given back before anybody said how it was glazed, though it is for a glaze firing. */
export const isUnglazed = ({ stage, final, glazes }: Pick<Shown, 'stage' | 'final' | 'glazes'>): boolean =>
  stage === 'returned' && final.kind === 'glaze' && glazes.length === 0;

/** What its owner does next with a piece: in one tap, or on a page of its own. */
export interface NextAct {
  path: 'ask-dry' | 'hole' | 'glazing' | 'hand-in' | 'pick-up' | 'edit';
  label: string;
  isTap: boolean;
}

const tap = (path: NextAct['path'], label: string): NextAct => ({ path, label, isTap: true });
const open = (path: NextAct['path'], label: string): NextAct => ({ path, label, isTap: false });

/** What only its owner can do now; null while it is up to somebody else or nobody. */
export function nextAct(piece: Shown): NextAct | null {
  const { stage, gates, final, isAsked } = piece;
  if (['in-load', 'no-name', 'lost', 'picked-up'].includes(stage)) return null;
  if (stage === 'fired' || stage === 'left-behind') return tap('pick-up', 'I have it');
  // What keeps it out and is theirs to settle comes before the next step.
  if (isOpen(gates, 'hole')) return tap('hole', 'It has a hole now');
  if (isOpen(gates, 'clay-cone')) return open('edit', 'Choose a cooler firing');
  if (final.kind === 'bisque' && piece.isBisqued) return open('edit', 'Choose its firing');
  if (isOpen(gates, 'glaze-cone')) return open('edit', 'Choose another firing');
  const isHard = piece.isBisqued || piece.isOnce;
  if (piece.nextCoat && isHard && !isAsked && AT_BENCH.includes(stage))
    return open('glazing', stepWords({ do: 'coat', ...piece.nextCoat }, 'bare'));
  switch (stage) {
    case 'made':
    case 'drying':
      return isAsked ? null : tap('ask-dry', 'I think it is dry');
    case 'returned':
      if (!isHard) return tap('ask-dry', 'Mended: hand it in');
      return isUnglazed(piece) ? open('glazing', 'Glaze it') : open('hand-in', 'Mended: hand it in');
    case 'bisqued':
      return final.kind === 'glaze' ? open('glazing', 'Glaze it') : open('hand-in', 'Hand it in');
    case 'glazed':
      return open('hand-in', 'Hand it in');
    default:
      return null;
  }
}

export const SECTIONS = ['ready', 'needs-you', 'on-its-way', 'gone'] as const;
export type SectionName = (typeof SECTIONS)[number];

/** Which part of a member's page a piece belongs to. */
export function sectionOf(piece: Shown): SectionName {
  if (piece.stage === 'fired' || piece.stage === 'left-behind') return 'ready';
  if (piece.stage === 'picked-up' || piece.stage === 'lost') return 'gone';
  return nextAct(piece) ? 'needs-you' : 'on-its-way';
}

/** Pieces of one batch that are at the same point: shown, and moved on, together. */
export type Bunch<P extends Shown = Shown> = [P, ...P[]];

const order: readonly Stage[] = [
  'left-behind',
  'returned',
  'fired',
  'glazed',
  'bisqued',
  'drying',
  'made',
  'in-load',
  'refire',
  'waiting-glaze',
  'waiting-bisque',
];

/**
 * A person's pieces by the part of their page they belong to, each part in bunches: what should have been fetched long
 * ago first, then what stands out, then by how long it has been there, pieces of a bunch by number.
 */
export function arrangeOwn<P extends Shown>(
  pieces: readonly P[],
  settings: Pick<WareSettings, 'uncollectedDays'>,
  now: Instant,
): Record<SectionName, Bunch<P>[]> {
  const isLate = (piece: P) => isUncollected(piece, settings, now);
  const sorted = [...pieces].sort(
    (a, b) =>
      Number(isLate(b)) - Number(isLate(a)) ||
      order.indexOf(a.stage) - order.indexOf(b.stage) ||
      a.stageSince - b.stageSince ||
      a.batch - b.batch ||
      a.number - b.number,
  );
  const bunches = [...groupBy(sorted, (piece) => `${isLate(piece)} ${likeness(piece)}`).values()];
  const inSection = (name: SectionName) => bunches.filter(([first]) => sectionOf(first) === name);
  return {
    ready: inSection('ready'),
    'needs-you': inSection('needs-you'),
    'on-its-way': inSection('on-its-way'),
    gone: inSection('gone'),
  };
}

const likeness = ({
  batch,
  stage,
  load,
  isAsked,
  gates,
  flag,
  reason,
  outcome,
  final,
  nextCoat,
}: Shown): string =>
  JSON.stringify([
    batch,
    stage,
    load,
    isAsked,
    flag,
    reason,
    outcome,
    final,
    nextCoat,
    gates.filter(({ ok }) => !ok).map(({ words }) => words),
  ]);
