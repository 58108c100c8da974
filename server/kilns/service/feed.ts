import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { DAY, type Instant, MINUTE } from '../../core/clock.ts';
import { Conflict, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { randomSecret, secretHash } from '../../core/secrets.ts';
import { findStudio } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { firingWords } from '../../ware/firing.ts';
import { upper } from '../../ware/words.ts';
import { type CalendarEvent, calendar } from '../icalendar.ts';
import * as store from '../store/calendar.ts';
import { asPlaced, isToCome, type OnCalendar } from './calendar.ts';

/** When whoever asks made their private link to the calendar; null without one. */
export async function ownFeed(read: Read): Promise<Instant | null> {
  mustBeAllowed(read.actor, 'loads.see');
  return store.liveFeed(read.tx, read.actor.id);
}

/** A private link in place of any before it. Only this answer ever holds its secret. */
export async function makeFeed(act: Act): Promise<string> {
  mustBeAllowed(act.actor, 'loads.see');
  await store.revokeFeeds(act.tx, act.actor.id, act.now);
  const secret = randomSecret();
  await store.insertFeed(act.tx, { personId: act.actor.id, hash: secretHash(secret), madeAt: act.now });
  await record(act, 'calendar.link', `person:${act.actor.id}`);
  return secret;
}

/** @throws Conflict when there is none */
export async function revokeFeed(act: Act): Promise<void> {
  mustBeAllowed(act.actor, 'loads.see');
  if (!(await store.revokeFeeds(act.tx, act.actor.id, act.now)))
    throw new Conflict('You have no such link, or it has ended already.');
  await record(act, 'calendar.link-ended', `person:${act.actor.id}`);
}

/** As much of the past stays in the feed. */
const FEED_PAST = 60 * DAY;

/**
 * The calendar of whoever's private link this is, as RFC 5545 has it: loads and kilns, never a person's name.
 * @param link where a load's page is found from outside; null where that is not known
 * @throws NotFound for a secret that is none of ours, was revoked, or whose owner left
 */
export async function calendarFeed(
  { tx, now }: Pick<Read, 'tx' | 'now'>,
  secret: string,
  link: (load: number) => string | null,
): Promise<string> {
  const hash = secretHash(secret);
  const owner = await store.feedOwner(tx, hash);
  const studio = await findStudio(tx);
  if (!owner || !studio) throw new NotFound('There is nothing at this address.');
  const read: Read = { tx, now, actor: { ...owner, units: studio.units, tokenId: null, deviceId: null } };
  mustBeAllowed(read.actor, 'loads.see');
  const since = now - FEED_PAST;
  const rows = await Promise.all([store.loadsSince(tx, since), store.cancelledSince(tx, since)]);
  const { loads } = await asPlaced(read, rows.flat());
  const events = loads.flatMap((load): CalendarEvent[] => {
    const { number, state, kiln, firing, version, startsAt, freeAt } = load;
    const isCancelled = state === 'cancelled';
    const from = load.place?.startsAt ?? (isCancelled ? startsAt : null);
    const to = load.place?.freeAt ?? (isCancelled ? freeAt : null);
    if (from === null || to === null) return [];
    const url = link(number);
    return [
      {
        // Of this link and this load: a new link is a new calendar.
        uid: `load-${number}.${hash.slice(0, 16)}@wareboard`,
        from,
        to: Math.max(to, from + MINUTE),
        summary: `Load ${number}, ${kiln.name}: ${firingWords(firing)}`,
        description: feedWords(load, studio.timeZone),
        ...(url !== null && { url }),
        sequence: version,
        cancelled: isCancelled,
      },
    ];
  });
  return calendar(`${studio.name}: kilns`, events, now);
}

function feedWords({ state, place }: OnCalendar, timeZone: string): string {
  const off =
    place && isToCome({ state })
      ? ` Heats until about ${toWallTime(place.offAt, timeZone).replace('T', ' ')}.`
      : '';
  const end =
    state === 'unloaded' || state === 'cancelled' ? '' : ' The end is a forecast: check the pyrometer.';
  return `${upper(state)}.${off}${end}`;
}
