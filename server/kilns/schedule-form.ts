import { z } from 'zod';
import { type FieldError, Invalid } from '../core/errors.ts';
import { type FormSetting, readForm, type Typed } from '../core/forms.ts';
import type { FiringKind } from '../ware/firing.ts';
import { upper } from '../ware/words.ts';
import { MOST_SEGMENTS } from './schedule.ts';
import {
  type Schedule,
  type ScheduleCommand,
  scheduleFields,
  segmentRow,
  usualSegments,
} from './service/index.ts';
import { figureText, gather, rowCount, rowsIn } from './typed-rows.ts';

const FIELDS = { rateCPerH: 'rate', toC: 'to', holdMin: 'hold' } as const;

const flatForm = z.object(scheduleFields);
const seedForm = z.object({ ...scheduleFields, name: scheduleFields.name.optional() });

/** How many rows of steps to show: those that are filled in and some to spare. */
export const stepRows = (typed: Typed): number =>
  rowCount(typed, Object.values(FIELDS), { least: 5, spare: 2, most: MOST_SEGMENTS });

/** The form as a command. @throws Invalid with every fault at once, each beside its field */
export function readSchedule(typed: Typed, setting: FormSetting): ScheduleCommand {
  const errors: FieldError[] = [];
  const flat = gather(errors, () => readForm(flatForm, typed, setting), null);
  const rows = rowsIn(typed, FIELDS).flatMap(({ number, typed: row }) =>
    gather(
      errors,
      () => [readForm(segmentRow, row, setting)],
      [],
      (path) => fieldOf(path, number),
    ),
  );
  if (rows.length === 0 && errors.length === 0)
    errors.push({ path: 'to1', message: 'A schedule needs at least one step.' });
  if (!flat || errors.length > 0) throw new Invalid(errors);
  return { ...flat, segments: rows };
}

/** The field into which a figure of the step at this place in the list was typed. */
export function fieldOfStep(typed: Typed, at: number, key: string): string {
  const row = rowsIn(typed, FIELDS)[at];
  return row ? fieldOf(key, row.number) : `to${at + 1}`;
}

const fieldOf = (key: string, number: number): string =>
  `${(FIELDS as Record<string, string>)[key] ?? 'to'}${number}`;

/** The form filled with the usual steps for the kind and cone chosen in it. @throws Invalid where none are known */
export function withUsualSteps(typed: Typed, setting: FormSetting): Typed {
  const { kind, cone, forThick } = readForm(seedForm, typed, setting);
  const segments = usualSegments(kind, cone, forThick);
  if (segments === null)
    throw new Invalid([
      { path: 'cone', message: `The cone chart has no figure for cone ${cone}: type the steps yourself.` },
    ]);
  const { name, kind: _, cone: __, forThick: ___, ...rest } = typed;
  const plain = Object.fromEntries(
    Object.entries(rest).filter(([field]) => !/^(rate|to|hold)\d+$/.test(field)),
  );
  return {
    ...plain,
    ...typedFrom({
      name: [name ?? ''].flat().join('') || usualName(kind, cone, forThick),
      kind,
      cone,
      forThick,
      segments,
    }),
  };
}

const usualName = (kind: FiringKind, cone: string, thick: boolean): string =>
  `${upper(kind)} cone ${cone}${thick ? ', thick ware' : ''}`;

/** A schedule as its form shows it. */
export function typedFrom({
  name,
  kind,
  cone,
  forThick,
  segments,
}: Pick<Schedule, 'name' | 'kind' | 'cone' | 'forThick' | 'segments'>): Typed {
  const typed: Typed = { name, kind, cone, forThick: forThick ? 'yes' : '' };
  segments.forEach(({ rateCPerH, toC, holdMin }, i) => {
    typed[`rate${i + 1}`] = rateCPerH === 'full' ? '' : figureText(rateCPerH);
    typed[`to${i + 1}`] = figureText(toC);
    typed[`hold${i + 1}`] = holdMin === 0 ? '' : figureText(holdMin);
  });
  return typed;
}
