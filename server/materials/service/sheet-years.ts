import type { Read } from '../../core/actor.ts';

/** Common practice, no source: how long a sheet is trusted where the studio chose nothing else. */
const USUAL_YEARS = 3;

let years = async (_read: Read): Promise<number> => USUAL_YEARS;

/** The studio's own choice is a setting of the safety feature, to the right of this one: it tells here how to ask. */
export const fillSheetYears = (filled: (read: Read) => Promise<number>): void => {
  years = filled;
};

/** Years after its date at which a safety data sheet is asked for again. */
export const sheetYears = (read: Read): Promise<number> => years(read);
