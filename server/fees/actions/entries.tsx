import { EntryPage } from '../../../views/fees/entry.tsx';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { strikeForm, strikeOutEntry, strikeRefusal } from '../service/by-hand.ts';
import { findEntry, listEntries, sidesOfEntry } from '../service/entries.ts';
import { feeReader } from './reader.ts';

const entryNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no such entry.');

export async function showEntry(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { read } = visit;
  const entry = await findEntry(read, entryNumber(visit));
  const [sides, corrections] = await Promise.all([
    sidesOfEntry(read, entry),
    listEntries(read, { about: [entry.id] }),
  ]);
  return page(
    `Entry ${entry.number}`,
    'fees',
    <EntryPage
      entry={entry}
      sides={sides}
      corrections={corrections}
      refusal={strikeRefusal(read, entry)}
      form={form}
      done={visit.done({ struck: 'Struck out.' })}
      reader={feeReader(visit)}
    />,
  );
}

export const strikeOne = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showEntry(visit, form),
    async () => {
      const number = entryNumber(visit);
      const typed = visit.form(strikeForm);
      await visit.act((act) => strikeOutEntry(act, number, typed));
      return go(`/fees/entries/${number}?done=struck`);
    },
  );

export const backToEntry = async (visit: Visit): Promise<Answer> => go(`/fees/entries/${entryNumber(visit)}`);
