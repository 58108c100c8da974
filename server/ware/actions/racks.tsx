import type { Answer, Visit } from '../../core/routes.ts';

/** What stands on the dry racks, and what of it can be dipped now. */
export async function showRacks(_visit: Visit): Promise<Answer> {
  throw new Error('to be written');
}
