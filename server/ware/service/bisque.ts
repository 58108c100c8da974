import type { Read } from '../../core/actor.ts';

/** What a wall of a clay's bisque drinks: two-minute soak as a share of its dry mass, bulk density in g/cm³. */
export interface BisqueWall {
  soakShare: number;
  bulkDensity: number;
}

/** By the newest tests of this clay that count; null where one of the two is missing. */
export async function bisqueWall(_read: Read, _clayId: number): Promise<BisqueWall | null> {
  throw new Error('to be written');
}

/**
 * What is to be said of pieces whose bisque absorbs more or less than its clay should, by piece id; those of which
 * nothing is to be said are left out.
 */
export async function bisqueWarnings(
  _read: Read,
  _pieceIds: readonly number[],
): Promise<Map<number, string>> {
  throw new Error('to be written');
}
