import { randomInt } from 'node:crypto';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { type Instant, MINUTE } from '../../core/clock.ts';
import type { Database } from '../../core/database.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { randomSecret, secretHash } from '../../core/secrets.ts';
import { claimDevice, insertDevice, isWaiting, liveDevices, revokeDevice } from '../store/devices.ts';
import { countAttempt, forgive } from './attempts.ts';

const CODE_LASTS = 15 * MINUTE;
/** No letter that is taken for another, or for a digit, when it is copied by eye. */
const LETTERS = 'ABCDEFGHJKMNPQRSTVWXYZ23456789';
const CODE_LENGTH = 10;

export interface PairingCode {
  name: string;
  /** Two groups of five, as they are read aloud. */
  code: string;
  expiresAt: Instant;
}

/** A one-time code that pairs whichever screen it is typed on, for a quarter of an hour. */
export async function preparePairing(act: Act, name: string): Promise<PairingCode> {
  await mustBeFree(act, name);
  const code = Array.from({ length: CODE_LENGTH }, () => LETTERS[randomInt(LETTERS.length)]).join('');
  const id = await insertDevice(act.tx, {
    name,
    hash: secretHash(code),
    waiting: true,
    pairedBy: act.actor.id,
    pairedAt: act.now,
  });
  await record(act, 'device.prepared', `device:${id}`);
  return { name, code: `${code.slice(0, 5)}-${code.slice(5)}`, expiresAt: act.now + CODE_LASTS };
}

/** Pairs the screen in front of whoever asks. Gives the secret that it keeps from now on. */
export async function pairHere(act: Act, name: string, before: string | null): Promise<string> {
  await mustBeFree(act, name);
  await endFormer(act, before);
  const secret = randomSecret();
  const id = await insertDevice(act.tx, {
    name,
    hash: secretHash(secret),
    waiting: false,
    pairedBy: act.actor.id,
    pairedAt: act.now,
  });
  await record(act, 'device.paired', `device:${id}`);
  return secret;
}

/**
 * Pairs the screen on which a code is typed. Wrong codes slow down as wrong passwords do. Gives the secret that the
 * screen keeps; what it was paired as before has ended.
 */
export async function pairByCode(
  database: Database,
  entry: { code: string; address: string; before: string | null },
  now: Instant,
): Promise<string> {
  const attempt = { email: 'pairing', address: entry.address };
  await countAttempt(database, attempt, now);
  const hash = secretHash(entry.code.toUpperCase().replace(/[^A-Z0-9]/g, ''));
  const secret = randomSecret();
  return database.transaction(async (tx) => {
    const device = await claimDevice(
      tx,
      { hash, madeSince: now - CODE_LASTS },
      { hash: secretHash(secret), pairedAt: now },
    );
    if (!device)
      throw new Invalid([
        {
          path: 'code',
          message: 'No tablet waits for this code. A code works once, within a quarter of an hour.',
        },
      ]);
    const act = { tx, actor: null, now };
    await endFormer(act, entry.before);
    await forgive(tx, attempt);
    await record(act, 'device.paired', `device:${device.id}`);
    return secret;
  });
}

export interface ListedDevice {
  name: string;
  /** Who paired it. */
  by: string;
  pairedAt: Instant;
  /** Until when its code may be typed; null: it is paired. */
  waitsUntil: Instant | null;
}

export async function listDevices({ tx, actor, now }: Read): Promise<ListedDevice[]> {
  mustBeAllowed(actor, 'devices.edit');
  const rows = await liveDevices(tx, now - CODE_LASTS);
  return rows.map((row) => ({
    name: row.name,
    by: row.by,
    pairedAt: row.pairedAt,
    waitsUntil: isWaiting(row) ? row.pairedAt + CODE_LASTS : null,
  }));
}

/** The tablet shows nothing more from its next request on. */
export async function endDevice(act: Act, name: string): Promise<void> {
  mustBeAllowed(act.actor, 'devices.edit');
  const ended = await revokeDevice(act.tx, { name }, act.now);
  if (ended.length === 0) throw new NotFound('No tablet of this name is paired here.');
  for (const id of ended) await record(act, 'device.revoked', `device:${id}`);
}

async function mustBeFree(act: Act, name: string): Promise<void> {
  mustBeAllowed(act.actor, 'devices.edit');
  const live = await liveDevices(act.tx, act.now - CODE_LASTS);
  if (live.some((device) => device.name.toLowerCase() === name.toLowerCase()))
    throw new Invalid([
      {
        path: 'name',
        message: 'A tablet of this name is on the list. Revoke it first, or choose another name.',
      },
    ]);
}

async function endFormer(
  act: Pick<Act, 'tx' | 'now'> & { actor: Act['actor'] | null },
  secret: string | null,
): Promise<void> {
  if (secret === null) return;
  for (const id of await revokeDevice(act.tx, { hash: secretHash(secret) }, act.now))
    await record(act, 'device.revoked', `device:${id}`);
}
