import { and, asc, eq, gt, isNull, like, not, or, sql } from 'drizzle-orm';
import type { Instant } from '../../core/clock.ts';
import type { Executor, Tx } from '../../core/database.ts';
import { devices, people } from '../../core/schema.ts';
import { tellEnded } from '../../core/session.ts';

export type DeviceRow = typeof devices.$inferSelect;

/** Until its one-time code is typed on it, a tablet keeps that code's hash, marked so that no cookie can match it. */
const WAITING = 'waiting ';
export const isWaiting = ({ hash }: Pick<DeviceRow, 'hash'>): boolean => hash.startsWith(WAITING);

export async function insertDevice(
  tx: Tx,
  {
    waiting,
    hash,
    ...values
  }: Pick<DeviceRow, 'name' | 'hash' | 'pairedBy' | 'pairedAt'> & { waiting: boolean },
): Promise<number> {
  const [row] = await tx
    .insert(devices)
    .values({ ...values, hash: waiting ? WAITING + hash : hash })
    .returning({ id: devices.id });
  return (row as { id: number }).id;
}

/** The tablet that waited for this code, now holding its own secret; of two at once, one gets it. */
export async function claimDevice(
  tx: Tx,
  code: { hash: string; madeSince: Instant },
  own: { hash: string; pairedAt: Instant },
): Promise<DeviceRow | null> {
  const [row] = await tx
    .update(devices)
    .set(own)
    .where(
      and(
        eq(devices.hash, WAITING + code.hash),
        gt(devices.pairedAt, code.madeSince),
        isNull(devices.revokedAt),
      ),
    )
    .returning();
  return row ?? null;
}

/** Tablets that are paired, or wait for a code made since then. */
export async function liveDevices(db: Executor, madeSince: Instant): Promise<(DeviceRow & { by: string })[]> {
  const rows = await db
    .select({ device: devices, by: people.name })
    .from(devices)
    .innerJoin(people, eq(people.id, devices.pairedBy))
    .where(
      and(
        isNull(devices.revokedAt),
        or(not(like(devices.hash, `${WAITING}%`)), gt(devices.pairedAt, madeSince)),
      ),
    )
    .orderBy(asc(sql`lower(${devices.name})`));
  return rows.map(({ device, by }) => ({ ...device, by }));
}

export async function revokeDevice(
  tx: Tx,
  which: { name: string } | { hash: string },
  now: Instant,
): Promise<number[]> {
  const rows = await tx
    .update(devices)
    .set({ revokedAt: now })
    .where(
      and(
        isNull(devices.revokedAt),
        'name' in which ? eq(devices.name, which.name) : eq(devices.hash, which.hash),
      ),
    )
    .returning({ id: devices.id });
  await tellEnded(tx);
  return rows.map(({ id }) => id);
}
