import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { groupBy } from '../group.ts';
import { isThrough, type Route, type Wetness, wetnessOf } from '../route.ts';
import * as store from '../store/pieces.ts';
import { routeFor, routesIn, routesOf } from './ledger.ts';
import { findPiece, findPieces, type PieceNow } from './now.ts';
import { siblings } from './pieces.ts';
import { wareSettings } from './settings.ts';

/** A piece at the bench, with others of its batch that are at the same point of their way. */
export interface AtBench {
  piece: PieceNow;
  others: PieceNow[];
  route: Route;
  wetness: Wetness;
}

/** One piece on its way from bisque to the kiln, for whoever may see it. Throws NotFound. */
export async function findRoute(read: Read, number: number): Promise<AtBench> {
  const piece = await findPiece(read, number);
  const [batch, settings] = await Promise.all([siblings(read, piece), wareSettings(read)]);
  const routes = await routesOf(
    read,
    [piece, ...batch].map(({ id }) => id),
  );
  const route = routeFor(routes, piece);
  const point = pointOf(route);
  return {
    piece,
    others: batch.filter((other) => pointOf(routeFor(routes, other)) === point),
    route,
    wetness: wetnessOf(route, settings, read.now),
  };
}

/**
 * Pieces on their way, by batch and point of it: what can be dipped now first, then by when it can, and last what has all
 * its coats; own ones, or everybody's for a technician who asks.
 */
export async function listRacks(
  read: Read,
  filter: { everybody: boolean },
): Promise<{ pieces: PieceNow[]; route: Route; wetness: Wetness }[]> {
  mustBeAllowed(read.actor, filter.everybody ? 'ware.see-all' : 'ware.own');
  const [ledgers, settings] = await Promise.all([
    store.ledgersAtBench(read.tx, filter.everybody ? null : read.actor.id),
    wareSettings(read),
  ]);
  const routes = routesIn(ledgers);
  const numberOf = new Map(ledgers.map(({ pieceId, pieceNumber }) => [pieceId, pieceNumber]));
  const under = [...routes].filter(([, route]) => route.plan !== null || route.coats.length > 0);
  const pieces = await findPieces(
    read,
    under.flatMap(([id]) => numberOf.get(id) ?? []),
  );
  const all = pieces.map((piece) => {
    const route = routeFor(routes, piece);
    return { piece, route, wetness: wetnessOf(route, settings, read.now) };
  });
  const alike = groupBy(all, ({ piece, route, wetness: { state, by } }) =>
    JSON.stringify([piece.batch, piece.stage, piece.owner, pointOf(route), state, by]),
  );
  return [...alike.values()]
    .map((group) => {
      // Of those glazed one after the other, the last is ready last.
      const { route, wetness } = group.reduce((last, one) =>
        (one.wetness.readyAt ?? 0) > (last.wetness.readyAt ?? 0) ? one : last,
      );
      return { pieces: group.map(({ piece }) => piece), route, wetness };
    })
    .sort((a, b) => turn(a) - turn(b) || (a.wetness.readyAt ?? 0) - (b.wetness.readyAt ?? 0));
}

const turn = ({ route, wetness }: { route: Route; wetness: Wetness }): number =>
  isThrough(route) ? 2 : wetness.asksWait ? 1 : 0;

/** What tells pieces of a batch apart at the bench: what is planned, what is on, and what was ticked. */
const pointOf = ({ plan, coats, waxedAt, insideDryAt, footAt }: Route): string =>
  JSON.stringify([
    plan,
    coats.map(({ glaze, face }) => [glaze, face]),
    waxedAt !== null,
    insideDryAt !== null,
    footAt !== null,
  ]);
