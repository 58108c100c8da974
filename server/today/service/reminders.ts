import { neglected } from '../../buckets/service/index.ts';
import type { Actor, Read } from '../../core/actor.ts';
import { DAY } from '../../core/clock.ts';
import { tell } from '../../core/messages.ts';
import type { Role } from '../../core/policy.ts';
import type { Services } from '../../core/services.ts';
import type { UnitSystem } from '../../core/units.ts';
import { findKiln, due as kilnDue } from '../../kilns/service/index.ts';
import { listDuties } from '../../safety/service/duties.ts';
import { unreadByAll } from '../../safety/service/notices.ts';
import { waitsToBeFetched } from '../../ware/service/index.ts';
import { type DayPart, dayDue, dayWords, noticeTurn, type Occasion, remindersOf } from '../reminders.ts';
import { today } from '../service.ts';
import * as store from '../store/reminders.ts';
import { dueWords } from '../words.ts';

/** An occasion that lasts is not told again within this. */
const KNOWN_FOR = 60 * DAY;

/** The service itself, which looks at everything and does nothing. */
const itself = (units: UnitSystem, who: { id: number; role: Role; name: string; email: string }): Actor => ({
  ...who,
  units,
  tokenId: null,
  deviceId: null,
});

/**
 * Reminds everybody of what is due and sends technicians the day's list, once however many processes ask. Whoever is no
 * longer here gets nothing.
 * @returns how many messages that were
 */
export async function remindEverybody(services: Services, stopping?: AbortSignal): Promise<number> {
  const { database, clock } = services;
  const setting = await store.dayOf(database.db);
  if (setting === null) return 0;
  const now = clock.now();
  const staff = await store.activeStaff(database.db);
  const { day, isDue } = dayDue(now, setting.digestAt, setting.timeZone);
  const read: Read = {
    tx: database.db,
    actor: itself(setting.units, { id: 0, role: 'manager', name: 'Wareboard', email: '' }),
    now,
  };
  const occasions = [...(await toOpen(read, staff)), ...(isDue ? await ofTheDay(read, staff) : [])];
  const known = await store.knownSince(
    database.db,
    [...new Set(occasions.flatMap(({ personIds }) => personIds))],
    now - KNOWN_FOR,
  );
  let told = 0;
  for (const { personId, kind, turn, keys, words, href } of remindersOf(occasions, known, {
    day,
    isDayDue: isDue,
    now,
  })) {
    if (stopping?.aborted) return told;
    told += await database.transaction(async (tx) => {
      // Not where another process tells them this very moment.
      if (!(await store.keep(tx, personId, [turn], now))) return 0;
      await store.keep(tx, personId, keys, now);
      await tell({ tx, now, actor: null }, { personIds: [personId], kind, words, href });
      return 1;
    });
  }
  if (isDue)
    for (const person of staff) {
      if (stopping?.aborted) break;
      told += await sendDay(services, person, { day, units: person.units ?? setting.units, now });
    }
  return told;
}

async function toOpen(read: Read, staff: readonly store.StaffRow[]): Promise<Occasion[]> {
  const loads = (await kilnDue(read)).filter(({ why, load }) => why === 'open' && load !== null);
  return Promise.all(
    loads.map(async ({ load, kiln, act }) => {
      const { firers } = await findKiln(read, kiln.code);
      return {
        kind: 'open' as const,
        key: `open:${load?.number}`,
        personIds: (firers.length > 0 ? firers : staff).map(({ id }) => id),
        name: `Load ${load?.number} in ${kiln.name}`,
        href: act.href,
        since: null,
      };
    }),
  );
}

async function ofTheDay(read: Read, staff: readonly store.StaffRow[]): Promise<Occasion[]> {
  const [buckets, duties, notices, ware] = await Promise.all([
    neglected(read),
    listDuties(read),
    unreadByAll(read),
    waitsToBeFetched(read),
  ]);
  const personIds = staff.map(({ id }) => id);
  const ofBuckets = (kind: 'stir' | 'reading') =>
    buckets[kind].map(
      ({ id, code, name, since }): Occasion => ({
        kind,
        key: `${kind}:${id}:${since ?? 'never'}`,
        personIds,
        name: `${name} ${code}`,
        href: `/buckets/${code}`,
        since,
      }),
    );
  return [
    ...ofBuckets('stir'),
    ...ofBuckets('reading'),
    ...duties
      .filter(({ standing, forRole }) => standing.state !== 'done' && forRole !== 'member')
      .map(
        ({ number, name, standing }): Occasion => ({
          kind: 'duty',
          key: `duty:${number}:${standing.nextOn}`,
          personIds,
          name,
          href: '/safety/duties',
          since: null,
        }),
      ),
    ...notices.flatMap(({ number, version, title, at, ...notice }): Occasion[] => {
      const turn = noticeTurn(at, read.now);
      if (turn === 0) return [];
      return [
        {
          kind: 'notice',
          key: `notice:${number}:${version}:${turn}`,
          personIds: notice.personIds,
          name: title,
          href: `/notices/${number}`,
          since: at,
        },
      ];
    }),
    ...ware.map(
      ({ number, since, isLate, ...piece }): Occasion => ({
        kind: 'pick-up',
        key: `pick-up:${number}:${since}:${isLate ? 2 : 1}`,
        personIds: piece.personIds,
        name: String(number),
        href: `/ware/${number}`,
        since,
      }),
    ),
  ];
}

interface Day {
  day: string;
  units: UnitSystem;
  now: number;
}

/** The day's list for one of the staff, once; where nothing needs anybody, nothing, and no other one that day. */
async function sendDay(
  { database }: Services,
  person: store.StaffRow,
  { day, units, now }: Day,
): Promise<number> {
  const key = `day:${day}`;
  const known = await store.knownSince(database.db, [person.id], now - DAY);
  if (known.get(person.id)?.has(key)) return 0;
  const parts = await partsFor({ tx: database.db, actor: itself(units, person), now });
  const list = dayWords(parts);
  return database.transaction(async (tx) => {
    if (!(await store.keep(tx, person.id, [key], now)) || list === null) return 0;
    await tell({ tx, now, actor: null }, { personIds: [person.id], kind: 'day', href: '/today', ...list });
    return 1;
  });
}

async function partsFor(read: Read): Promise<DayPart[]> {
  const { kilns, safety, ware, fees, mail, buckets } = await today(read);
  const { units } = read.actor;
  return [
    {
      title: 'Kilns',
      things: kilns.map(({ kiln, load, title, what }) => ({
        title: `${title}, ${load === null ? '' : `load ${load.number}, `}${kiln.name}`,
        what,
      })),
    },
    { title: 'Safety', things: safety },
    { title: 'Ware', things: ware },
    { title: 'Fees', things: fees },
    { title: 'Mail', things: mail },
    {
      title: 'Glaze wall',
      things: buckets.map((due) => {
        const { title, what } = dueWords(due, { units, now: read.now });
        return { title: `${title}, ${due.bucket.name} ${due.bucket.code}`, what };
      }),
    },
  ];
}
