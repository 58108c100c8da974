import { timingSafeEqual } from 'node:crypto';
import type { Act, Read, Studio } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import type { Tx } from '../../core/database.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { secretHash } from '../../core/secrets.ts';
import type { Services } from '../../core/services.ts';
import { mustBeGoodPassword, type SetUp } from '../forms.ts';
import { lockPerson } from '../store/people.ts';
import { hasFactor } from '../store/second-factors.ts';
import { asksStaffForFactor, insertStudio, type StudioSettings, updateStudio } from '../store/studio.ts';
import { createPerson } from './people.ts';

/** Whoever reads the start log sets the studio up, once. Gives the id of its first manager. */
export async function setUpStudio(
  { database, passwords, setupKey }: Pick<Services, 'database' | 'passwords' | 'setupKey'>,
  entry: SetUp,
  now: Instant,
): Promise<number> {
  if (!sameSecret(entry.setupKey, setupKey))
    throw new Invalid([
      { path: 'setupKey', message: 'This is not the key that the server printed when it last started.' },
    ]);
  const { name, email, timeZone, currency, units } = entry;
  mustBeGoodPassword(entry.password, entry, { name: entry.studio });
  const passwordHash = await passwords.hash(entry.password);
  return database.transaction(async (tx) => {
    await createStudio(tx, { name: entry.studio, timeZone, currency, units }, now);
    return createPerson(tx, { name, email, role: 'manager', passwordHash }, now);
  });
}

/** Of two at once, the later one learns that it is done. */
export async function createStudio(tx: Tx, studio: Studio, now: Instant): Promise<void> {
  if (!(await insertStudio(tx, { ...studio, setUpAt: now })))
    throw new Conflict('Somebody has just set this studio up. Sign in, or ask them for an invitation.');
  const { timeZone, currency, units } = studio;
  await record({ tx, actor: null, now }, 'studio.set-up', 'studio', { timeZone, currency, units });
}

/** Whether technicians and managers must have a second factor here. */
export async function isFactorAskedOfStaff({ tx, actor }: Read): Promise<boolean> {
  mustBeAllowed(actor, 'studio.edit');
  return asksStaffForFactor(tx);
}

/**
 * The currency stays: charges are kept in it. Whoever asks technicians and managers for a second factor has one, so that
 * nobody shuts themselves out by it.
 */
export async function changeStudio(act: Act, settings: StudioSettings): Promise<void> {
  mustBeAllowed(act.actor, 'studio.edit');
  // Held, so that it is not ended meanwhile.
  await lockPerson(act.tx, act.actor);
  if (settings.staffSecondFactor && !(await hasFactor(act.tx, act.actor.id)))
    throw new Invalid([
      {
        path: 'staffSecondFactor',
        message: 'Set up your own second factor first, on your page: you would be asked for it at once.',
      },
    ]);
  await updateStudio(act.tx, settings);
  const { timeZone, units, staffSecondFactor } = settings;
  await record(act, 'studio.changed', 'studio', { timeZone, units, staffSecondFactor });
}

const sameSecret = (a: string, b: string): boolean =>
  timingSafeEqual(Buffer.from(secretHash(a)), Buffer.from(secretHash(b)));
