import type { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { DAY, FUTURE, type Instant } from '../../core/clock.ts';
import { Conflict, Forbidden, Invalid } from '../../core/errors.ts';
import { keepPicture, type Picture } from '../../core/files.ts';
import { tell } from '../../core/messages.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { shownDay } from '../../core/wall-time.ts';
import { isFor } from '../duty.ts';
import { type EntryKind, KINDS, type LaterKind, type Payload } from '../log.ts';
import * as dutyStore from '../store/duties.ts';
import * as store from '../store/log.ts';
import { insertNote } from '../store/notes.ts';
import type { amendBody, closeBody, EntryCommand, followUpBody } from './log-forms.ts';
import { type Entry, findEntry } from './log-read.ts';

const MOST_PHOTOS = 12;
/** How long whoever wrote an entry may strike it out alone, as at the buckets. */
const OWN_SLIP = DAY;
const refuse = (path: string, message: string) => new Invalid([{ path, message }]);

/**
 * Writes an entry; answers its number. Technicians are told of what cannot wait. Throws Invalid for a time to come, for
 * a bucket, kiln or material that is not there, and for a duty that this does not meet.
 */
export async function logEntry(act: Act, command: EntryCommand): Promise<number> {
  const kind = KINDS[command.kind];
  mustBeAllowed(act.actor, 'log.write');
  if (!kind.everyone) mustBeAllowed(act.actor, 'log.keep');
  const { happenedAt = act.now, place = '' } = command;
  if (happenedAt > act.now + FUTURE) throw refuse('happenedAt', 'This lies in the future.');
  const payload = payloadOf(command);
  if (command.what === undefined && payload.outcome === 'needs-work')
    throw refuse('what', 'Say what needs work.');
  const [bucketId, kilnId, materialId, dutyId] = await Promise.all([
    idOf('bucket', command.bucket, (one) => store.bucketId(act.tx, one), 'There is no such bucket.'),
    idOf('kiln', command.kiln, (one) => store.kilnId(act.tx, one), 'There is no such kiln.'),
    idOf(
      'material',
      command.material,
      async (id) => ((await store.hasMaterial(act.tx, id)) ? id : null),
      'There is no such material.',
    ),
    'duty' in command && command.duty !== undefined ? dutyFor(act, command.duty, command.kind) : null,
  ]);
  const restricted = kind.restricted === 'always' || (command.restricted ?? kind.restricted === 'usually');
  const number = await append(act, {
    kind: command.kind,
    about: null,
    happenedAt,
    place,
    bucketId,
    kilnId,
    materialId,
    dutyId,
    restricted,
    what: command.what,
    action: command.action,
    payload,
  });
  if (kind.tells)
    await tell(act, {
      personIds: (await store.keepers(act.tx)).map(({ id }) => id),
      kind: 'safety-entry',
      words: `${kind.words}${restricted ? '' : `, ${place}`}: entry ${number} of the safety log waits for somebody.`,
      href: `/safety/log/${number}`,
    });
  return number;
}

/**
 * Puts an entry right in words; whoever wrote it may, and those who keep the log. Throws Conflict where it is struck
 * out, or to be struck out by whoever wrote it too late or after somebody took it on.
 */
export async function amend(
  act: Act,
  number: number,
  { what, restrict = false, strike = false }: z.output<typeof amendBody>,
): Promise<number> {
  const entry = await toChange(act, number);
  if (strike && !may(act.actor.role, 'log.keep')) mustBeOwnSlip(act, entry);
  return append(act, {
    kind: 'amendment',
    about: number,
    happenedAt: act.now,
    restricted: restrict,
    what,
    payload: strike ? { strikes: true } : {},
  });
}

function mustBeOwnSlip({ now }: Act, { recordedAt, later }: Entry): void {
  if (now > recordedAt + OWN_SLIP)
    throw new Conflict('You can strike out what you wrote in the last 24 hours. Ask a technician.');
  if (later.some(({ kind }) => kind !== 'amendment'))
    throw new Conflict('A technician has taken this on. Ask them to strike it out.');
}

/** Somebody takes an entry on until a day; a closed one is open again. Throws Invalid for an owner or day that cannot be. */
export async function followUp(
  act: Act,
  number: number,
  { what, owner, dueOn }: z.output<typeof followUpBody>,
): Promise<number> {
  mustBeAllowed(act.actor, 'log.keep');
  const entry = await toChange(act, number);
  const found = (await store.keepers(act.tx)).find((one) => one.email === owner);
  if (!found) throw refuse('owner', 'A technician or manager of this studio.');
  if (dueOn < (await studioDay(act))) throw refuse('dueOn', 'This day has passed.');
  const made = await append(act, {
    kind: 'follow-up',
    about: number,
    happenedAt: act.now,
    restricted: false,
    what,
    ownerId: found.id,
    dueOn,
    payload: {},
  });
  await tell(act, {
    personIds: [found.id],
    kind: 'safety-follow-up',
    words: `Entry ${number} of the safety log (${KINDS[entry.kind].words.toLowerCase()}) is yours to follow up by ${shownDay(dueOn)}.`,
    href: `/safety/log/${number}`,
  });
  return made;
}

/** Nothing waits any more, with what came of it. Throws Conflict where nothing did. */
export async function close(act: Act, number: number, { what }: z.output<typeof closeBody>): Promise<number> {
  mustBeAllowed(act.actor, 'log.keep');
  const { standing } = await toChange(act, number);
  if (standing.state === 'closed') throw new Conflict('This is closed already.');
  if (standing.state === 'noted') throw new Conflict('Nothing waits here, so there is nothing to close.');
  return append(act, {
    kind: 'closing',
    about: number,
    happenedAt: act.now,
    restricted: false,
    what,
    payload: {},
  });
}

/** A photo of an entry; whoever wrote it brings one, and those who keep the log. */
export async function addPhoto(act: Act, number: number, picture: Picture | null): Promise<void> {
  if (!picture) throw refuse('photo', 'Take a photo, or choose one.');
  const { photos } = await toChange(act, number);
  if (photos.length >= MOST_PHOTOS)
    throw refuse('photo', `This has ${MOST_PHOTOS} photos, which is all it takes.`);
  const fileId = await keepPicture(act, picture);
  if (await store.insertPhoto(act.tx, number, fileId))
    await record(act, 'safety.photo', `safety-log:${number}`, { sha256: picture.sha256 });
}

/** An entry that whoever acts may write about; nobody else writes into the log until the transaction ends. */
async function toChange(act: Act, number: number): Promise<Entry> {
  mustBeAllowed(act.actor, 'log.write');
  await store.nextNumber(act.tx);
  const entry = await findEntry(act, number);
  if (!entry.isOwn) mustBeAllowed(act.actor, 'log.keep');
  if (entry.standing.state === 'struck') throw new Conflict('This is struck out.');
  return entry;
}

async function idOf<T>(
  path: string,
  named: T | undefined,
  find: (named: T) => Promise<number | null>,
  message: string,
): Promise<number | null> {
  if (named === undefined) return null;
  const id = await find(named);
  if (id === null) throw refuse(path, message);
  return id;
}

async function dutyFor(act: Act, number: number, kind: EntryKind): Promise<number> {
  const found = await dutyStore.findDuty(act.tx, number);
  if (!found || found.endedAt !== null) throw refuse('duty', 'There is no such duty.');
  if (found.kind !== kind) throw refuse('duty', 'Another kind of entry meets this duty.');
  if (!isFor(found.forRole, act.actor.role)) throw new Forbidden(`This duty needs a ${found.forRole}.`);
  return found.id;
}

function payloadOf(command: EntryCommand): Payload {
  const topic = command.topic && { topic: command.topic };
  switch (command.kind) {
    case 'air':
    case 'wipe': {
      const { substance, value, unit, below = false, method } = command;
      const minutes = command.kind === 'air' ? command.minutes : undefined;
      return { ...topic, measured: { substance, value, unit, below, method, minutes } };
    }
    case 'ventilation':
    case 'respirator-fit':
    case 'inspection': {
      const { outcome, value, unit, method } = command;
      if (value === undefined) return { ...topic, outcome };
      if (unit === undefined) throw refuse('unit', 'A figure needs its unit.');
      return { ...topic, outcome, measured: { value, unit, below: false, method } };
    }
    case 'waste': {
      const { quantity: amount, quantityUnit: unit, way, reference } = command;
      return { ...topic, waste: { quantity: amount, unit, way, reference } };
    }
    default:
      return topic ?? {};
  }
}

interface NewRow {
  kind: EntryKind | LaterKind;
  about: number | null;
  happenedAt: Instant;
  place?: string;
  bucketId?: number | null;
  kilnId?: number | null;
  materialId?: number | null;
  dutyId?: number | null;
  restricted: boolean;
  what: string | undefined;
  action?: string | undefined;
  ownerId?: number;
  dueOn?: string;
  payload: Payload;
}

async function append(act: Act, { what, action, place = '', ...row }: NewRow): Promise<number> {
  const { tx, actor, now } = act;
  const number = await store.nextNumber(tx);
  const [whatId, actionId] = [await insertNote(tx, what), await insertNote(tx, action)];
  await store.insertEntry(tx, {
    ...row,
    number,
    place,
    recordedAt: now,
    by: actor.id,
    tokenId: actor.tokenId,
    whatId,
    actionId,
    v: 1,
  });
  return number;
}
