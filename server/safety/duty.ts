// What comes round again: when it is next due. Days are 'YYYY-MM-DD' of the studio's calendar.

import { DAY } from '../core/clock.ts';
import { addDays } from '../kilns/calendar.ts';
import type { EntryKind } from './log.ts';

type DutyRole = 'member' | 'technician' | 'manager';

interface DutyPlan {
  /** Days between; 0: after each session. */
  everyDays: number;
  /** The day it is due for the first time. */
  fromOn: string;
}

export interface DutyStanding {
  /** 'done': not due yet; 'late': a day it was due has passed. */
  state: 'done' | 'due' | 'late';
  nextOn: string;
  /** Days since it was due, 0 unless late. */
  lateDays: number;
}

/** A day on which nobody wrote down that it was cleaned after a session may be one without a session; a week is not. Common practice, no source. */
const SESSION_LATE_DAYS = 7;

const dayNumber = (day: string): number => Math.round(Date.parse(`${day}T00:00:00Z`) / DAY);

/**
 * How a duty stands.
 * @param lastDoneOn the last day it was done, null: never
 * @param today the studio's day
 */
export function dutyStanding(
  { everyDays, fromOn }: DutyPlan,
  lastDoneOn: string | null,
  today: string,
): DutyStanding {
  if (everyDays === 0) {
    const nextOn = lastDoneOn === null ? fromOn : later(fromOn, addDays(lastDoneOn, 1));
    const lateDays = dayNumber(today) - dayNumber(nextOn) - SESSION_LATE_DAYS + 1;
    if (lateDays > 0) return { state: 'late', nextOn, lateDays };
    return { state: nextOn > today ? 'done' : 'due', nextOn, lateDays: 0 };
  }
  const nextOn = lastDoneOn === null ? fromOn : later(fromOn, addDays(lastDoneOn, everyDays));
  if (nextOn > today) return { state: 'done', nextOn, lateDays: 0 };
  if (nextOn === today) return { state: 'due', nextOn, lateDays: 0 };
  return { state: 'late', nextOn, lateDays: dayNumber(today) - dayNumber(nextOn) };
}

const later = (a: string, b: string): string => (a > b ? a : b);

/** 'after each session', 'every day', 'every week', 'every month', 'every year', 'every 10 days'. */
export function everyWords(everyDays: number): string {
  const named: Record<number, string> = {
    0: 'after each session',
    1: 'every day',
    7: 'every week',
    30: 'every month',
    365: 'every year',
  };
  return named[everyDays] ?? `every ${everyDays} days`;
}

const ORDER: readonly DutyRole[] = ['member', 'technician', 'manager'];

/** Whether somebody with this role does a duty of that one: a manager does everybody's. */
export const isFor = (forRole: DutyRole, role: DutyRole): boolean =>
  ORDER.indexOf(role) >= ORDER.indexOf(forRole);

interface UsualDuty {
  name: string;
  everyDays: number;
  kind: EntryKind;
  forRole: DutyRole;
}

/** What most studios do. The eyewash is run weekly after ANSI/ISEA Z358.1 (from memory); the others are common practice, no source. */
export const USUAL_DUTIES: readonly UsualDuty[] = [
  { name: 'Wet clean benches and floor', everyDays: 0, kind: 'wet-cleaning', forRole: 'member' },
  { name: 'Run the eyewash', everyDays: 7, kind: 'inspection', forRole: 'technician' },
  { name: 'Check filters and extraction', everyDays: 30, kind: 'ventilation', forRole: 'technician' },
  { name: 'Empty the sink trap, wet', everyDays: 30, kind: 'wet-cleaning', forRole: 'technician' },
  { name: 'Look through the safety data sheets', everyDays: 365, kind: 'inspection', forRole: 'technician' },
];
