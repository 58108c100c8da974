import { type FieldError, Invalid } from '../core/errors.ts';
import type { Typed } from '../core/forms.ts';

// Lists in a form: numbered rows of fields, each row its own fields with its number behind the name.

const MORE_ROWS = 4;
const MOST_READ = 40;

/** Which field each figure of a row is typed into, without the row's number. */
type Fields = Readonly<Record<string, string>>;

/** The rows in which anything is typed, by their numbers, named as the row's schema names them. */
export function rowsIn(typed: Typed, fields: Fields): { number: number; typed: Typed }[] {
  return Array.from({ length: MOST_READ }, (_, i) => ({
    number: i + 1,
    typed: Object.fromEntries(Object.entries(fields).map(([key, field]) => [key, typed[`${field}${i + 1}`]])),
  })).filter((row) => Object.values(row.typed).some((value) => !isBlank(value)));
}

/** The button that only adds empty rows was pressed. */
export const wantsMoreRows = (typed: Typed): boolean => typed.more !== undefined;

/** How many rows of a list to show: those that are filled in and some to spare, and more where asked for. */
export function rowCount(
  typed: Typed,
  fields: string[],
  { least, spare, most }: { least: number; spare: number; most: number },
): number {
  const used = rowsIn(typed, Object.fromEntries(fields.map((field) => [field, field])));
  // A browser sends every field it shows, empty ones too.
  const shown = Array.from({ length: MOST_READ }, (_, i) => i + 1).filter((number) =>
    fields.some((field) => typed[`${field}${number}`] !== undefined),
  );
  const more = wantsMoreRows(typed) ? MORE_ROWS : 0;
  return Math.min(most, Math.max((shown.at(-1) ?? 0) + more, (used.at(-1)?.number ?? 0) + spare, least));
}

/** Runs one part of the reading; what is wrong with it joins the list under its field, and the reading goes on. */
export function gather<T, U>(
  errors: FieldError[],
  work: () => T,
  otherwise: U,
  rename: (path: string) => string = (path) => path,
): T | U {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    errors.push(...error.errors.map(({ path, message }) => ({ path: rename(path), message })));
    return otherwise;
  }
}

/** Faults of a list's entries ('posts.1.heightMm') beside the fields these were typed into. */
export function movedPaths(
  faults: FieldError[],
  fieldOf: (list: string, at: number, key: string) => string | null,
): FieldError[] {
  return faults.map(({ path, message }) => {
    const [list = '', at = '', key = ''] = path.split('.');
    return { path: (/^\d+$/.test(at) && fieldOf(list, Number(at), key)) || path, message };
  });
}

/** A figure as typed: without the last digits that arithmetic leaves. */
export const figureText = (value: number | null | undefined): string =>
  value === null || value === undefined ? '' : String(Number(value.toPrecision(9)));

export const isBlank = (value: string | string[] | undefined): boolean =>
  [value ?? ''].flat().join('').trim() === '';
