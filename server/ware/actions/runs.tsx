import type { Answer, FormState, Visit } from '../../core/routes.ts';

/** Glazes that run where they overlap. */
export async function showRuns(_visit: Visit, _form?: FormState): Promise<Answer> {
  throw new Error('to be written');
}

/** Adds a pair. */
export async function addRun(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}

/** Takes a pair away. */
export async function takeRunAway(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}

/** The address a pair is taken away at, opened by itself. */
export async function backToRuns(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}
