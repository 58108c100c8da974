import { eq, sql } from 'drizzle-orm';
import type { Executor } from './database.ts';
import { devices } from './schema.ts';
import { secretHash, secretInCookie } from './secrets.ts';
import { statement } from './statement.ts';

/** A paired tablet at the wall. */
export interface Device {
  id: number;
  name: string;
  /** The hash of its secret: what it calls people by is made with this, so that no other tablet knows it. */
  hash: string;
}

/** Chromium's longest; the wall sends the cookie anew each time it is shown. */
const KEPT_SECONDS = 400 * 24 * 60 * 60;
const cookieName = (secure: boolean) => (secure ? '__Host-wareboard-tablet' : 'wareboard-tablet');

/** The secret that pairing left in this browser. */
export const sentDevice = (cookieHeader: string | undefined, secure: boolean): string | null =>
  secretInCookie(cookieHeader, cookieName(secure));

export const deviceCookie = (secret: string, secure: boolean): string =>
  `${cookieName(secure)}=${secret}; Path=/; Max-Age=${KEPT_SECONDS}; HttpOnly; SameSite=Lax${secure ? '; Secure' : ''}`;

const find = statement('device_find', (db) =>
  db
    .select({ id: devices.id, name: devices.name, hash: devices.hash, revokedAt: devices.revokedAt })
    .from(devices)
    .where(eq(devices.hash, sql.placeholder('hash'))),
);

/** The tablet that holds this secret, revoked or not; null: never one of ours. */
export async function findDevice(
  db: Executor,
  secret: string,
): Promise<(Device & { revoked: boolean }) | null> {
  const [row] = await find(db, { hash: secretHash(secret) });
  return row ? { id: row.id, name: row.name, hash: row.hash, revoked: row.revokedAt !== null } : null;
}
