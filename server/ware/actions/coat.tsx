import type { Answer, FormState, Visit } from '../../core/routes.ts';

/** How long to hold one clay in one bucket today. */
export async function showCoat(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}

/** A new test tile. */
export async function showNewTile(_visit: Visit, _form?: FormState): Promise<Answer> {
  throw new Error('to be written');
}

/** Keeps a tile. */
export async function saveTile(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}

/** Asks why a tile does not count. */
export async function showStrikeTile(_visit: Visit, _form?: FormState): Promise<Answer> {
  throw new Error('to be written');
}

/** Strikes a tile out. */
export async function takeTileOut(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}
