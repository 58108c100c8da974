import { type FieldError, Invalid } from '../core/errors.ts';
import { type FormSetting, readForm, type Typed } from '../core/forms.ts';
import type { Calibration, Mark } from './float.ts';
import { MOST_MARKS, markBody } from './service/index.ts';

// The pairs of a calibration are typed into numbered rows: millimetres1, specificGravity1, millimetres2 and so on.

const FEWEST_ROWS = 4;
const SPARE_ROWS = 2;

/** How many rows to show: those that are filled in, and some to spare. */
export function rowsFor(typed: Typed): number {
  const filled = rowsOf(typed).reduce((last, { number }) => Math.max(last, number), 0);
  return Math.min(MOST_MARKS, Math.max(FEWEST_ROWS, filled + SPARE_ROWS));
}

/** The pairs that were typed; what is wrong with one is said beside its field. */
export function readMarks(typed: Typed, setting: FormSetting): Mark[] {
  const errors: FieldError[] = [];
  const marks = rowsOf(typed).flatMap(({ number, row }) => {
    try {
      return [readForm(markBody, row, setting)];
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      errors.push(...error.errors.map(({ path, message }) => ({ path: `${path}${number}`, message })));
      return [];
    }
  });
  if (errors.length > 0) throw new Invalid(errors);
  return marks;
}

/** A calibration as its form shows it, so that a pair can be added to it. */
export function typedFrom(calibration: Calibration | null): Typed {
  const typed: Typed = {};
  for (const [i, { millimetres, specificGravity }] of (calibration?.points ?? []).entries()) {
    typed[`millimetres${i + 1}`] = String(millimetres);
    typed[`specificGravity${i + 1}`] = String(specificGravity);
  }
  return typed;
}

function rowsOf(typed: Typed): { number: number; row: Typed }[] {
  return Array.from({ length: MOST_MARKS }, (_, i) => ({
    number: i + 1,
    row: {
      millimetres: typed[`millimetres${i + 1}`],
      specificGravity: typed[`specificGravity${i + 1}`],
    },
  })).filter(({ row }) => Object.values(row).some((value) => [value ?? ''].flat().join('').trim() !== ''));
}
