import {
  addClay,
  addTile,
  coatTileForm,
  type MovePath,
  movePieces,
  registerForm,
  registerPieces,
} from '../../server/ware/service/index.ts';
import type { Person, Studio } from './studio.ts';

let serial = 0;

/** A clay of the studio's list; answers its name. */
export async function aClay(
  s: Studio,
  more: { maxCone?: string; bisqueCone?: string; dryShrinkPercent?: number } = {},
): Promise<string> {
  const name = `Clay ${++serial}`;
  await s.as(s.people.technician, (act) =>
    addClay(act, {
      name,
      maxCone: '7',
      bisqueCone: '06',
      dryShrinkPercent: 6,
      firedShrinkPercent: 12,
      ...more,
    }),
  );
  return name;
}

/** Pieces of somebody, registered through the use case; beakers for cone 6 unless said otherwise. */
export async function somePieces(
  s: Studio,
  person: Person,
  command: Record<string, unknown>,
): Promise<number[]> {
  const all = registerForm.parse({ form: 'beaker', cone: '6', ...command });
  return (await s.as(person, (act) => registerPieces(act, all))).numbers;
}

/** One act with pieces, as this person. */
export const moved = (s: Studio, person: Person, path: MovePath, numbers: number[], body: object = {}) =>
  s.as(person, (act) => movePieces(act, path, numbers, body as never));

/** Pieces of a known clay that are bone dry and wait for bisque. */
export async function dryPieces(
  s: Studio,
  person: Person,
  command: Record<string, unknown>,
): Promise<number[]> {
  const numbers = await somePieces(s, person, command);
  await moved(s, person, 'ask-dry', numbers);
  await moved(s, s.people.technician, 'dry', numbers);
  return numbers;
}

/** Five tiles of a clay in a bucket: counts of 1 to 9 leave 3 + 6·√t g of slurry on 100 cm². */
export async function fiveTiles(s: Studio, clay: string, bucket: string): Promise<void> {
  for (const seconds of [1, 2, 4, 6, 9]) {
    const afterGrams = 203 + 6 * Math.sqrt(seconds);
    const tile = coatTileForm.parse({ clay, bucket, seconds, areaCm2: 100, beforeGrams: 200, afterGrams });
    await s.as(s.people.technician, (act) => addTile(act, tile));
  }
}
