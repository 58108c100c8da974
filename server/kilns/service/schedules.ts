import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice, flag, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { compareCones } from '../../ware/cone.ts';
import { FIRING_KINDS, type Firing, type FiringKind } from '../../ware/firing.ts';
import { writtenCone } from '../../ware/service/index.ts';
import { CHARTS } from '../cones.ts';
import { USUAL_CHART } from '../findings.ts';
import {
  FASTEST_C_PER_H,
  MOST_SEGMENTS,
  plan,
  type Segment,
  SLOWEST_C_PER_H,
  scheduleFaults,
  seedSchedule,
} from '../schedule.ts';
import * as store from '../store/schedules.ts';

/** Ramps and holds for one kind of firing to one cone. */
export interface Schedule {
  id: number;
  number: number;
  name: string;
  kind: FiringKind;
  cone: string;
  /** Slow at the start, for ware with thick walls. */
  forThick: boolean;
  segments: Segment[];
  topC: number;
  /** From the start to the end of the last step. */
  hours: number;
  madeBy: string;
  madeAt: Instant;
  retiredAt: Instant | null;
}

/** No kiln of a studio is fired hotter: common practice, no source. */
const HOTTEST_C = 1400;

export const segmentRow = z.strictObject({
  /** Left out: as fast as the kiln goes. */
  rateCPerH: quantity(SLOWEST_C_PER_H, FASTEST_C_PER_H).optional(),
  toC: quantity(20, HOTTEST_C, '°C'),
  holdMin: quantity(0, 48 * 60, 'min').default(0),
});

/** What a schedule is, but for its steps. */
export const scheduleFields = {
  name: text(60),
  kind: choice(FIRING_KINDS),
  cone: writtenCone(),
  forThick: flag().default(false),
};

export const scheduleBody = z.strictObject({
  ...scheduleFields,
  segments: z
    .array(segmentRow)
    .min(1, 'At least one step.')
    .max(MOST_SEGMENTS, `At most ${MOST_SEGMENTS} steps.`),
});
export type ScheduleCommand = z.output<typeof scheduleBody>;

function scheduleOf({ madeByName, ...row }: store.ScheduleRow): Schedule {
  const { topC, durationS } = plan(row.segments);
  return { ...row, topC, hours: durationS / 3600, madeBy: madeByName };
}

/** Schedules in use, by kind and from the softest cone; with the retired ones where asked for. */
export async function listSchedules(read: Read, { retired = false } = {}): Promise<Schedule[]> {
  mustBeAllowed(read.actor, 'kilns.see');
  const all = (await store.listSchedules(read.tx, { retired })).map(scheduleOf);
  const kinds: readonly FiringKind[] = FIRING_KINDS;
  return all.sort(
    (a, b) =>
      kinds.indexOf(a.kind) - kinds.indexOf(b.kind) ||
      compareCones(a.cone, b.cone) ||
      Number(a.forThick) - Number(b.forThick) ||
      b.number - a.number,
  );
}

/** A schedule by its number, a retired one too. @throws NotFound */
export async function findSchedule(read: Read, number: number): Promise<Schedule> {
  mustBeAllowed(read.actor, 'kilns.see');
  const row =
    Number.isInteger(number) && number > 0 && number < 2 ** 31 && (await store.findSchedule(read.tx, number));
  if (!row) throw new NotFound('There is no schedule with this number.');
  return scheduleOf(row);
}

/** Schedules by their inside ids, retired ones too. */
export async function schedulesByIds(read: Read, ids: number[]): Promise<Map<number, Schedule>> {
  mustBeAllowed(read.actor, 'kilns.see');
  const rows = await store.schedulesByIds(read.tx, [...new Set(ids)]);
  return new Map(rows.map((row) => [row.id, scheduleOf(row)]));
}

/**
 * The schedule for a firing, the newest of exactly its kind and cone; null where there is none. Thick greenware takes
 * only one made for it; once bisqued it bears any.
 */
export async function scheduleFor(
  read: Read,
  firing: Pick<Firing, 'kind' | 'cone'>,
  { thick = false }: { thick?: boolean } = {},
): Promise<Schedule | null> {
  const fitting = (await listSchedules(read))
    .filter(({ kind, cone }) => kind === firing.kind && compareCones(cone, firing.cone) === 0)
    .sort((a, b) => b.number - a.number);
  const made = fitting.find(({ forThick }) => forThick === thick);
  return made ?? (thick && firing.kind !== 'bisque' ? (fitting[0] ?? null) : null);
}

/** Steps to start from, as studios commonly fire this kind to this cone; null where the chart knows no end point. */
export function usualSegments(kind: FiringKind, cone: string, thick: boolean): Segment[] | null {
  return seedSchedule(kind, cone, CHARTS[USUAL_CHART], { thick });
}

/** Writes a schedule; answers its number. */
export async function writeSchedule(act: Act, command: ScheduleCommand): Promise<number> {
  mustBeAllowed(act.actor, 'kilns.edit');
  const number = await insert(act, command);
  await record(act, 'schedule.write', `schedule:${number}`);
  return number;
}

/**
 * A better one in place of a schedule: a new number, and the old one is retired, since loads still name it.
 * @throws Conflict when that one was retired already, by somebody who was faster
 */
export async function replaceSchedule(act: Act, number: number, command: ScheduleCommand): Promise<number> {
  mustBeAllowed(act.actor, 'kilns.edit');
  await retire(act, number);
  const made = await insert(act, command);
  await record(act, 'schedule.replace', `schedule:${number}`, { by: made });
  return made;
}

/** Takes a schedule out of use; loads that have it keep it. @throws Conflict when that was done already */
export async function retireSchedule(act: Act, number: number): Promise<void> {
  mustBeAllowed(act.actor, 'kilns.edit');
  await retire(act, number);
  await record(act, 'schedule.retire', `schedule:${number}`);
}

async function retire(act: Act, number: number): Promise<void> {
  const { retiredAt } = await findSchedule(act, number);
  if (retiredAt !== null || !(await store.retireSchedule(act.tx, number, act.now)))
    throw new Conflict('Somebody has retired or replaced this one already. Look at the list again.');
}

/** What a studio begins with: bisque, for thin and for thick ware, and a glaze firing. Common practice, no source. */
const USUAL: Omit<ScheduleCommand, 'segments'>[] = [
  { name: 'Bisque', kind: 'bisque', cone: '06', forThick: false },
  { name: 'Bisque, thick ware', kind: 'bisque', cone: '06', forThick: true },
  { name: 'Glaze', kind: 'glaze', cone: '6', forThick: false },
];

/** Writes the usual schedules into a list that is still empty. @throws Conflict when it is not */
export async function writeUsualSchedules(act: Act): Promise<number[]> {
  mustBeAllowed(act.actor, 'kilns.edit');
  if ((await store.listSchedules(act.tx, { retired: true })).length > 0)
    throw new Conflict('There is a list already. Write further ones one by one.');
  const numbers: number[] = [];
  for (const one of USUAL) {
    const segments = usualSegments(one.kind, one.cone, one.forThick) ?? [];
    const numeric = segments.map(({ rateCPerH, ...rest }) => ({
      ...rest,
      rateCPerH: rateCPerH === 'full' ? undefined : rateCPerH,
    }));
    numbers.push(await writeSchedule(act, { ...one, segments: numeric }));
  }
  return numbers;
}

async function insert(act: Act, { segments, ...fields }: ScheduleCommand): Promise<number> {
  const steps = segments.map(
    ({ rateCPerH, toC, holdMin }): Segment => ({ rateCPerH: rateCPerH ?? 'full', toC, holdMin }),
  );
  const faults = scheduleFaults(steps, HOTTEST_C);
  if (faults.length > 0) throw new Invalid(faults);
  return store.insertSchedule(act.tx, {
    ...fields,
    segments: steps,
    madeBy: act.actor.id,
    madeAt: act.now,
  });
}
