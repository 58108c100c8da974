import type { Answer, FormState, Visit } from '../../core/routes.ts';

/** What the bisque of a clay absorbs. */
export async function showBisque(_visit: Visit, _form?: FormState): Promise<Answer> {
  throw new Error('to be written');
}

/** Keeps a test. */
export async function saveTest(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}

/** Asks why a test does not count. */
export async function showStrikeTest(_visit: Visit, _form?: FormState): Promise<Answer> {
  throw new Error('to be written');
}

/** Strikes a test out. */
export async function strikeTest(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}
