import type { Firing } from './firing.ts';
import type { WareSettings } from './settings.ts';
import type { Stage } from './stage.ts';

/** Stages from which a piece goes into no firing by itself. */
const THROUGH: readonly Stage[] = ['fired', 'picked-up', 'left-behind', 'no-name', 'lost'];

/**
 * The firing that a piece waits for or will need next, null once it is through: bisque at its clay's own bisque cone
 * (the studio's for a clay nobody knows) until it has been bisqued, then the firing that is wanted in the end. What
 * is glazed raw is fired once; what is wanted bisqued is bisqued at the cone asked for.
 */
export function nextFiring(
  piece: { stage: Stage; isBisqued: boolean; isOnce: boolean; final: Firing },
  clay: { bisqueCone: string } | null,
  settings: Pick<WareSettings, 'bisqueCone'>,
): Firing | null {
  if (THROUGH.includes(piece.stage)) return null;
  if (piece.isBisqued || piece.isOnce || piece.final.kind === 'bisque') return piece.final;
  return { kind: 'bisque', cone: clay?.bisqueCone ?? settings.bisqueCone, atmosphere: 'oxidation' };
}

/** Every firing that a piece has still to go through, in their order: the next one and, after a bisque, the wanted one. */
export function firingsAhead(
  piece: Parameters<typeof nextFiring>[0],
  clay: { bisqueCone: string } | null,
  settings: Pick<WareSettings, 'bisqueCone'>,
): Firing[] {
  const next = nextFiring(piece, clay, settings);
  if (next === null) return [];
  return next === piece.final ? [next] : [next, piece.final];
}
