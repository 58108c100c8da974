import type { PieceEvent } from './fold.ts';
import { type CoatFace, type CoatWay, routeOf } from './route.ts';

/** One coat of a piece by its ledger, as `piece_glazes` keeps it; its position is its place in the list. */
export interface LedgerCoat {
  /** The bucket's code, 'own' for a glaze from outside. */
  glaze: string;
  face: CoatFace;
  way: CoatWay | null;
  seconds: number | null;
  coatMm: number | null;
  coatFrom: 'weighed' | 'tiles' | null;
  scratchMm: number | null;
  gravity: number | null;
  load: number | null;
  /** Wiped off, or said otherwise, before it was fired. */
  isEnded: boolean;
}

const isRaw = ({ load, isEnded }: LedgerCoat): boolean => load === null && !isEnded;

/**
 * Every coat a piece ever had, by its events in the order of their numbers: what was said at once takes the place of what
 * was raw; what is put on at the bench goes over it; a firing keeps what was raw for good. Total.
 */
export function coatsOf(events: readonly (PieceEvent & { number: number })[]): LedgerCoat[] {
  const coats: LedgerCoat[] = [];
  /** Those of the bench since its way there began. */
  let atBench: LedgerCoat[] = [];
  const settle = (before: number) => {
    const { coats: found } = routeOf(events.slice(0, before));
    for (const [at, coat] of atBench.entries()) {
      coat.coatMm = found[at]?.mm ?? null;
      coat.coatFrom = found[at]?.from ?? null;
    }
    atBench = [];
  };
  for (const [at, { kind, payload, load }] of events.entries()) {
    if (['glazed', 'came-out', 'another-firing'].includes(kind)) settle(at);
    if (kind === 'glazed') {
      for (const coat of coats) if (isRaw(coat)) coat.isEnded = true;
      const { glazes = [], held = [] } = payload;
      for (const [i, glaze] of glazes.entries())
        coats.push({ ...BARE, glaze, face: 'all', way: null, gravity: held[i]?.gravity ?? null });
    } else if (kind === 'coated' && payload.coat) {
      const { glaze, face, way, seconds, gravity } = payload.coat;
      const coat: LedgerCoat = { ...BARE, glaze, face, way, seconds, gravity };
      coats.push(coat);
      atBench.push(coat);
    } else if (kind === 'scratched' && payload.scratch) {
      const coat = coats[payload.scratch.position - 1];
      if (coat) coat.scratchMm = payload.scratch.mm;
    } else if (kind === 'came-out') {
      for (const coat of coats) if (isRaw(coat)) coat.load = load;
    }
  }
  settle(events.length);
  return coats;
}

const BARE = {
  seconds: null,
  coatMm: null,
  coatFrom: null,
  scratchMm: null,
  gravity: null,
  load: null,
  isEnded: false,
} as const;
