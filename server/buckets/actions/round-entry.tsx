import type { z } from 'zod';
import { RoundEntryPage } from '../../../views/buckets/round-entry.tsx';
import { type FieldError, Invalid } from '../../core/errors.ts';
import { readForm, type Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fromWallTime, toWallTime } from '../../core/wall-time.ts';
import { KINDS } from '../kinds.ts';
import { askFor, chooseAsk, everyAsk, type Gear, readPlace, roundAddress } from '../round.ts';
import { listRoundGear, recordSheet, type SheetRow, sheetField } from '../service/index.ts';
import { readerOf } from './reader.ts';
import { theRound } from './round.tsx';

/** All of a clipboard sheet on one form. */
export async function showRoundEntry(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [{ all, stops, place }, gear] = await Promise.all([theRound(visit), listRoundGear(visit.read)]);
  const shown = visit.query.all === 'yes' ? all : stops;
  return page(
    'Type in the sheet',
    'today',
    <RoundEntryPage
      lines={shown.map((stop) => ({
        ...stop,
        ask: askFor(word(visit, `how-${stop.bucket.code}`), gear) ?? chooseAsk(place.with, stop.last, gear),
      }))}
      place={{ ...place, of: shown.map(({ bucket }) => bucket.code) }}
      more={shown.length < all.length}
      today={toWallTime(visit.now, visit.studio.timeZone).slice(0, 10)}
      tools={everyAsk(gear)}
      form={form}
      reader={readerOf(visit)}
    />,
  );
}

/** Records the rows that are filled in, all of them or none. */
export const recordRoundEntry = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRoundEntry(visit, form),
    async () => {
      const { of } = readPlace(visit.query, visit.now);
      const rows = typedRows(visit, of ?? [], await listRoundGear(visit.read));
      await visit.act(async (act) => {
        await recordSheet(act, rows);
        return rows.length;
      });
      const since = Math.min(...rows.map(({ happenedAt }) => happenedAt));
      return go(roundAddress('/round/done', { of: rows.map(({ code }) => code), since }));
    },
  );

function typedRows(visit: Visit, codes: string[], gear: Gear): SheetRow[] {
  const errors: FieldError[] = [];
  const rows = codes.flatMap((code) => {
    try {
      return typedRow(visit, code, gear) ?? [];
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      errors.push(...error.errors);
      return [];
    }
  });
  if (errors.length > 0) throw new Invalid(errors);
  return rows;
}

/** What was typed for a bucket; null where its row is empty. */
function typedRow(visit: Visit, code: string, gear: Gear): SheetRow | null {
  const [number, seconds, time] = ['number', 'flow', 'time'].map((field) => word(visit, `${field}-${code}`));
  if (!number && !seconds && !time) return null;
  const refuse = (path: string, message: string) => new Invalid([{ path: `${path}-${code}`, message }]);
  if (!number && !seconds) throw refuse('number', 'Type the number, or clear the time.');
  if (!time) throw refuse('time', 'When was it read?');
  const happenedAt = fromWallTime(`${word(visit, 'date')}T${time}`, visit.studio.timeZone);
  if (happenedAt === null) throw refuse('time', NO_SUCH_TIME);
  const ask = askFor(word(visit, `how-${code}`), gear);
  if (ask === null) throw refuse('number', 'What it was measured with is no longer in use.');
  const confirm = word(visit, `confirm-${code}`);
  const when = { happenedAt: `${word(visit, 'date')}T${time}` };
  const measured = { ...ask.fixed, [ask.field]: number, stirred: word(visit, 'stirred'), confirm, ...when };
  const read = <S extends z.ZodType>(schema: S, typed: Typed): z.output<S> => {
    try {
      return readForm(schema, typed, visit.formSetting);
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      throw new Invalid(error.errors.map((e) => ({ ...e, path: sheetField(e.path, code) })));
    }
  };
  return {
    code,
    happenedAt,
    confirmed: confirm !== '',
    reading: number ? read(KINDS.readings.body, measured) : null,
    flow: seconds ? read(KINDS.flows.body, { seconds, ...when }) : null,
  };
}

const NO_SUCH_TIME = 'No such time that day: the clocks were put forward then, or it is no date.';

function word(visit: Visit, name: string): string {
  return String([visit.typed[name] ?? ''].flat().at(-1)).trim();
}
