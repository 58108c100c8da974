import type { Answer, Visit } from '../../core/routes.ts';

/** The whole way from bisque to the kiln, to hang on a wall. */
export async function showPoster(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}
