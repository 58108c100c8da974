import { CheckPage, StartPage, startAsked } from '../../../views/kilns/firing-check.tsx';
import { type FieldError, Invalid } from '../../core/errors.ts';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  checkBeforeFiring,
  checkFields,
  kilnSettings,
  MOST_TURNS,
  showFiring,
  startFiring,
  startForm,
  watchRow,
} from '../service/index.ts';
import { gather, movedPaths, rowCount, rowsIn, wantsMoreRows } from '../typed-rows.ts';
import { doneIn, loadNumber, loadReaderOf } from './load-reader.ts';

const TURN = { name: 'watcher', from: 'from', to: 'to' } as const;

export async function showCheck(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = loadNumber(visit);
  const [firing, { scheduleWord }] = await Promise.all([
    showFiring(visit.read, number),
    kilnSettings(visit.read),
  ]);
  if (firing.load.state !== 'loaded' && form.errors.length === 0) return go(`/kilns/loads/${number}`);
  return page(
    `Before firing load ${number}`,
    'kilns',
    <CheckPage
      firing={firing}
      form={form}
      done={null}
      scheduleWord={scheduleWord}
      turns={rowCount(form.typed, Object.values(TURN), { least: 3, spare: 1, most: MOST_TURNS })}
      reader={loadReaderOf(visit)}
    />,
  );
}

export async function saveCheck(visit: Visit): Promise<Answer> {
  const { typed } = visit;
  if (wantsMoreRows(typed)) return showCheck(visit, emptyForm(typed));
  const rows = rowsIn(typed, TURN);
  const fieldOf = (key: string, at: number) => `${(TURN as Record<string, string>)[key] ?? TURN.name}${at}`;
  return visit.submit(
    (form) =>
      showCheck(visit, {
        ...form,
        errors: movedPaths(form.errors, (_, at, key) => (rows[at] ? fieldOf(key, rows[at].number) : null)),
      }),
    async () => {
      const number = loadNumber(visit);
      const errors: FieldError[] = [];
      const flat = gather(errors, () => visit.form(checkFields), null);
      const watch = rows.flatMap((row) =>
        gather(
          errors,
          () => [readForm(watchRow, row.typed, visit.formSetting)],
          [],
          (path) => fieldOf(path, row.number),
        ),
      );
      if (!flat || errors.length > 0) throw new Invalid(errors);
      await visit.act((act) => checkBeforeFiring(act, number, { ...flat, watch }));
      return go(`/kilns/loads/${number}/start?did=checked`);
    },
  );
}

export async function showStart(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = loadNumber(visit);
  const firing = await showFiring(visit.read, number);
  if (firing.load.state !== 'loaded' && form.errors.length === 0) return go(`/kilns/loads/${number}`);
  return page(
    `Start load ${number}`,
    'kilns',
    <StartPage
      firing={firing}
      form={form}
      done={doneIn(visit, form, { checked: 'The list is kept.' })}
      reader={loadReaderOf(visit)}
    />,
  );
}

export const saveStart = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStart(visit, form),
    async () => {
      const number = loadNumber(visit);
      const { typed } = visit;
      const isYes = typed.confirm !== undefined && typed.confirm === startAsked(emptyForm(typed));
      const command = visit.form(startForm, { ...typed, confirm: isYes ? 'yes' : undefined });
      await visit.act((act) => startFiring(act, number, command));
      return go(`/kilns/loads/${number}/readings?did=started`);
    },
  );
