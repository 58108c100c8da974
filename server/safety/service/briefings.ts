import { z } from 'zod';
import { listBuckets } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { lastRecord, record } from '../../core/audit.ts';
import { DAY } from '../../core/clock.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../core/errors.ts';
import { code, count, day, flag, text } from '../../core/forms.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { namesIn } from '../induction.ts';
import * as store from '../store/briefings.ts';
import { insertNote } from '../store/notes.ts';
import type { strikeOutForm } from './inductions.ts';
import { noticesAtBucket } from './notices.ts';

const MOST_HEADS = 100;
const NAME_LENGTH = 80;
/** How long whoever held a briefing may strike it out alone, as at the buckets. */
const OWN_SLIP = DAY;

export const briefingBody = z.strictObject({
  className: text(80),
  heads: count(1, MOST_HEADS),
  /** Whether anybody in it is younger than the studio's age of a child. */
  hasChildren: flag().default(false),
  heldOn: day(),
  /** Codes of the buckets it dips from, whose notices were read out. */
  buckets: z.array(code()).max(60, 'At most 60.').default([]),
  /** Names of whoever was there. */
  roster: z
    .array(text(NAME_LENGTH))
    .min(1, 'Write at least one name.')
    .max(MOST_HEADS, `At most ${MOST_HEADS}.`),
});

/** As a form brings it: the roster is one name a line. */
export const briefingForm = briefingBody.extend({
  roster: text(MOST_HEADS * (NAME_LENGTH + 1))
    .refine(
      (lines) => namesIn(lines).every((name) => name.length <= NAME_LENGTH),
      `One name a line, at most ${NAME_LENGTH} characters each.`,
    )
    .refine((lines) => namesIn(lines).length <= MOST_HEADS, `At most ${MOST_HEADS} names.`),
});

/** A bucket that a class may dip from. */
export interface ClassBucket {
  code: string;
  name: string;
  colour: string;
  place: string;
  notForChildren: boolean;
}

/** The buckets on the wall, and of which of them a notice says that children keep away. */
export async function bucketsForClass(read: Read): Promise<ClassBucket[]> {
  mustBeAllowed(read.actor, 'briefings.hold');
  const buckets = await listBuckets(read);
  return Promise.all(
    buckets.map(async ({ id, code, name, colour, place, facts }) => {
      const notices = await noticesAtBucket(read, { id, code, name, recipe: facts.recipe });
      return { code, name, colour, place, notForChildren: notices.some((one) => one.notForChildren) };
    }),
  );
}

/**
 * Keeps a briefing of a class with who was there: one record, whatever the class dips that day. Children at a bucket
 * that is not for them are written into the record, and refused by nobody.
 * @returns its number, and the codes of the buckets that children in it keep away from
 * @throws Invalid for a day to come, more names than heads, and a bucket that is not on the wall
 */
export async function holdBriefing(
  act: Act,
  command: z.output<typeof briefingBody>,
): Promise<{ number: number; notForChildren: string[] }> {
  mustBeAllowed(act.actor, 'briefings.hold');
  const { className, heads, hasChildren, heldOn, roster } = command;
  const wanted = command.buckets.map((one) => one.toLowerCase());
  const buckets = (await bucketsForClass(act)).filter((one) => wanted.includes(one.code.toLowerCase()));
  const known = buckets.map((one) => one.code.toLowerCase());
  const strangers = command.buckets.filter((one) => !known.includes(one.toLowerCase()));
  const errors = [
    ...(heldOn > (await studioDay(act))
      ? [{ path: 'heldOn', message: 'That day is still to come. Write it down once it was held.' }]
      : []),
    ...(roster.length > heads
      ? [
          {
            path: 'roster',
            message: `${roster.length} names for ${heads === 1 ? '1 head' : `${heads} heads`}.`,
          },
        ]
      : []),
    ...(strangers.length > 0
      ? [{ path: 'buckets', message: `Not on the wall: ${strangers.join(', ')}.` }]
      : []),
  ];
  if (errors.length > 0) throw new Invalid(errors);
  const rosterId = await insertNote(act.tx, roster.join('\n'));
  const number = await store.insertBriefing(act.tx, {
    className,
    heads,
    hasChildren,
    heldOn,
    bucketCodes: buckets.map((one) => one.code),
    rosterId,
    by: act.actor.id,
    at: act.now,
  });
  const notForChildren = buckets.flatMap((one) => (hasChildren && one.notForChildren ? [one.code] : []));
  await record(act, HELD, `briefing:${number}`, { notForChildren: notForChildren.join(' ') });
  return { number, notForChildren };
}

const HELD = 'briefing.held';
const PAGE = 50;

export interface BriefingRow extends store.BriefingRow {
  /** Whether it stands and whoever asks may strike it out now. */
  mayStrikeOut: boolean;
}

const isOwn = ({ actor }: Read, { byId }: store.BriefingRow): boolean => byId === actor.id;
const keepsRecords = ({ actor }: Read): boolean => may(actor.role, 'inductions.give');

const withRight = (read: Read, row: store.BriefingRow): BriefingRow => ({
  ...row,
  mayStrikeOut:
    row.struckBy === null && (keepsRecords(read) || (isOwn(read, row) && read.now <= row.at + OWN_SLIP)),
});

/** Every class, the latest first, without the names of who was in it: struck out ones too, with why. */
export async function listBriefings(
  read: Read,
  { before = null }: { before?: number | null } = {},
): Promise<{ briefings: BriefingRow[]; next: number | null }> {
  mustBeAllowed(read.actor, 'safety.see');
  const rows = await store.listBriefings(read.tx, { before, limit: PAGE + 1 });
  const briefings = rows.slice(0, PAGE).map((row) => withRight(read, row));
  return { briefings, next: rows.length > PAGE ? (briefings.at(-1)?.number ?? null) : null };
}

export interface Briefing extends BriefingRow {
  /** Who was there; null for whoever neither held it nor keeps the studio's records. */
  roster: string[] | null;
  /** Codes of the buckets that were not for children when it was held, where there were any in it. */
  notForChildren: string[];
}

export async function findBriefing(read: Read, number: number): Promise<Briefing> {
  mustBeAllowed(read.actor, 'safety.see');
  const row = await store.findBriefing(read.tx, number);
  if (!row) throw new NotFound('There is no briefing with this number.');
  const [names, held] = await Promise.all([
    isOwn(read, row) || keepsRecords(read) ? store.rosterOf(read.tx, number) : null,
    lastRecord(read.tx, HELD, `briefing:${number}`),
  ]);
  const kept = held?.details.notForChildren;
  return {
    ...withRight(read, row),
    roster: names === null ? null : namesIn(names),
    notForChildren: typeof kept === 'string' ? kept.split(' ').filter((one) => one !== '') : [],
  };
}

/**
 * A briefing for whoever means to strike it out; one that is struck out already tells them so.
 * @throws Forbidden for somebody else's, and for one's own after a day
 */
export async function findToStrikeOut(read: Read, number: number): Promise<Briefing> {
  mustBeAllowed(read.actor, 'briefings.hold');
  const briefing = await findBriefing(read, number);
  if (briefing.struckBy === null && !briefing.mayStrikeOut)
    throw new Forbidden(
      'You can strike out what you wrote down yourself in the last 24 hours. Ask a technician for the rest.',
    );
  return briefing;
}

/**
 * Strikes out a briefing that was not held as it stands; it stays, with the reason.
 * @throws Forbidden as above, and Conflict when it is struck out already
 */
export async function strikeOutBriefing(
  act: Act,
  number: number,
  { reason }: z.output<typeof strikeOutForm>,
): Promise<void> {
  const { id, struckBy } = await findToStrikeOut(act, number);
  const already = new Conflict('This is struck out already.');
  if (struckBy !== null) throw already;
  const noteId = await insertNote(act.tx, reason);
  await unlessTaken(
    store.insertStrike(act.tx, { briefingId: id, by: act.actor.id, at: act.now, noteId }),
    already,
  );
  await record(act, 'briefing.struck-out', `briefing:${number}`);
}
