import type { Instant } from '../../core/clock.ts';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import type { Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import type { UnitSystem } from '../../core/units.ts';

/** For whom a page about stock is made. */
export interface StockReader {
  /** May write into the ledger. */
  mayEdit: boolean;
  /** May open the sheet of a batch. */
  seesBatches: boolean;
  units: UnitSystem;
  timeZone: string;
  now: Instant;
  /** Begins the idempotency key of every form on this rendering of a page. */
  key: string;
}

export const stockReader = (visit: Visit): StockReader => ({
  mayEdit: may(visit.caller.role, 'stock.edit'),
  seesBatches: may(visit.caller.role, 'batches.edit'),
  units: visit.caller.units,
  timeZone: visit.studio.timeZone,
  now: visit.now,
  key: randomSecret(),
});

export const materialIn = (visit: Visit): number => numberIn(visit, 'id', 'There is no such material.');
