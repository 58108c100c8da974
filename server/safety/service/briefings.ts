import { z } from 'zod';
import { listBuckets } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { lastRecord, record } from '../../core/audit.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { code, count, day, flag, text } from '../../core/forms.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { namesIn } from '../induction.ts';
import * as store from '../store/briefings.ts';
import { insertNote } from '../store/notes.ts';
import { noticesAtBucket } from './notices.ts';

const MOST_HEADS = 100;
const NAME_LENGTH = 80;

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

export type BriefingRow = store.BriefingRow;

/** Every class, the latest first, without the names of who was in it. */
export async function listBriefings(
  read: Read,
  { before = null }: { before?: number | null } = {},
): Promise<{ briefings: BriefingRow[]; next: number | null }> {
  mustBeAllowed(read.actor, 'safety.see');
  const rows = await store.listBriefings(read.tx, { before, limit: PAGE + 1 });
  const briefings = rows.slice(0, PAGE);
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
  const isTheirs = row.byId === read.actor.id || may(read.actor.role, 'inductions.give');
  const [names, held] = await Promise.all([
    isTheirs ? store.rosterOf(read.tx, number) : null,
    lastRecord(read.tx, HELD, `briefing:${number}`),
  ]);
  const kept = held?.details.notForChildren;
  return {
    ...row,
    roster: names === null ? null : namesIn(names),
    notForChildren: typeof kept === 'string' ? kept.split(' ').filter((one) => one !== '') : [],
  };
}
