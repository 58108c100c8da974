import type { Answer, FormState, Visit } from '../../core/routes.ts';

/** One piece at the bench, with its batch. */
export async function showGlazing(_visit: Visit, _form?: FormState): Promise<Answer> {
  throw new Error('to be written');
}
