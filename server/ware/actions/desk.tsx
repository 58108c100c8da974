import { DeskPage } from '../../../views/ware/desk.tsx';
import { DryPage, FetchPage, NoNamePage, YesPage } from '../../../views/ware/desk-lists.tsx';
import { NotFound } from '../../core/errors.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { numbersIn } from '../numbers.ts';
import {
  confirmDry,
  dryForm,
  handOver,
  lookAtDesk,
  lookAtDryRack,
  lookAtOverdue,
  lookAtShelf,
  lookAtStrangers,
  ownerForm,
  putAway,
  putAwayForm,
  sayYes,
  yesForm,
} from '../service/desk.ts';
import { STRANGER_TRAY_MM } from '../service/moves.ts';
import { findPiece } from '../service/now.ts';

export async function showDesk(visit: Visit, find: FormState = emptyForm(), status = 200): Promise<Answer> {
  const desk = await lookAtDesk(visit.read);
  return page('Desk', 'ware', <DeskPage desk={desk} find={find} now={visit.now} />, status);
}

/** Leads to the page of the piece whose number was typed. */
export async function findByNumber(visit: Visit): Promise<Answer> {
  const typed = [visit.query.number ?? ''].flat().at(-1) ?? '';
  const missing = (message: string): Promise<Answer> =>
    showDesk(visit, { typed: { number: typed }, errors: [{ path: 'number', message }] }, 422);
  const [number, ...more] = numbersIn(typed) ?? [];
  if (number === undefined || more.length > 0) return missing('Type one number, such as 128.');
  try {
    await findPiece(visit.read, number);
    return go(`/ware/${number}`);
  } catch (error) {
    if (!(error instanceof NotFound)) throw error;
    return missing(`There is no piece ${number}.`);
  }
}

/** How many pieces the last form moved, as its answer's address says. */
function moved(visit: Visit): number | null {
  const done = [visit.query.done ?? ''].flat().at(-1) ?? '';
  return /^[1-9]\d{0,2}$/.test(done) ? Number(done) : null;
}

export async function showDry(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const rack = await lookAtDryRack(visit.read);
  return page(
    'Dry rack',
    'ware',
    <DryPage {...rack} form={form} done={moved(visit)} now={visit.now} newKey={randomSecret()} />,
  );
}

export const recordDry = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDry(visit, form),
    async () => {
      const command = visit.form(dryForm);
      const dry = await visit.act((act) => confirmDry(act, command));
      return go(`/ware/desk/dry?done=${dry.length}`);
    },
  );

export async function showYes(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const asked = await lookAtStrangers(visit.read);
  return page(
    "Needs a technician's yes",
    'ware',
    <YesPage
      asked={asked}
      form={form}
      done={moved(visit)}
      now={visit.now}
      newKey={randomSecret()}
      trayMm={STRANGER_TRAY_MM}
    />,
  );
}

export const recordYes = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showYes(visit, form),
    async () => {
      const command = visit.form(yesForm);
      await visit.act((act) => sayYes(act, command));
      return go('/ware/desk/yes?done=1');
    },
  );

export async function showFetch(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const late = await lookAtOverdue(visit.read);
  return page(
    'Not fetched',
    'ware',
    <FetchPage {...late} form={form} done={moved(visit)} now={visit.now} newKey={randomSecret()} />,
  );
}

export const recordPutAway = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showFetch(visit, form),
    async () => {
      const command = visit.form(putAwayForm);
      const away = await visit.act((act) => putAway(act, command));
      return go(`/ware/desk/fetch?done=${away.length}`);
    },
  );

export async function showNoName(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [after] = numbersIn([visit.query.after ?? ''].flat().at(-1) ?? '') ?? [];
  const shelf = await lookAtShelf(visit.read, after);
  return page(
    'Shelf without names',
    'ware',
    <NoNamePage shelf={shelf} form={form} done={moved(visit)} now={visit.now} newKey={randomSecret()} />,
  );
}

export const recordOwner = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNoName(visit, form),
    async () => {
      const command = visit.form(ownerForm);
      await visit.act((act) => handOver(act, command));
      return go('/ware/desk/no-name?done=1');
    },
  );
