import { z } from 'zod';
import { type FieldError, Invalid } from '../core/errors.ts';
import { type FormSetting, flag, quantity, readForm, type Typed, text } from '../core/forms.ts';
import { densityOf, type Material } from './ordinary.ts';
import { type RecipeCommand, type RecipeLine, recipeLine } from './service/index.ts';

// A recipe's lines are typed into numbered rows: material1, parts1, density1, material2 and so on.

export const MOST_ROWS = 40;
const SPARE_ROWS = 4;
const MORE_ROWS = 6;

const nameForm = z.object({ name: text(80) });
const restForm = z.object({ hasSolubles: flag(), solidsDensity: quantity(1.01, 8).optional() });

/** How many rows to show: those that are filled in, or were shown before, and some to spare. */
export function rowsFor(typed: Typed): number {
  const shown = Math.floor(Number(typed.rows)) || 0;
  const more = wantsMoreRows(typed) ? MORE_ROWS : 0;
  const filled = rowsOf(typed).reduce((last, row) => Math.max(last, row.number), 0);
  return Math.min(MOST_ROWS, Math.max(shown + more, filled + SPARE_ROWS, 2 * SPARE_ROWS));
}

/** The button that only adds empty rows was pressed. */
export const wantsMoreRows = (typed: Typed): boolean => typed.more !== undefined;

/** The form of a new recipe: its name, and the rest as for every version. */
export function readNewRecipe(
  typed: Typed,
  setting: FormSetting,
  known: Material[],
): { name: string; command: RecipeCommand } {
  const errors: FieldError[] = [];
  const named = gather(errors, '', () => readForm(nameForm, typed, setting), null);
  const command = gather(errors, '', () => readRecipe(typed, setting, known), null);
  if (named === null || command === null) throw new Invalid(errors);
  return { ...named, command };
}

/** The form as a command; a density left empty is taken from the material where it is known. */
export function readRecipe(typed: Typed, setting: FormSetting, known: Material[]): RecipeCommand {
  const errors: FieldError[] = [];
  const lines = rowsOf(typed).flatMap((row) =>
    gather(errors, `${row.number}`, () => [readLine(row.typed, setting, known)], []),
  );
  const rest = gather(errors, '', () => readForm(restForm, typed, setting), { hasSolubles: false });
  if (errors.length > 0) throw new Invalid(errors);
  return { ...rest, lines };
}

/** A recipe as its form shows it. */
export function typedFrom(recipe: {
  lines: RecipeLine[];
  solidsDensity: number;
  hasSolubles: boolean;
}): Typed {
  const typed: Typed = {};
  for (const [i, { material, parts, density }] of recipe.lines.entries()) {
    typed[`material${i + 1}`] = material;
    typed[`parts${i + 1}`] = String(parts);
    typed[`density${i + 1}`] = String(density);
  }
  if (recipe.lines.length === 0) typed.solidsDensity = String(recipe.solidsDensity);
  if (recipe.hasSolubles) typed.hasSolubles = 'yes';
  return typed;
}

function rowsOf(typed: Typed): { number: number; typed: Typed }[] {
  return Array.from({ length: MOST_ROWS }, (_, i) => ({
    number: i + 1,
    typed: {
      material: typed[`material${i + 1}`],
      parts: typed[`parts${i + 1}`],
      density: typed[`density${i + 1}`],
    },
  })).filter((row) => Object.values(row.typed).some((value) => !isBlank(value)));
}

function readLine(row: Typed, setting: FormSetting, known: Material[]): RecipeLine {
  if (!isBlank(row.density)) return readForm(recipeLine, row, setting);
  const density = densityOf([row.material ?? ''].flat().join(''), known);
  if (density !== undefined) return readForm(recipeLine, { ...row, density: String(density) }, setting);
  const errors: FieldError[] = [];
  gather(errors, '', () => readForm(recipeLine, row, setting), null);
  const message = 'New here: give its density.';
  throw new Invalid(errors.map((error) => (error.path === 'density' ? { ...error, message } : error)));
}

/** Runs one part of the reading; what is wrong with it joins the list, and the reading goes on. */
function gather<T, U>(errors: FieldError[], suffix: string, work: () => T, otherwise: U): T | U {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    errors.push(...error.errors.map(({ path, message }) => ({ path: `${path}${suffix}`, message })));
    return otherwise;
  }
}

const isBlank = (value: string | string[] | undefined): boolean =>
  [value ?? ''].flat().join('').trim() === '';
