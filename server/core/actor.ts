import type { Instant } from './clock.ts';
import type { Executor, Tx } from './database.ts';
import type { Role } from './policy.ts';
import type { UnitSystem } from './units.ts';

/** Whoever asks: a signed-in person, or a program with that person's token. */
export interface Actor {
  id: number;
  name: string;
  email: string;
  role: Role;
  units: UnitSystem;
  tokenId: number | null;
  /** The paired tablet this person acts at, instead of a sign-in of their own. */
  deviceId: number | null;
}

export interface Studio {
  name: string;
  timeZone: string;
  currency: string;
  units: UnitSystem;
}

/** What a use case that only looks gets. */
export interface Read {
  tx: Executor;
  actor: Actor;
  now: Instant;
}

/** What every use case that writes gets: its transaction, who asks, and what time it is. */
export interface Act extends Read {
  tx: Tx;
}
