import { NotFound } from './errors.ts';
import type { Visit } from './routes.ts';

/** The whole number in a page's address; NotFound with these words for anything else. */
export function numberIn(visit: Visit, name: string, missing: string): number {
  const raw = visit.param(name);
  if (!/^[1-9]\d{0,8}$/.test(raw)) throw new NotFound(missing);
  return Number(raw);
}
