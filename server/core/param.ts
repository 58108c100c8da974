import { NotFound } from './errors.ts';
import type { Visit } from './routes.ts';

/** The whole number in a page's address; NotFound with these words for anything else. */
export function numberIn(visit: Visit, name: string, missing: string): number {
  const raw = visit.param(name);
  if (!/^[1-9]\d{0,8}$/.test(raw)) throw new NotFound(missing);
  return Number(raw);
}

/** The number in a page's address that a list goes on before; null for anything else. */
export const beforeIn = ({ query }: Visit): number | null =>
  /^[1-9]\d{0,8}$/.test(String(query.before)) ? Number(query.before) : null;
