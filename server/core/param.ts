import { NotFound } from './errors.ts';
import type { Visit } from './routes.ts';

/** A whole number as an address has it; null for anything else. */
export const numberOf = (typed: string | string[] | undefined): number | null =>
  typeof typed === 'string' && /^[1-9]\d{0,8}$/.test(typed) ? Number(typed) : null;

/** The whole number in a page's address; NotFound with these words for anything else. */
export function numberIn(visit: Visit, name: string, missing: string): number {
  const number = numberOf(visit.param(name));
  if (number === null) throw new NotFound(missing);
  return number;
}

/** The number in a page's address that a list goes on before; null for anything else. */
export const beforeIn = ({ query }: Visit): number | null => numberOf(query.before);
