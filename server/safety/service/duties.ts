import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice, count, day, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay, studioTimeZone } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { type DutyStanding, dutyStanding, isFor, USUAL_DUTIES } from '../duty.ts';
import { type EntryKind, KINDS } from '../log.ts';
import * as store from '../store/duties.ts';
import { logEntry } from './log.ts';

/** Ten years. */
const LONGEST_DAYS = 3653;

/** The kinds of entry that a duty is met by: one tap is enough for each. */
export const DUTY_KINDS = ['wet-cleaning', 'ventilation', 'inspection', 'training'] as const;
const DUTY_ROLES = ['member', 'technician', 'manager'] as const;

export const dutyBody = z.strictObject({
  name: text(80),
  /** Days between; 0: after each session. */
  everyDays: count(0, LONGEST_DAYS),
  kind: choice(DUTY_KINDS),
  forRole: choice(DUTY_ROLES),
  /** The day it is due for the first time; without it today. */
  fromOn: day().optional(),
});

export interface DutyNow {
  number: number;
  name: string;
  everyDays: number;
  kind: EntryKind;
  forRole: (typeof DUTY_ROLES)[number];
  standing: DutyStanding;
  /** The entry that says when it was done last; null: never. */
  last: { number: number; at: Instant; by: string } | null;
  /** Whoever asks may do it. */
  isMine: boolean;
}

/** What comes round again, late first, then what is due, each with when it was done last. */
export async function listDuties(read: Read): Promise<DutyNow[]> {
  mustBeAllowed(read.actor, 'safety.see');
  const [rows, today, timeZone] = await Promise.all([
    store.listDuties(read.tx),
    studioDay(read),
    studioTimeZone(read.tx),
  ]);
  const order = ['late', 'due', 'done'] as const;
  return rows
    .map(({ id: _, endedAt: __, fromOn, last, kind, ...row }) => {
      const lastOn = last && toWallTime(last.at, timeZone).slice(0, 10);
      return {
        ...row,
        kind: kind as EntryKind,
        last,
        standing: dutyStanding({ everyDays: row.everyDays, fromOn }, lastOn, today),
        isMine: isFor(row.forRole, read.actor.role),
      };
    })
    .sort((a, b) => order.indexOf(a.standing.state) - order.indexOf(b.standing.state));
}

/** A new duty; answers its number. Throws Invalid where members could not write the entry that meets it. */
export async function addDuty(act: Act, command: z.output<typeof dutyBody>): Promise<number> {
  mustBeAllowed(act.actor, 'duties.edit');
  const { fromOn = await studioDay(act), ...duty } = command;
  if (duty.forRole === 'member' && !KINDS[duty.kind].everyone)
    throw new Invalid([
      { path: 'forRole', message: `${KINDS[duty.kind].words} is written down by technicians only.` },
    ]);
  const number = await store.insertDuty(act.tx, { ...duty, fromOn, endedAt: null });
  await record(act, 'duty.added', `duty:${number}`, { everyDays: duty.everyDays, kind: duty.kind });
  return number;
}

/** Adds what most studios do and this one has not yet, by name; answers how many. */
export async function addUsualDuties(act: Act): Promise<number> {
  mustBeAllowed(act.actor, 'duties.edit');
  await store.lockDuties(act.tx);
  const known = new Set((await store.listDuties(act.tx)).map(({ name }) => name.toLowerCase()));
  const missing = USUAL_DUTIES.filter(({ name }) => !known.has(name.toLowerCase()));
  for (const duty of missing) await addDuty(act, dutyBody.parse(duty));
  return missing.length;
}

/** A duty that comes round no more; what was done of it stays in the log. */
export async function endDuty(act: Act, number: number): Promise<void> {
  mustBeAllowed(act.actor, 'duties.edit');
  const duty = await store.findDuty(act.tx, number);
  if (!duty) throw new NotFound('There is no such duty.');
  if (!(await store.endDuty(act.tx, number, act.now))) throw new Conflict('This duty has ended already.');
  await record(act, 'duty.ended', `duty:${number}`);
}

/** Done just now and all in order, in one tap; answers the number of the entry that says so. */
export async function dutyDone(act: Act, number: number): Promise<number> {
  mustBeAllowed(act.actor, 'log.write');
  const duty = await store.findDuty(act.tx, number);
  if (!duty || duty.endedAt !== null) throw new NotFound('There is no such duty.');
  const kind = DUTY_KINDS.find((one) => one === duty.kind);
  if (!kind) throw new Conflict('This is written down with its figures.');
  const what = duty.name;
  return kind === 'ventilation' || kind === 'inspection'
    ? logEntry(act, { kind, what, outcome: 'in-order', duty: number })
    : logEntry(act, { kind, what, duty: number });
}
