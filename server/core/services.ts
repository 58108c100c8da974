import type { Config } from '../config.ts';
import type { Assets } from './assets.ts';
import type { Clock } from './clock.ts';
import type { Database } from './database.ts';
import type { Metrics } from './metrics.ts';
import type { Passwords } from './passwords.ts';
import type { Sessions } from './session.ts';

/** What the running app is made of; features get it and never make their own. */
export interface Services {
  config: Config;
  database: Database;
  clock: Clock;
  sessions: Sessions;
  passwords: Passwords;
  assets: Assets;
  /** The one-time key that the first visit to an empty database must show. */
  setupKey: string;
  /** Null where nobody asked for them. */
  metrics: Metrics | null;
}
