import type { Read } from '../../core/actor.ts';

/** Two glazes that run where they overlap; the same twice for two coats of one. */
export interface RunPair {
  a: { code: string; name: string };
  b: { code: string; name: string };
  why: string;
}

export async function listRunPairs(_read: Read): Promise<RunPair[]> {
  throw new Error('to be written');
}
