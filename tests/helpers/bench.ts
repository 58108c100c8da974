import { eq } from 'drizzle-orm';
import { buckets } from '../../server/buckets/schema.ts';
import { listEvents } from '../../server/buckets/service/index.ts';
import { findPiece, findRoute, type MovePath } from '../../server/ware/service/index.ts';
import type { Studio } from './studio.ts';
import { moved, somePieces } from './ware.ts';

/** The bucket a coat is of where a test does not say which. */
export const GREY = 'GREY';

/** A bucket at 1.46 that takes cone 5 to 7; answers its code. */
export async function aGlaze(
  s: Studio,
  code: string,
  more: { sg?: number; litres?: number } = {},
): Promise<string> {
  await s.aBucket({ code, sg: 1.46, ...more });
  await s.database.db.update(buckets).set({ coneFrom: '5', coneTo: '7' }).where(eq(buckets.code, code));
  return code;
}

/** What a studio's member does at the glazing bench, with pieces of one clay that are bisqued, and what is there then. */
export function benchOf(at: () => { s: Studio; clay: string }) {
  const see = (number: number) => {
    const { s } = at();
    return s.as(s.people.member, (act) => findPiece(act, number));
  };
  const routeOf = (number: number) => {
    const { s } = at();
    return s.as(s.people.member, (act) => findRoute(act, number));
  };
  const bisqued = (howMany = 1, more: object = {}): Promise<number[]> => {
    const { s, clay } = at();
    return somePieces(s, s.people.member, { clay, begins: 'bisqued', howMany, ...more });
  };
  const does = (path: MovePath, number: number | number[], body: object = {}) => {
    const { s } = at();
    return moved(s, s.people.member, path, [number].flat(), body);
  };
  return {
    see,
    routeOf,
    bisqued,
    one: async (more: object = {}): Promise<number> => (await bisqued(1, more))[0] as number,
    does,
    plan: (number: number | number[], inside?: string, outside?: string, over: string[] = []) =>
      does('plan', number, { inside, outside, over }),
    coat: (number: number | number[], face: string, bucket = GREY, more: object = {}) =>
      does('coat', number, { bucket, face, way: 'dip', ...more }),
    /** Lines of a bucket's ledger that are dippings, newest first, with their notes. */
    dippings: async (code: string) => {
      const { s } = at();
      const { events } = await s.as(s.people.technician, (act) =>
        listEvents(act, code, { limit: 50, before: null }),
      );
      return events.flatMap(({ entry, note }) => (entry.kind === 'dipping' ? [{ ...entry, note }] : []));
    },
  };
}
