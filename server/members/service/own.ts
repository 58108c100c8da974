import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { countSessions } from '../../core/session.ts';
import type { UnitSystem } from '../../core/units.ts';
import { findPerson, updatePerson } from '../store/people.ts';
import { hasFactor } from '../store/second-factors.ts';
import { type LiveToken, liveTokens } from '../store/tokens.ts';

export type UnitChoice = UnitSystem | 'studio';

export interface OwnPage {
  units: UnitChoice;
  tokens: LiveToken[];
  hasPin: boolean;
  hasCard: boolean;
  hasFactor: boolean;
  /** In how many browsers they are signed in. */
  browsers: number;
}

export async function ownPage({ tx, actor, now }: Read): Promise<OwnPage> {
  mustBeAllowed(actor, 'own.page');
  const person = await findPerson(tx, actor.email);
  return {
    units: person?.units ?? 'studio',
    tokens: await liveTokens(tx, actor.id, now),
    hasPin: Boolean(person?.pinHash),
    hasCard: Boolean(person?.cardHash),
    hasFactor: await hasFactor(tx, actor.id),
    browsers: await countSessions(tx, actor.id, now),
  };
}

export async function changeOwn(
  act: Act,
  { name, units }: { name: string; units: UnitChoice },
): Promise<void> {
  mustBeAllowed(act.actor, 'own.page');
  await updatePerson(act.tx, act.actor.id, { name, units: units === 'studio' ? null : units });
  await record(act, 'person.changed', `person:${act.actor.id}`, { units });
}
